#pragma once
// What a table wants, as the floor says it.

#include <boost/describe/class.hpp>
#include <cstdint>
#include <string>
#include <vector>

namespace nappe::line {

/// Who sits at a position, as far as the kitchen needs to know.
struct Guest {
  int position = 0;
  std::vector<std::string> allergies;  ///< Names known to kitchen::find_allergen.
  friend bool operator==(const Guest&, const Guest&) = default;
};
BOOST_DESCRIBE_STRUCT(Guest, (), (position, allergies))

/// One plate wanted.
struct Wanted {
  int position = 0;
  std::string dish;                   ///< Id of the dish.
  std::vector<std::string> left_off;  ///< Components the dish may go without and does ("crumb").
  std::string change;                 ///< Words for the cook ("sauce beside"), may be empty.
  friend bool operator==(const Wanted&, const Wanted&) = default;
};
BOOST_DESCRIBE_STRUCT(Wanted, (), (position, dish, left_off, change))

struct CourseOrder {
  std::string course;  ///< Id of the kitchen's course.
  std::vector<Wanted> plates;
  friend bool operator==(const CourseOrder&, const CourseOrder&) = default;
};
BOOST_DESCRIBE_STRUCT(CourseOrder, (), (course, plates))

/// A guest changes from one position to another.
struct SeatMove {
  int from = 0;
  int to = 0;
  friend bool operator==(const SeatMove&, const SeatMove&) = default;
};
BOOST_DESCRIBE_STRUCT(SeatMove, (), (from, to))

/// A whole ticket before it is sent.
struct Order {
  std::string table;
  std::vector<Guest> guests;  ///< Only those about whom something is known.
  std::vector<CourseOrder> courses;
  std::string note;
  friend bool operator==(const Order&, const Order&) = default;
};
BOOST_DESCRIBE_STRUCT(Order, (), (table, guests, courses, note))

/// A table booked for tonight.
struct TableBooking {
  std::string table;
  std::int64_t at_ms = 0;
  int covers = 0;
  friend bool operator==(const TableBooking&, const TableBooking&) = default;
};
BOOST_DESCRIBE_STRUCT(TableBooking, (), (table, at_ms, covers))

}  // namespace nappe::line
