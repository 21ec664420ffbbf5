#pragma once
// The seeded random source of the property tests. The standard distributions differ between libraries, so that a
// printed seed would not repeat elsewhere; this one does.

#include <cstddef>
#include <cstdint>
#include <vector>

namespace nappe::tests {

/// SplitMix64 (Steele, Lea, Flood 2014): small, seedable with any value, the same everywhere.
class Random {
 public:
  explicit Random(std::uint64_t seed) : state_(seed) {}

  std::uint64_t next() {
    std::uint64_t z = (state_ += 0x9E3779B97F4A7C15ULL);
    z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31U);
  }
  /// Uniform in [low, high], both included; high >= low.
  std::int64_t between(std::int64_t low, std::int64_t high) {
    return low + static_cast<std::int64_t>(next() % static_cast<std::uint64_t>(high - low + 1));
  }
  /// True with this chance.
  bool chance(double p) { return unit() < p; }
  /// Uniform in [0, 1).
  double unit() { return static_cast<double>(next() >> 11U) * 0x1.0p-53; }
  /// One of the values; the vector must not be empty.
  template <class T>
  const T& pick(const std::vector<T>& values) {
    return values[static_cast<std::size_t>(between(0, static_cast<std::int64_t>(values.size()) - 1))];
  }

 private:
  std::uint64_t state_;
};

}  // namespace nappe::tests
