#pragma once
// The one counter a batch carries: how long it has been outside its temperature limits in all. What is made from it
// inherits the count.

#include <optional>
#include <vector>

#include "common/time.hpp"

namespace nappe::food {

/// Time outside the limits. Hot and cold share it: food does not get two hours warm and then four hours above chill.
struct OutsideClock {
  Duration spent{};                   ///< Closed periods added up.
  int periods = 0;                    ///< How often it went out, the running period included.
  std::optional<Instant> since = {};  ///< When the running period began, if it is out now.

  friend bool operator==(const OutsideClock&, const OutsideClock&) = default;
};

/// It leaves its limits at this instant; nothing changes if it is out already.
OutsideClock went_out(OutsideClock clock, Instant at);

/// It is back within its limits; nothing changes if it was not out.
OutsideClock came_back(OutsideClock clock, Instant at);

/// The time outside so far, the running period included.
Duration outside_for(const OutsideClock& clock, Instant now);

/// When a batch that stays out has used its allowance up; nothing while it is within its limits.
std::optional<Instant> used_up_at(const OutsideClock& clock, Duration allowance);

/// The count of something made at `at` from these batches: of time and of periods the largest wins; out now if any of
/// them is. Nothing in gives a clean clock.
OutsideClock inherited(const std::vector<OutsideClock>& from, Instant at);

}  // namespace nappe::food
