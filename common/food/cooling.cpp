#include "common/food/cooling.hpp"

#include <fmt/format.h>

#include <cmath>

namespace nappe::food {

Result<Duration> time_constant(const TwoReadings& r) {
  const double first = r.first_c - r.surround_c;
  const double second = r.second_c - r.surround_c;
  if (r.between <= Duration::zero()) {
    return Error{Errc::invalid, "the two readings need some time between them: read the probe again later"};
  }
  // Written so that a reading that is not a number is refused too.
  const bool approaches = first * second > 0 && std::abs(second) < std::abs(first);
  if (!approaches || !std::isfinite(first)) {
    return Error{Errc::invalid,
                 fmt::format("from {:.1f} to {:.1f} °C is no approach to the {:.1f} °C around it: check the readings "
                             "and the surrounding temperature",
                             r.first_c, r.second_c, r.surround_c)};
  }
  return from_seconds(in_seconds(r.between) / std::log(first / second));
}

double temperature_after(const Cooling& c, Duration elapsed) {
  return c.surround_c + (c.from_c - c.surround_c) * std::exp(-in_seconds(elapsed) / in_seconds(c.time_constant));
}

Result<Duration> keep_from_cooling(const Cooling& c, double limit_c) {
  if (c.time_constant <= Duration::zero()) {
    return Error{Errc::invalid, "the time constant must be positive: take it from two readings"};
  }
  const double start = c.from_c - c.surround_c;
  const double limit = limit_c - c.surround_c;
  if (!std::isfinite(start) || !std::isfinite(limit)) {
    return Error{Errc::invalid, "a temperature is missing: give start, surroundings and limit"};
  }
  const bool cooling = start >= 0;
  if (cooling ? c.from_c <= limit_c : c.from_c >= limit_c) return Duration::zero();
  // From here the limit lies on the far side of the start; it is reached only if it is short of the surroundings.
  if (cooling ? limit <= 0 : limit >= 0) {
    return Error{Errc::invalid,
                 fmt::format("it never reaches {:.1f} °C in surroundings of {:.1f} °C", limit_c, c.surround_c)};
  }
  return from_seconds(in_seconds(c.time_constant) * std::log(start / limit));
}

Result<double> plated_temperature(const Lump& food, const Lump& china) {
  const double f = food.kg * food.specific_heat;
  const double p = china.kg * china.specific_heat;
  const bool positive = food.kg > 0 && china.kg > 0 && food.specific_heat > 0 && china.specific_heat > 0;
  if (!positive || !std::isfinite(f * food.celsius + p * china.celsius)) {
    return Error{Errc::invalid, "food and china need a mass, a specific heat and a temperature"};
  }
  return (f * food.celsius + p * china.celsius) / (f + p);
}

Result<Duration> keep_on_plate(const Lump& food, const Lump& china, double surround_c, Duration time_constant,
                               double limit_c) {
  const Result<double> met = plated_temperature(food, china);
  if (!met) return met.error();
  return keep_from_cooling({.from_c = *met, .surround_c = surround_c, .time_constant = time_constant}, limit_c);
}

double lumped_biot(const LumpedBody& b) { return b.film * b.length / b.conductivity; }

double lumped_time_constant_s(const LumpedBody& b) { return b.density * b.specific_heat * b.length / b.film; }

}  // namespace nappe::food
