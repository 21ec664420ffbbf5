#include "common/plan/critical_path.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace nappe::plan {

CriticalPathResult critical_path(const Project& project) {
  CriticalPathResult result;
  const std::size_t count = project.activities.size();
  auto& dates = result.path.dates;
  dates.resize(count);
  const auto at = [](int index) { return static_cast<std::size_t>(index); };
  // Bellman-Ford: lags may be negative (maximum lags), so there need not be an order of the activities.
  bool changed = true;
  for (std::size_t round = 0; changed; ++round) {
    if (round > count) return {false, {}};
    changed = false;
    for (const StartLag& lag : project.lags) {
      const std::int32_t start = dates[at(lag.from)].early_start + lag.least;
      if (start <= dates[at(lag.to)].early_start) continue;
      dates[at(lag.to)].early_start = start;
      changed = true;
    }
  }
  for (std::size_t a = 0; a < count; ++a) {
    dates[a].early_finish = dates[a].early_start + project.activities[a].duration;
    result.path.length = std::max(result.path.length, dates[a].early_finish);
  }
  for (std::size_t a = 0; a < count; ++a) dates[a].late_start = result.path.length - project.activities[a].duration;
  for (changed = true; changed;) {
    changed = false;
    for (const StartLag& lag : project.lags) {
      const std::int32_t start = dates[at(lag.to)].late_start - lag.least;
      if (start >= dates[at(lag.from)].late_start) continue;
      dates[at(lag.from)].late_start = start;
      changed = true;
    }
  }
  for (std::size_t a = 0; a < count; ++a) {
    ActivityDates& d = dates[a];
    d.late_finish = d.late_start + project.activities[a].duration;
    d.total_slack = d.late_start - d.early_start;
    d.free_slack = result.path.length - d.early_finish;
    if (d.total_slack == 0) result.path.critical.push_back(static_cast<int>(a));
  }
  for (const StartLag& lag : project.lags) {
    ActivityDates& d = dates[at(lag.from)];
    d.free_slack = std::min(d.free_slack, dates[at(lag.to)].early_start - lag.least - d.early_start);
  }
  std::stable_sort(result.path.critical.begin(), result.path.critical.end(),
                   [&](int a, int b) { return dates[at(a)].early_start < dates[at(b)].early_start; });
  return result;
}

double pert_mean(const ThreePoints& e) { return (e.optimistic + 4 * e.likely + e.pessimistic) / 6; }

double pert_variance(const ThreePoints& e) {
  const double deviation = (e.pessimistic - e.optimistic) / 6;
  return deviation * deviation;
}

double chance_done(double mean, double variance, double deadline) {
  if (variance <= 0) return deadline >= mean ? 1 : 0;
  return 0.5 * std::erfc((mean - deadline) / std::sqrt(2 * variance));
}

}  // namespace nappe::plan
