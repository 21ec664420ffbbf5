#pragma once
// The critical path method and PERT, on projects without resources.

#include <cstdint>
#include <vector>

#include "common/plan/project.hpp"

namespace nappe::plan {

/// Early and late dates of one activity. total slack: late start - early start; free slack: how much later it may end
/// without touching anybody's early start.
struct ActivityDates {
  std::int32_t early_start = 0;
  std::int32_t early_finish = 0;
  std::int32_t late_start = 0;
  std::int32_t late_finish = 0;
  std::int32_t total_slack = 0;
  std::int32_t free_slack = 0;
};

struct CriticalPath {
  std::int32_t length = 0;
  std::vector<ActivityDates> dates;
  std::vector<int> critical;  ///< Activities without total slack, by early start.
};

/// Longest paths over the lags, resources left out. The lags must form no cycle of positive length (`feasible` false
/// then, everything else empty).
struct CriticalPathResult {
  bool feasible = true;
  CriticalPath path;
};
[[nodiscard]] CriticalPathResult critical_path(const Project& project);

/// Malcolm, Roseboom, Clark, Fazar, "Application of a technique for research and development program evaluation",
/// Operations Research 7 (1959): mean (a + 4m + b) / 6, variance ((b - a) / 6)^2.
struct ThreePoints {
  double optimistic = 0;
  double likely = 0;
  double pessimistic = 0;
};
[[nodiscard]] double pert_mean(const ThreePoints& estimate);
[[nodiscard]] double pert_variance(const ThreePoints& estimate);

/// Chance that a sum of independent activities with this mean and variance is done by `deadline`, taken as normal.
[[nodiscard]] double chance_done(double mean, double variance, double deadline);

}  // namespace nappe::plan
