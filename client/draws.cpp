#include "client/draws.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace nappe::client {
namespace {

// The finaliser of SplitMix64 (Steele, Lea, Flood 2014).
std::uint64_t mix(std::uint64_t z) {
  z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
  z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
  return z ^ (z >> 31U);
}

double in_unit(std::uint64_t bits) { return static_cast<double>(bits >> 11U) * 0x1.0p-53; }

}  // namespace

std::uint64_t Draws::bits(std::string_view name, std::uint64_t salt) const {
  std::uint64_t hash = 0xCBF29CE484222325ULL ^ salt;  // FNV-1a over the name, then mixed with the seed.
  for (const char c : name) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001B3ULL;
  return mix(mix(hash) + seed_ * 0x9E3779B97F4A7C15ULL);
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
