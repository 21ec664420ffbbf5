#pragma once
// The seeded engine of the searches. The caller gives the seed; the same seed gives the same plan everywhere.

#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

#include "common/bits.hpp"

namespace nappe::plan {

/// SplitMix64 (Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014).
class SplitMix {
 public:
  explicit SplitMix(std::uint64_t seed) : state_(seed) {}

  std::uint64_t next() {
    state_ += splitmix64_step;
    return splitmix64_finish(state_);
  }
  /// Uniform in [0, count); count >= 1.
  int below(int count) { return static_cast<int>((next() >> 32U) * static_cast<std::uint64_t>(count) >> 32U); }
  /// True in `percent` of 100 cases.
  bool percent(int percent) { return below(100) < percent; }
  /// Puts a range of a vector in random order.
  template <class T>
  void shuffle(std::vector<T>& values) {
    for (std::size_t i = values.size(); i > 1; --i) {
      std::swap(values[i - 1], values[static_cast<std::size_t>(below(static_cast<int>(i)))]);
    }
  }

 private:
  std::uint64_t state_;
};

}  // namespace nappe::plan
