#pragma once
// Random kitchens for property tests and measurements: invented, kitchen-like, the same for the same seed.

#include <cstdint>

#include "common/plan/kitchen_problem.hpp"
#include "tests/support/random.hpp"

namespace nappe::tests {

struct KitchenShape {
  int tables = 60;
  int load_percent = 50;     ///< Of the busiest resource, over the whole evening.
  bool shared_pans = false;  ///< Some pans feed two tables.
  bool held = true;          ///< Equipment stays taken during some lags.
};

/// Six stations with their hands and equipment, ovens and the pass: 14 resources; a tick is 5 s. About four plates a
/// table, nine components a table, five and a half steps a component. Every problem passes check_problem.
plan::KitchenProblem random_kitchen(std::uint64_t seed, const KitchenShape& shape);

/// The same kitchen at `now` in the middle of a plan: blocks planned to start before now have begun as planned, the
/// plan is the one in force, nothing is changed. Courses whose meet has passed are left out of nothing: all their
/// blocks are fixed.
plan::KitchenProblem in_service(const plan::KitchenProblem& problem, const plan::Schedule& schedule, plan::Tick now,
                                plan::Tick freeze);

/// One event: a block of a course not yet met takes longer or shorter, or the course is wanted at another time. Marks
/// the course as changed; its index, or -1 when every course has met.
int disturb(plan::KitchenProblem& problem, Random& random);

/// Steps that random_kitchen put into the problem (before merging into blocks).
int steps_of(const plan::KitchenProblem& problem);

}  // namespace nappe::tests
