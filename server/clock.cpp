#include "server/clock.hpp"

#include <fmt/format.h>

#include <cmath>
#include <cstdlib>

namespace nappe::server {

namespace {

/// The longest wait a timer is ever asked for; longer ones are the same as never and would overflow.
constexpr std::chrono::nanoseconds far = std::chrono::hours(24 * 365);

}  // namespace

std::string write_anchor(const ClockAnchor& anchor) {
  return fmt::format("kitchen_ms={} wall_ms={} rate={}", to_ms(anchor.kitchen), to_ms(anchor.wall), anchor.rate);
}

Result<ClockAnchor> read_anchor(std::string_view text) {
  const std::string held(text);
  long long kitchen = 0;
  long long wall = 0;
  double rate = 0;
  int used = 0;
  const int got = std::sscanf(held.c_str(), "kitchen_ms=%lld wall_ms=%lld rate=%lf%n", &kitchen, &wall, &rate, &used);
  if (got != 3 || static_cast<std::size_t>(used) != held.size() || !(rate >= 0) || rate > clock_rate_max) {
    return Error{Errc::invalid, fmt::format("the stored clock \"{}\" cannot be read", held)};
  }
  return ClockAnchor{from_ms(kitchen), from_ms(wall), rate};
}

KitchenClock KitchenClock::resumed(const ClockAnchor& anchor, Instant wall, Steady steady, Instant not_before) {
  const double gone_ms = std::max(0.0, static_cast<double>((wall - anchor.wall).count()) * anchor.rate);
  const Instant there = anchor.kitchen + Duration(std::llround(gone_ms));
  return {std::max(there, not_before), steady, anchor.rate};
}

Instant KitchenClock::at(Steady steady) const {
  const auto gone = std::chrono::duration<double, std::milli>(steady - steady_).count() * rate_;
  return kitchen_ + Duration(static_cast<std::int64_t>(std::floor(gone)));
}

Steady KitchenClock::when(Instant kitchen) const {
  if (kitchen <= kitchen_) return steady_;
  if (rate_ <= 0) return Steady::max();
  const double wait_ns = std::ceil(static_cast<double>((kitchen - kitchen_).count()) * 1e6 / rate_);
  if (wait_ns >= static_cast<double>(far.count())) return Steady::max();
  Steady when = steady_ + std::chrono::nanoseconds(static_cast<std::int64_t>(wait_ns));
  while (at(when) < kitchen) when += std::chrono::microseconds(1);  // the last bit of the floating point product
  return when;
}

}  // namespace nappe::server
