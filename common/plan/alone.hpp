#pragma once
// Each course planned backwards from its own meet, as if it had the kitchen to itself. The yardstick that the planner
// must beat, and what a plan falls back on.

#include "common/plan/plan.hpp"

namespace nappe::plan {

/// Slots, meets and pulls of every live pan and course, without regard to anybody else's hands. Leaves `stations` and
/// the courses' `word` empty.
Plan plan_alone(const line::State& state, Instant now);

}  // namespace nappe::plan
