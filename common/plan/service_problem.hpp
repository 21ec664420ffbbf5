#pragma once
// The live service as the planner's problem, and the planner's answer as a plan people can read.

#include <map>
#include <vector>

#include "common/plan/kitchen_problem.hpp"
#include "common/plan/plan.hpp"

namespace nappe::plan {

/// Where a pan's steps went: which block, and how far into it.
struct Placed {
  line::Ahead step;
  int block = -1;   ///< -1: a rest, which lies between two blocks.
  Duration into{};  ///< From the block's start.
};

struct PlacedPan {
  line::PanId pan{};
  std::vector<Placed> steps;
  int last_block = -1;
  Duration last_length{};
};

/// A problem with the way back from its indices.
struct ServiceProblem {
  KitchenProblem problem;
  Instant origin{};
  std::vector<line::CourseKey> courses;  ///< By the problem's course.
  std::vector<PlacedPan> pans;           ///< By the problem's component.
};

/// How the house weighs time; a planner's tick is one second.
constexpr Duration tick_length = seconds(1);

/// All fired courses, and every pan that has been begun. `before`: the plan shown until now, or null.
ServiceProblem make_problem(const line::State& state, Instant now, const Plan* before);

/// A course that waits, and when its table will be clear for it.
struct Waiting {
  line::CourseKey course;
  Instant clear{};
};

/// Adds waiting courses behind all that the problem (of the same state and instant) holds, as if each were fired when
/// its table is clear: every position that was there stays. A course that has nothing to cook is left out.
void add_waiting(ServiceProblem& service, const line::State& state, Instant now, const std::vector<Waiting>& waiting);

/// Writes the schedule over `plan` (which holds every pan planned alone): slots, readiness, meets, pulls.
void write_schedule(const ServiceProblem& from, const Schedule& schedule, const line::State& state, Plan& plan);

}  // namespace nappe::plan
