#pragma once
// The rest of the evening: when the courses that wait could meet among all that is planned, and which tables are wanted
// again before they can be free. Internal to the plan.

#include <map>
#include <vector>

#include "common/plan/kitchen_planner.hpp"
#include "common/plan/plan.hpp"
#include "common/plan/service_problem.hpp"

namespace nappe::plan {

/// How long a table sits over a course as the house says it; nothing said: no time.
Duration eating_time(const line::State& state, const line::Ticket& ticket, const std::string& course);

class Foresight {
 public:
  /// `plan` holds all that is fired, begun or expected; both must outlive this.
  Foresight(const line::State& state, Plan& plan) : state_(state), plan_(plan) {}

  /// Puts all other waiting courses behind what `schedule` of `service` holds, moving nothing of it, the next of every
  /// table first, and writes their meets and words into the plan.
  void place(KitchenPlanner& planner, ServiceProblem service, Schedule schedule);
  /// Waiting courses that could be fired now: their table has nothing on its way and does not eat. Those sent first
  /// come first; when they are very many, the last are left at what `place` found.
  [[nodiscard]] std::vector<line::CourseKey> could_fire() const;
  /// When such a course would meet.
  void set(const line::CourseKey& course, Instant meet, Instant word);

 private:
  struct Table {
    const line::Ticket* ticket = nullptr;
    std::size_t next = 0;  ///< The course to look at next.
    Instant clear{};       ///< When the table is done with those before it.
    bool served = true;    ///< All before it have left and been eaten.
  };
  [[nodiscard]] bool go_on(Table& table) const;
  void after(Table& table, const line::Course& course, Instant leaves) const;

  const line::State& state_;
  Plan& plan_;
  std::vector<std::pair<Instant, line::CourseKey>> could_fire_;  // by when the ticket was sent
};

/// Fills in `plan.wanted`: every booking of a table at which others sit who, with what they are still to eat, the
/// walk, eating and clearing, will not have left by then. `plan` holds the meets of all their courses.
void find_wanted_again(const line::State& state, Plan& plan);

}  // namespace nappe::plan
