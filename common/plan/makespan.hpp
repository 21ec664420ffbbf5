#pragma once
// Shortest projects with precedence and resources: a genetic search over activity lists, every child improved forward
// and backward (justification: Valls, Ballestin, Quintanilla, EJOR 165 (2005)), two-point crossover after Hartmann
// (Naval Research Logistics 45 (1998)). Uses the planner's profile and serial generation.

#include <cstdint>

#include "common/plan/project.hpp"

namespace nappe::plan {

struct MakespanEffort {
  int schedules = 1000;  ///< Each generation of a schedule, forward or backward, counts as one.
  std::uint64_t seed = 1;
};

/// The best schedule found. All lags must be at least 0 and without a cycle; every demand must fit its capacity.
/// Stops early when the critical path or a resource's work proves the schedule optimal.
[[nodiscard]] ProjectSchedule shorten_project(const Project& project, const MakespanEffort& effort);

/// A bound no schedule can beat: the longest chain, and each resource's work over its capacity.
[[nodiscard]] std::int32_t makespan_bound(const Project& project);

}  // namespace nappe::plan
