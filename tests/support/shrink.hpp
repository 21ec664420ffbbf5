#pragma once
// A failing run made small enough to read.

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace nappe::tests {

/// Drops ever smaller pieces of `steps` as long as what is left still fails (`fails` gives the reason, or nothing).
/// `steps` must fail. Bounded to `tries` runs.
template <class Step>
std::vector<Step> shrink(std::vector<Step> steps,
                         const std::function<std::optional<std::string>(const std::vector<Step>&)>& fails,
                         int tries = 400) {
  for (std::size_t piece = steps.size() / 2; piece > 0; piece /= 2) {
    for (std::size_t from = 0; from < steps.size() && tries > 0;) {
      std::vector<Step> fewer(steps.begin(), steps.begin() + static_cast<std::ptrdiff_t>(from));
      const std::size_t to = std::min(steps.size(), from + piece);
      fewer.insert(fewer.end(), steps.begin() + static_cast<std::ptrdiff_t>(to), steps.end());
      --tries;
      if (fails(fewer))
        steps = std::move(fewer);
      else
        from += piece;
    }
  }
  return steps;
}

}  // namespace nappe::tests
