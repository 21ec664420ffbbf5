#pragma once
// An independent judge of schedules: slow, obvious, sharing no code with the planner. For tests, and for anybody who
// doubts a plan.

#include <string>
#include <vector>

#include "common/plan/kitchen_problem.hpp"

namespace nappe::plan {

/// Everything that is wrong with a schedule, one sentence each; empty when it is sound: every block and meet is there,
/// nothing fixed has moved, nothing starts before now or its release, least lags are kept, longest lags, keeps
/// and spreads are kept or reported as broken by exactly what they are broken by, every frozen block that moved is
/// reported, no resource is overdrawn except by facts (fixed blocks, outages, equipment still taken after a fixed
/// block) alone, and the cost is the sum of its parts.
[[nodiscard]] std::vector<std::string> check_schedule(const KitchenProblem& problem, const Schedule& schedule);

}  // namespace nappe::plan
