#include "common/food/reading.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace nappe::food {
namespace {

constexpr double absolute_zero_c = -273.15;

// The share of the way from a to b at which the straight line between them meets `level`.
double crossing(double a, double b, double level) { return (level - a) / (b - a); }

// Calls visit(seconds, kept) for each piece of the curve that lies wholly on one side of the level, in order.
template <class Visit>
void each_piece(const Curve& curve, double level, bool at_or_above, Visit visit) {
  for (std::size_t i = 1; i < curve.size(); ++i) {
    const double a = curve[i - 1].celsius;
    const double b = curve[i].celsius;
    const double span = in_seconds(curve[i].at - curve[i - 1].at);
    const auto side = [&](double t) { return at_or_above ? t >= level : t < level; };
    if (side(a) == side(b)) {
      visit(span, side(a));
      continue;
    }
    const double share = crossing(a, b, level);
    visit(span * share, side(a));
    visit(span * (1 - share), side(b));
  }
}

}  // namespace

Curve held_at(double celsius, Duration how_long, Instant from) {
  return {Reading{from, celsius}, Reading{from + how_long, celsius}};
}

Status check_curve(const Curve& curve) {
  for (std::size_t i = 0; i < curve.size(); ++i) {
    if (!std::isfinite(curve[i].celsius) || curve[i].celsius < absolute_zero_c) {
      return Error{Errc::invalid, fmt::format("reading {} is no temperature: read the probe again", i + 1)};
    }
    if (i > 0 && curve[i].at <= curve[i - 1].at) {
      return Error{Errc::invalid,
                   fmt::format("reading {} is not later than the one before it: put readings in order of time", i + 1)};
    }
  }
  return Done{};
}

Duration longest_at_or_above(const Curve& curve, double celsius) {
  double best = 0;
  double run = 0;
  each_piece(curve, celsius, true, [&](double span, bool above) {
    run = above ? run + span : 0;
    best = std::max(best, run);
  });
  return from_seconds(best);
}

Duration time_below(const Curve& curve, double celsius) {
  double sum = 0;
  each_piece(curve, celsius, false, [&](double span, bool below) { sum += below ? span : 0; });
  return from_seconds(sum);
}

Duration time_above(const Curve& curve, double celsius) {
  double sum = 0;
  // A curve lying exactly on the level is not above it, so this is not the mirror of time_below.
  for (std::size_t i = 1; i < curve.size(); ++i) {
    const double a = curve[i - 1].celsius - celsius;
    const double b = curve[i].celsius - celsius;
    const double span = in_seconds(curve[i].at - curve[i - 1].at);
    if (a <= 0 && b <= 0) continue;
    const double high = std::max(a, b);
    const double low = std::min(a, b);
    sum += low >= 0 ? span : span * high / (high - low);
  }
  return from_seconds(sum);
}

std::optional<double> warmest(const Curve& curve) {
  if (curve.empty()) return {};
  return std::max_element(curve.begin(), curve.end(),
                          [](const Reading& a, const Reading& b) { return a.celsius < b.celsius; })
      ->celsius;
}

std::string limit_text(Duration span) {
  if (span > Duration::zero() && span % minutes(60) == Duration::zero()) return fmt::format("{} h", span / minutes(60));
  if (span >= Duration::zero() && span % minutes(1) == Duration::zero())
    return fmt::format("{} min", span / minutes(1));
  return span_text(span);
}

}  // namespace nappe::food
