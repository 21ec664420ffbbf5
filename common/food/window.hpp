#pragma once
// The window of a plate that combines several parts: it opens when the last of them is ready for it, and closes when
// the first of them has had its time, less the walk to the table.

#include <optional>
#include <string>
#include <vector>

#include "common/result.hpp"
#include "common/time.hpp"

namespace nappe::food {

/// One part's clock. `zero` is when it starts, counted from the plate's own zero (the unmoulding, the end of a rest):
/// a frozen part put on later starts later. Earliest and latest count from `zero`.
struct PartClock {
  std::string part;
  Duration zero{};
  Duration earliest{};
  std::optional<Duration> latest;
};

/// When the plate may leave the pass, counted from the plate's zero.
struct PlateWindow {
  Duration earliest{};
  std::optional<Duration> latest;  ///< The walk is taken off already; nothing if no part ever dies.
  std::string opens_with;          ///< The part that opens it last.
  std::string closes_with;         ///< The part that dies first; empty if none does.
};

/// max of the earliest, min of the latest less the walk. `refused` if the window is empty: the sentence names the two
/// parts that exclude each other. `invalid` for no parts, a latest before its own earliest or a negative walk.
Result<PlateWindow> plate_window(const std::vector<PartClock>& parts, Duration walk);

enum class Moment { too_early, within, too_late };

/// Where an instant (from the plate's zero) lies in the window; both ends belong to it.
Moment moment(const PlateWindow& window, Duration at);

}  // namespace nappe::food
