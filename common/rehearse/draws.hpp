#pragma once
// Chance for rehearsals. Every draw belongs to a key (what it is for, which night, which table, which step ...), not to
// a place in a sequence: two variants of a night that differ in one thing share the luck of everything else.

#include <cstdint>
#include <initializer_list>
#include <string_view>

#include "common/bits.hpp"
#include "common/time.hpp"

namespace nappe::rehearse {

/// What a draw is for. The numbers are part of the seed's meaning: never change one.
enum class Stream : std::uint64_t {
  arrival = 1,
  ordering = 2,
  eating = 3,
  dish = 4,
  none = 5,
  step = 6,
  rounds = 7,
  growth = 8
};

/// One step of SplitMix64 from `z`.
constexpr std::uint64_t mix(std::uint64_t z) { return splitmix64_finish(z + splitmix64_step); }

/// A name as part of a key.
constexpr std::uint64_t name_key(std::string_view name) { return fnv1a(name); }

/// The quantile of the standard normal distribution; 0 < p < 1.
double normal_quantile(double p);

/// The quantile of a log-normal distribution with this median and standard deviation of the logarithm. The lead that a
/// component is given so that it is done in time with chance p; with p = price of lateness / (that + price of
/// standing) it is the cheapest lead (the newsvendor's critical ratio: Arrow, Harris, Marschak 1951).
double log_normal_quantile(double median, double sigma, double p);

/// The chance that a guess with normal error of this standard deviation falls into the middle of a rest that forgives
/// `slack` (its maximum minus its minimum) when the rest was centred on it: 2 Phi(slack / 2 sd) - 1.
double centred_chance(Duration slack, Duration sd);

/// The luck of one night.
class Draws {
 public:
  using Key = std::initializer_list<std::uint64_t>;

  Draws(std::uint64_t seed, int night) : base_(mix(mix(seed) ^ static_cast<std::uint64_t>(night))) {}

  [[nodiscard]] std::uint64_t bits(Stream stream, Key key) const;
  /// Uniform in (0, 1), never an end.
  [[nodiscard]] double unit(Stream stream, Key key) const;
  /// Standard normal.
  [[nodiscard]] double normal(Stream stream, Key key) const;
  /// Exponential with mean 1.
  [[nodiscard]] double exponential(Stream stream, Key key) const;

 private:
  std::uint64_t base_;
};

}  // namespace nappe::rehearse
