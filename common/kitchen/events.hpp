#pragma once
// What goes wrong (or only differently) in a service played in advance, as a list to be played.

#include <optional>
#include <string>
#include <vector>

#include "common/kitchen/bookings.hpp"
#include "common/kitchen/document.hpp"
#include "common/kitchen/kitchen.hpp"

namespace nappe::kitchen {

enum class IncidentKind {
  booking_cancelled,  ///< booking
  lost,               ///< dish, left: portions nobody has been promised afterwards
  cue_late,           ///< table, course, component, by_s
  allergy_told,       ///< table, position, allergies
  sent_back,          ///< table, course, position, dish, why; perhaps borrow_from (a table)
  arrives,            ///< booking, by_s: so much after its time
  runs_out,           ///< dish, table that took the last; perhaps tell (a booking that must hear it first)
  network_cut,        ///< station, for_s
  table_wanted,       ///< table, booking that waits for it
  person_away,        ///< person, for_s
  guest_away,         ///< table, course, position
  power               ///< fails_at, for_s; perhaps gas_shuts. `at` is when it first dips.
};

/// One incident. Which fields it has is said at its kind; the others are empty.
struct Incident {
  Duration at{};  ///< Since midnight of the service's day, by the kitchen's clocks.
  IncidentKind kind = IncidentKind::lost;
  std::string words;  ///< What happened, for a person.
  std::string booking;
  std::string table;
  std::string course;
  int position = 0;
  std::string dish;
  std::string component;
  std::string station;
  std::string person;
  std::vector<std::string> allergies;
  std::string why;
  std::string borrow_from;
  std::string tell;
  std::optional<int> left;
  Duration by{};
  Duration lasts{};
  std::optional<Duration> fails;
  bool gas_shuts = false;
  friend bool operator==(const Incident&, const Incident&) = default;
};

struct IncidentSheet {
  std::string title;
  std::vector<Incident> incidents;  ///< In the order of their times.
  friend bool operator==(const IncidentSheet&, const IncidentSheet&) = default;
};

/// The word a file uses for a kind: "sent_back".
std::string_view kind_word(IncidentKind kind);

/// Reads a file of kind "events" and holds it against the kitchen and the sheet it happens to.
Loaded<IncidentSheet> load_events(const File& file, const Kitchen& kitchen, const BookingSheet& sheet);

}  // namespace nappe::kitchen
