#pragma once
// One probe reading, and what can be said of a run of them.

#include <optional>
#include <string>
#include <vector>

#include "common/result.hpp"
#include "common/time.hpp"

namespace nappe::food {

/// What the probe said, and when. Degrees Celsius.
struct Reading {
  Instant at;
  double celsius = 0;
};

/// Readings in order of time. Between two of them the temperature is taken as a straight line.
using Curve = std::vector<Reading>;

/// A curve that stays at one temperature: what a timer and one probe reading prove.
Curve held_at(double celsius, Duration how_long, Instant from = {});

/// `invalid` if a reading is not a number, lies below absolute zero, or comes before (or with) the one before it.
Status check_curve(const Curve& curve);

/// The longest uninterrupted time at or above this temperature. The curve must pass check_curve.
Duration longest_at_or_above(const Curve& curve, double celsius);

/// All the time below (above) this temperature added up. The curve must pass check_curve.
Duration time_below(const Curve& curve, double celsius);
Duration time_above(const Curve& curve, double celsius);

/// The warmest reading; nothing for an empty curve.
std::optional<double> warmest(const Curve& curve);

/// "2 h", "90 min", "1:31:20": how a limit is said.
std::string limit_text(Duration span);

}  // namespace nappe::food
