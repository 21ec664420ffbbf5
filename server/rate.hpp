#pragma once
// So many a second over a longer time, and at most so many at once.

#include <algorithm>
#include <chrono>

namespace nappe::server {

class RateLimit {
 public:
  RateLimit(double per_second, double at_once) : per_second_(per_second), at_once_(at_once), left_(at_once) {}

  /// Takes one; false when there is none left.
  bool take(std::chrono::steady_clock::time_point now) {
    if (last_ != std::chrono::steady_clock::time_point{}) {
      left_ = std::min(at_once_, left_ + std::chrono::duration<double>(now - last_).count() * per_second_);
    }
    last_ = now;
    if (left_ < 1) return false;
    left_ -= 1;
    return true;
  }

 private:
  double per_second_;
  double at_once_;
  double left_;
  std::chrono::steady_clock::time_point last_{};
};

}  // namespace nappe::server
