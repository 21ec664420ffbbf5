#pragma once
// Projects with forward time, as the scheduling literature publishes them: to hold the profile and the way of
// generating schedules against known optima. The kitchen's own problem is kitchen_problem.hpp.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace nappe::plan {

/// One activity without interruption; demand by resource.
struct Activity {
  std::int32_t duration = 0;
  std::vector<int> demand;
};

/// start(to) - start(from) >= least. A maximum lag is the same the other way round with a negative least.
struct StartLag {
  int from = 0;
  int to = 0;
  std::int32_t least = 0;
};

/// Minimise the end of the last activity. Renewable resources, one mode.
struct Project {
  std::vector<int> capacity;
  std::vector<Activity> activities;
  std::vector<StartLag> lags;
};

struct ProjectSchedule {
  std::vector<std::int32_t> start;
  std::int32_t makespan = 0;
};

/// Finish-to-start precedence without waiting: what most published instances have.
void add_precedence(Project& project, int before, int after);

/// What is wrong with a schedule of this project (a start below zero, a lag, a resource overdrawn), or nothing. Slow
/// and independent of the searches.
[[nodiscard]] std::optional<std::string> check_project(const Project& project, const ProjectSchedule& schedule);

}  // namespace nappe::plan
