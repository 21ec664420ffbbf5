#include "client/clock.hpp"

#include <algorithm>
#include <cmath>

namespace nappe::client {
namespace {

// Timestamps are rounded to milliseconds by the peer: half a millisecond at each of its two.
constexpr double rounding_ms = 1.0;

const Measured& best_of(const std::deque<Measured>& kept) {
  return *std::min_element(kept.begin(), kept.end(),
                           [](const Measured& a, const Measured& b) { return a.delay < b.delay; });
}

}  // namespace

Measured measure(const Exchange& e) {
  const double t1 = e.t1 * e.rate;
  const double t4 = e.t4 * e.rate;
  return {((e.t2 - t1) + (e.t3 - t4)) / 2, (t4 - t1) - (e.t3 - e.t2)};
}

void KitchenClock::take(const Exchange& exchange) {
  if (!(exchange.rate >= 0) || exchange.t4 < exchange.t1) return;
  if (exchange.rate != rate_) kept_.clear();
  rate_ = exchange.rate;
  const Measured fresh = measure(exchange);
  if (!kept_.empty()) {
    const Measured& held = best_of(kept_);
    const double apart = std::abs(fresh.offset - held.offset);
    if (apart > (std::max(fresh.delay, 0.0) + std::max(held.delay, 0.0)) / 2 + rounding_ms * std::max(1.0, rate_)) {
      kept_.clear();
    }
  }
  kept_.push_back(fresh);
  if (kept_.size() > kept_max) kept_.pop_front();
  offset_ = best_of(kept_).offset;
}

void KitchenClock::start(double kitchen_ms, double rate, double steady_ms) {
  kept_.clear();
  rate_ = rate;
  offset_ = kitchen_ms - steady_ms * rate;
}

std::optional<Instant> KitchenClock::now(double steady_ms) const {
  if (!offset_) return {};
  return from_ms(std::llround(steady_ms * rate_ + *offset_));
}

std::optional<double> KitchenClock::uncertainty_ms() const {
  if (kept_.empty()) return {};
  return std::max(best_of(kept_).delay, 0.0) / 2;
}

double KitchenClock::until_next_second(double steady_ms) const {
  if (!offset_ || rate_ <= 0) return 1000;
  const double kitchen = steady_ms * rate_ + *offset_;
  return (1000 - std::fmod(std::fmod(kitchen, 1000) + 1000, 1000)) / rate_;
}

}  // namespace nappe::client
