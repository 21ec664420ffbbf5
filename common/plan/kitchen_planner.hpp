#pragma once
// Finds plans for a KitchenProblem. Pure: the same problem, seed and budget give the same plan, on any machine.

#include <cstdint>
#include <memory>

#include "common/plan/kitchen_problem.hpp"

namespace nappe::plan {

/// How long to go on improving: counted, never timed. The caller who has 50 ms asks for a few hundred iterations at a
/// time and calls again with another seed while there is time. One iteration takes about 3 to 25 microseconds when up
/// to four tables are polished, about 70 with a whole evening of 60.
struct Effort {
  int iterations = 300;  ///< Tries at a better plan.
  std::uint64_t seed = 1;
};

/// Keeps buffers between calls, so that planning again allocates little; what it answers never depends on earlier
/// calls. One thread at a time.
class KitchenPlanner {
 public:
  KitchenPlanner();
  ~KitchenPlanner();
  KitchenPlanner(KitchenPlanner&&) noexcept;
  KitchenPlanner& operator=(KitchenPlanner&&) noexcept;

  /// After an event: courses that are not `changed` and still fit their shown starts stay exactly where they are;
  /// the others are placed anew, what has begun first, then the nearest wanted meet. About 0.3 ms with 60 tables; some
  /// milliseconds when windows have to break. Then `polish` the changed courses with the time that is left.
  [[nodiscard]] Schedule repair(const KitchenProblem& problem);

  /// Places every course anew (frozen and fixed blocks stay). Moves most starts: for the first plan, or to compare.
  [[nodiscard]] Schedule replan(const KitchenProblem& problem);

  /// Puts in the courses that `from` does not know yet, in order of their wanted meets, and moves nothing else. `from`
  /// is a plan of the same problem before courses were added at its end (add_course and so on).
  [[nodiscard]] Schedule add(const KitchenProblem& problem, const Schedule& from);

  /// Goes on from a plan of the same problem: takes courses out, puts them back in another way, keeps what is cheaper.
  /// Never worse than `from`.
  [[nodiscard]] Schedule improve(const KitchenProblem& problem, const Schedule& from, const Effort& effort);

  /// Works on these courses only and leaves every other start alone; the same promise as `improve`.
  [[nodiscard]] Schedule polish(const KitchenProblem& problem, const Schedule& from, const std::vector<int>& courses,
                                const Effort& effort);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace nappe::plan
