#pragma once
// The kitchen's clock as this client knows it: measured against the server as in RFC 5905, never against the wall.

#include <deque>
#include <optional>

#include "common/time.hpp"

namespace nappe::client {

/// One exchange. t1 and t4 on the client's steady clock, t2 and t3 in kitchen time; all in milliseconds.
struct Exchange {
  double t1 = 0, t2 = 0, t3 = 0, t4 = 0;
  double rate = 1;  ///< Kitchen milliseconds per millisecond of the wall.
};

/// Offset and delay of one exchange: RFC 5905 section 8, equations for theta and delta,
///   theta = ((t2 - t1) + (t3 - t4)) / 2,  delta = (t4 - t1) - (t3 - t2),
/// with the client's times taken `rate` times as fast, so that both clocks run alike. Kitchen milliseconds.
struct Measured {
  double offset = 0;
  double delay = 0;
};
Measured measure(const Exchange& exchange);

/// Keeps the best of the last exchanges: the one with the smallest delay (the clock filter of RFC 5905 section 10).
/// The true offset lies within half a delay of each measured one; an exchange whose interval does not meet the held
/// one's proves that the kitchen's clock was set, and everything before it is forgotten.
class KitchenClock {
 public:
  void take(const Exchange& exchange);
  /// Before any exchange: what the server said when it was asked, good to half a round trip.
  void start(double kitchen_ms, double rate, double steady_ms);

  /// Kitchen time at this steady time; nothing before the first word of the server.
  [[nodiscard]] std::optional<Instant> now(double steady_ms) const;
  [[nodiscard]] double rate() const { return rate_; }
  /// The offset cannot be wrong by more than this, in kitchen milliseconds; nothing before the first exchange.
  [[nodiscard]] std::optional<double> uncertainty_ms() const;
  /// Steady milliseconds until the kitchen's clock shows the next whole second.
  [[nodiscard]] double until_next_second(double steady_ms) const;

 private:
  static constexpr std::size_t kept_max = 8;
  std::deque<Measured> kept_;
  std::optional<double> offset_;
  double rate_ = 1;
};

}  // namespace nappe::client
