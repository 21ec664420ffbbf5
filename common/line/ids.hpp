#pragma once
// Strong ids of a service. All count from 1 within one service and are never used again.

#include <boost/describe/class.hpp>
#include <compare>
#include <cstdint>
#include <string>

namespace nappe::line {

enum class TicketId : std::uint32_t {};
enum class PanId : std::uint32_t {};
enum class AlertId : std::uint32_t {};

template <class Id>
constexpr std::uint32_t number(Id id) {
  return static_cast<std::uint32_t>(id);
}

/// One course of one ticket; `course` is the id of the kitchen's course ("mains").
struct CourseKey {
  TicketId ticket{};
  std::string course;
  friend auto operator<=>(const CourseKey&, const CourseKey&) = default;
};
BOOST_DESCRIBE_STRUCT(CourseKey, (), (ticket, course))

/// One guest's plate in one course. Positions count from 1 as the table sits.
struct PlateKey {
  TicketId ticket{};
  std::string course;
  int position = 0;
  friend auto operator<=>(const PlateKey&, const PlateKey&) = default;
  [[nodiscard]] CourseKey of_course() const { return {ticket, course}; }
};
BOOST_DESCRIBE_STRUCT(PlateKey, (), (ticket, course, position))

}  // namespace nappe::line
