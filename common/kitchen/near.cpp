#include "common/kitchen/near.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace nappe::kitchen {

int edit_distance(std::string_view a, std::string_view b) {
  const std::size_t width = b.size() + 1;
  std::vector<int> cost((a.size() + 1) * width);
  const auto at = [&](std::size_t i, std::size_t j) -> int& { return cost[i * width + j]; };
  for (std::size_t i = 0; i <= a.size(); ++i) at(i, 0) = static_cast<int>(i);
  for (std::size_t j = 0; j <= b.size(); ++j) at(0, j) = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const int change = a[i - 1] == b[j - 1] ? 0 : 1;
      at(i, j) = std::min({at(i - 1, j) + 1, at(i, j - 1) + 1, at(i - 1, j - 1) + change});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        at(i, j) = std::min(at(i, j), at(i - 2, j - 2) + 1);
      }
    }
  }
  return at(a.size(), b.size());
}

std::optional<std::string> nearest(std::string_view given, const std::vector<std::string>& known) {
  // A word longer than any of ours is no slip of the finger; the bound keeps the table small.
  if (given.empty() || given.size() > 64) return std::nullopt;
  const int most = std::max(1, static_cast<int>(given.size()) / 3);
  std::optional<std::string> best;
  int best_distance = most + 1;
  for (const std::string& word : known) {
    // "fixed" for "fixed_s": only the unit is missing.
    const bool unit_missing = word.size() > given.size() && word.starts_with(given) && word[given.size()] == '_';
    const int distance = unit_missing ? 1 : edit_distance(given, word);
    if (distance < best_distance) {
      best = word;
      best_distance = distance;
    }
  }
  return best;
}

std::string suggest(std::string_view given, const std::vector<std::string>& known) {
  if (const auto near = nearest(given, known)) return fmt::format("did you mean \"{}\"?", *near);
  if (known.empty() || known.size() > 12) return "";
  return fmt::format("known are {}", fmt::join(known, ", "));
}

}  // namespace nappe::kitchen
