#include "common/food/heat.hpp"

#include <algorithm>
#include <boost/math/constants/constants.hpp>
#include <boost/math/special_functions/expm1.hpp>
#include <cmath>

namespace nappe::food {
namespace {

constexpr double ln_ten = boost::math::constants::ln_ten<double>();

// The integral over a straight line from a to b degrees lasting `span` seconds:
// 10^((a - ref)/z) * span * (e^u - 1)/u with u = ln 10 (b - a)/z.
double line_seconds(const HeatScale& scale, double a, double b, double span) {
  const double u = ln_ten * (b - a) / scale.z;
  const double growth = u == 0 ? 1 : boost::math::expm1(u) / u;
  return std::exp(ln_ten * (a - scale.reference_c) / scale.z) * span * growth;
}

// The part of a line at or above the floor, if any.
double clipped_seconds(const HeatScale& scale, double a, double b, double span, double floor) {
  if (a < floor && b < floor) return 0;
  if (a >= floor && b >= floor) return line_seconds(scale, a, b, span);
  const double warm = std::max(a, b);
  const double share = (warm - floor) / (warm - std::min(a, b));
  return line_seconds(scale, floor, warm, span * share);
}

}  // namespace

Duration equivalent_time(const HeatScale& scale, double celsius, Duration at_reference) {
  return from_seconds(in_seconds(at_reference) * std::pow(10.0, (scale.reference_c - celsius) / scale.z));
}

Result<Duration> heat_received(const HeatScale& scale, const Curve& curve, std::optional<double> counts_from_c) {
  const Status ordered = check_curve(curve);
  if (!ordered) return ordered.error();
  if (!(scale.z > 0)) return Error{Errc::invalid, "z must be a positive number of degrees"};
  double sum = 0;
  for (std::size_t i = 1; i < curve.size(); ++i) {
    const double span = in_seconds(curve[i].at - curve[i - 1].at);
    const double a = curve[i - 1].celsius;
    const double b = curve[i].celsius;
    sum += counts_from_c ? clipped_seconds(scale, a, b, span, *counts_from_c) : line_seconds(scale, a, b, span);
  }
  return from_seconds(sum);
}

double log_reduction(Duration received, Duration d_reference) { return in_seconds(received) / in_seconds(d_reference); }

}  // namespace nappe::food
