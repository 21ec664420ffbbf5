#include "common/rehearse/draws.hpp"

#include <boost/math/distributions/normal.hpp>
#include <cmath>

namespace nappe::rehearse {
namespace {

// Plain double arithmetic: the same figures wherever double is, and quicker.
using Plain = boost::math::policies::policy<boost::math::policies::promote_double<false>>;
using Normal = boost::math::normal_distribution<double, Plain>;

}  // namespace

double normal_quantile(double p) { return boost::math::quantile(Normal(), p); }

double log_normal_quantile(double median, double sigma, double p) {
  return median * std::exp(sigma * normal_quantile(p));
}

double centred_chance(Duration slack, Duration sd) {
  if (sd <= Duration::zero()) return 1.0;
  return 2.0 * boost::math::cdf(Normal(), in_seconds(slack) / (2.0 * in_seconds(sd))) - 1.0;
}

std::uint64_t Draws::bits(Stream stream, Key key) const {
  std::uint64_t state = mix(base_ ^ static_cast<std::uint64_t>(stream));
  for (const std::uint64_t part : key) state = mix(state ^ part);
  return state;
}

double Draws::unit(Stream stream, Key key) const {
  return (static_cast<double>(bits(stream, key) >> 12U) + 0.5) * 0x1.0p-52;
}

double Draws::normal(Stream stream, Key key) const { return normal_quantile(unit(stream, key)); }

double Draws::exponential(Stream stream, Key key) const { return -std::log(unit(stream, key)); }

}  // namespace nappe::rehearse
