#include "common/plan/project.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace nappe::plan {

void add_precedence(Project& project, int before, int after) {
  project.lags.push_back({before, after, project.activities[static_cast<std::size_t>(before)].duration});
}

std::optional<std::string> check_project(const Project& project, const ProjectSchedule& schedule) {
  const auto start = [&](int a) { return schedule.start[static_cast<std::size_t>(a)]; };
  if (schedule.start.size() != project.activities.size()) return "not every activity has a start";
  std::int32_t end = 0;
  for (std::size_t a = 0; a < project.activities.size(); ++a) {
    if (schedule.start[a] < 0) return fmt::format("activity {} starts before the project", a);
    end = std::max(end, schedule.start[a] + project.activities[a].duration);
  }
  if (end != schedule.makespan) return fmt::format("the makespan is {}, not {}", end, schedule.makespan);
  for (const StartLag& lag : project.lags) {
    if (start(lag.to) - start(lag.from) < lag.least) {
      return fmt::format("activity {} starts {} after {}, the least is {}", lag.to, start(lag.to) - start(lag.from),
                         lag.from, lag.least);
    }
  }
  for (std::size_t r = 0; r < project.capacity.size(); ++r) {
    for (std::int32_t t = 0; t < end; ++t) {
      int used = 0;
      for (std::size_t a = 0; a < project.activities.size(); ++a) {
        const bool runs = schedule.start[a] <= t && t < schedule.start[a] + project.activities[a].duration;
        if (runs) used += project.activities[a].demand[r];
      }
      if (used > project.capacity[r]) return fmt::format("resource {} is overdrawn at {}", r, t);
    }
  }
  return std::nullopt;
}

}  // namespace nappe::plan
