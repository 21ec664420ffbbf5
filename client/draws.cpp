#include "client/draws.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "common/bits.hpp"

namespace nappe::client {
namespace {

double in_unit(std::uint64_t bits) { return static_cast<double>(bits >> 11U) * 0x1.0p-53; }

}  // namespace

std::uint64_t Draws::bits(std::string_view name, std::uint64_t salt) const {
  const std::uint64_t hash = fnv1a(name, fnv1a_start ^ salt);
  return splitmix64_finish(splitmix64_finish(hash) + seed_ * splitmix64_step);
}

double Draws::unit(std::string_view name) const { return in_unit(bits(name, 1)); }

double Draws::normal(std::string_view name) const {
  const double u = std::max(in_unit(bits(name, 2)), 1e-16);
  return std::sqrt(-2 * std::log(u)) * std::cos(2 * std::numbers::pi * in_unit(bits(name, 3)));
}

Duration Draws::around(std::string_view name, Duration mean, Duration sd, Duration least) const {
  return std::max(least, from_seconds(in_seconds(mean) + in_seconds(sd) * normal(name)));
}

Duration Draws::scattered(std::string_view name, Duration median, double scatter) const {
  return from_seconds(in_seconds(median) * std::exp(scatter * normal(name)));
}

}  // namespace nappe::client
