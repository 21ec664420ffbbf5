#pragma once
// What is the same in every night of a rehearsal: the house, the bookings, what guests tend to order.

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "common/kitchen/bookings.hpp"
#include "common/kitchen/kitchen.hpp"
#include "common/line/line.hpp"

namespace nappe::rehearse {

/// How the guests of a course spread over its dishes.
struct CourseMix {
  std::string course;
  std::vector<std::pair<std::string, double>> shares;  ///< Dish -> share of those who eat this course; in card order.
  double none = 0;                                     ///< Share of guests who eat nothing in it.
};

struct Stage {
  line::KitchenPtr kitchen;
  line::State opened;  ///< The service just opened: each night begins as a copy of it.
  kitchen::BookingSheet sheet;
  std::vector<CourseMix> mix;
  Instant midnight{};  ///< Of the night's day, kitchen time. An invented day: only its hours are ever shown.
  Instant first{};     ///< Start of the first quarter-hour, before anybody has ordered.
  int covers = 0;
};

/// Quarter-hours in which load is counted.
constexpr Duration slot_length = minutes(15);

/// What the kitchen is asked to do without or with, compared with its files.
struct Variant {
  std::string name;                         ///< For a sentence: "a second pair of hands at garnish".
  std::vector<std::string> without;         ///< Dishes that are off.
  std::map<std::string, int> hands;         ///< Station -> pairs of hands there.
  std::map<std::string, Duration> moved;    ///< Booking id -> by so much later.
  std::optional<double> prompt;             ///< The setting fresh ... prompt; nothing: as in the files.
  std::map<std::string, int> fewer_rounds;  ///< Component -> rounds of its group cooked ahead.
};

/// The sheet's guests.
int covers_of(const kitchen::BookingSheet& sheet);

/// The kitchen with these pairs of hands, settings and components. Unknown names, and hands where nothing is cooked,
/// are errors in one sentence.
Result<kitchen::Kitchen> change_kitchen(kitchen::Kitchen kitchen, const Variant& variant);

/// The sheet with parties added or taken away until it has this many covers. Added ones come spread over the hours of
/// the sheet to tables that are free for two hours then. An error when the room is too small.
Result<kitchen::BookingSheet> fit_covers(kitchen::BookingSheet sheet, const kitchen::Kitchen& kitchen, int covers);

/// Ready to play. Mix: what the sheet's known orders say, with one more of each dish; dishes of `variant.without` have
/// none of it. An error when nothing is booked or a course has no dish left.
Result<Stage> make_stage(const kitchen::Kitchen& kitchen, const kitchen::BookingSheet& sheet, const Variant& variant);

}  // namespace nappe::rehearse
