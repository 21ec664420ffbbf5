#pragma once
// The sheet of bookings, with what is known of each party's order.

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "common/kitchen/document.hpp"
#include "common/kitchen/kitchen.hpp"

namespace nappe::kitchen {

/// What the kitchen must know about one guest of a party.
struct GuestNote {
  int position = 0;                    ///< From 1, as the table sits.
  std::vector<std::string> allergies;  ///< Names of allergen.hpp.
  bool severe = false;
  std::optional<Duration> told;  ///< When the kitchen hears of it, since midnight; nothing: with the booking.
  friend bool operator==(const GuestNote&, const GuestNote&) = default;
};

struct Booking {
  std::string id;
  Duration at{};  ///< Since midnight of the service's day, by the kitchen's clocks.
  std::string table;
  int covers = 0;
  /// Course -> dish of each position, from 1; nothing: that guest has none. Absent course: not known.
  std::map<std::string, std::vector<std::optional<std::string>>> orders;
  std::vector<GuestNote> guests;
  Duration late{};      ///< So much after its time this party will come.
  bool speech = false;  ///< There will be a speech between courses.
  std::string note;
  friend bool operator==(const Booking&, const Booking&) = default;
};

struct BookingSheet {
  std::string title;
  std::vector<Booking> bookings;  ///< In the order of their times.
  friend bool operator==(const BookingSheet&, const BookingSheet&) = default;
};

/// Reads one sheet and holds it against the kitchen. An order a guest's allergies forbid is a fault, unless the kitchen
/// is told of them only later.
Loaded<BookingSheet> load_bookings(const File& file, const Kitchen& kitchen);

}  // namespace nappe::kitchen
