#pragma once
// Until when a batch may be used: the earliest of everything that ends it.

#include <optional>
#include <string>
#include <vector>

#include "common/result.hpp"
#include "common/time.hpp"

namespace nappe::food {

/// Ten days: the shelf life of chilled vacuum or modified-atmosphere packs kept at 3 to 8 C when nothing else controls
/// Clostridium botulinum (UK Food Standards Agency guidance on vacuum and modified atmosphere packed chilled foods,
/// December 2020; it leaves out fresh beef, lamb and pork).
constexpr Duration vacuum_life = std::chrono::hours(24 * 10);

/// One thing that ends the batch, in the words the label should print: "opened cream", "lot 4711 of pollack".
struct Ending {
  std::string what;
  Instant at;
};

/// What is known of a batch.
struct BatchDates {
  Instant made;
  /// The house's life of this component from making; nothing if the house has set none.
  std::optional<Duration> life;
  /// Dates of opened packets and of lots used.
  std::vector<Ending> others;
  bool vacuum_packed = false;
  /// Another control against Clostridium botulinum is recorded (heat, acidity, salt, water activity).
  bool other_control = false;
  /// When it was reheated, and when that day ends: reheated food is used the same day and never reheated again (common
  /// practice, no source).
  std::optional<Instant> reheated;
  std::optional<Instant> end_of_that_day;
};

/// The earliest ending and what it is. `invalid` if nothing ends the batch (the house must give it a life), if the life
/// is negative, or if it was reheated and the end of that day is missing or earlier.
Result<Ending> use_by(const BatchDates& dates);

/// The last calendar day on which food may be used that keeps `days` days. With `first_day_counts` the day of making
/// is day 1 (US Food Code 3-501.17: made on 1 April with 7 days, use by 7 April).
std::chrono::sys_days last_day(std::chrono::sys_days made, int days, bool first_day_counts);

}  // namespace nappe::food
