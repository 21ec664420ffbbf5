#pragma once
// Kitchen time: an anchor on the steady clock and a rate. Once it runs, a stepped wall clock does not matter.

#include <chrono>
#include <string>
#include <string_view>

#include "common/result.hpp"
#include "common/time.hpp"

namespace nappe::server {

using Steady = std::chrono::steady_clock::time_point;

/// Fastest demo clock: a night of six hours in 22 seconds.
constexpr double clock_rate_max = 1000.0;

/// Where the kitchen's clock was set, in a form that outlives the process: kitchen time `kitchen` was the wall's
/// `wall`, and since then it has run `rate` times as fast. Rate 0: it stands still.
struct ClockAnchor {
  Instant kitchen{};
  Instant wall{};
  double rate = 1.0;
  friend bool operator==(const ClockAnchor&, const ClockAnchor&) = default;
};

/// One line of text for the journal's meta table, and back. `invalid` with a sentence if it is not one.
std::string write_anchor(const ClockAnchor& anchor);
Result<ClockAnchor> read_anchor(std::string_view text);

/// The running clock. A value: whoever sets it makes a new one.
class KitchenClock {
 public:
  /// Kitchen time `kitchen` is now (`steady`); from here it runs `rate` times as fast as the steady clock.
  KitchenClock(Instant kitchen, Steady steady, double rate) : kitchen_(kitchen), steady_(steady), rate_(rate) {}

  /// After a start: where the anchor says the clock should have got to by `wall`, but never before `not_before` (the
  /// last event of the journal: kitchen time does not run backwards even if the wall clock was set back meanwhile).
  static KitchenClock resumed(const ClockAnchor& anchor, Instant wall, Steady steady, Instant not_before);

  [[nodiscard]] Instant at(Steady steady) const;
  /// The steady instant at which the clock will show `kitchen`, rounded up so that at(when(x)) >= x;
  /// Steady::max() when it stands still before it.
  [[nodiscard]] Steady when(Instant kitchen) const;
  [[nodiscard]] double rate() const { return rate_; }

 private:
  Instant kitchen_;
  Steady steady_;
  double rate_;
};

}  // namespace nappe::server
