#pragma once
// Chance for the demo night: every draw belongs to a name, so that the same seed gives the same night whatever the
// order in which things come to happen.

#include <cstdint>
#include <string_view>

#include "common/time.hpp"

namespace nappe::client {

class Draws {
 public:
  explicit Draws(std::uint64_t seed) : seed_(seed) {}

  /// Uniform in [0, 1).
  [[nodiscard]] double unit(std::string_view name) const;
  /// Standard normal (Box and Muller 1958).
  [[nodiscard]] double normal(std::string_view name) const;
  /// Normal with this mean and standard deviation, never below `least`.
  [[nodiscard]] Duration around(std::string_view name, Duration mean, Duration sd, Duration least) const;
  /// Lognormal: `median` times exp(scatter * normal).
  [[nodiscard]] Duration scattered(std::string_view name, Duration median, double scatter) const;

 private:
  [[nodiscard]] std::uint64_t bits(std::string_view name, std::uint64_t salt) const;
  std::uint64_t seed_;
};

}  // namespace nappe::client
