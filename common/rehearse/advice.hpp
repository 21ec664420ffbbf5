#pragma once
// The plan in force during a rehearsed night, by the rule that is being tried.

#include "common/plan/plan.hpp"
#include "common/rehearse/manner.hpp"

namespace nappe::rehearse {

class Advice {
 public:
  explicit Advice(const Manner& manner) : manner_(manner), planner_(plan::Effort{manner.tries, 1}, manner.plays) {}

  /// The meet to promise for a waiting course, as the live service finds it; nothing: the soonest of its own.
  std::optional<std::int64_t> promise(const line::State& state, const line::CourseKey& course, Instant now);
  /// A course has just been fired, for the meet that `promise` said: the words to give.
  struct Words {
    Instant given{};
    Instant alone{};
  };
  /// Plans again, with the course fired at this instant; its words.
  Words fired(const line::State& state, const line::CourseKey& course, Instant now);
  /// Plans again.
  void look(const line::State& state, Instant now);

  /// The latest start of this step by the plan in force; nothing when the plan does not know the step.
  [[nodiscard]] const plan::Slot* slot(line::PanId pan, int step, int round) const;
  /// It is planned among all others.
  [[nodiscard]] bool scheduled(line::PanId pan) const {
    const auto found = plan_.pans.find(pan);
    return found != plan_.pans.end() && found->second.scheduled;
  }
  /// The pan's plates have gone.
  void forget(line::PanId pan) { plan_.pans.erase(pan); }
  [[nodiscard]] int plans() const { return plans_; }

 private:
  void plan_again(const line::State& state, Instant now);
  void adopt(plan::Plan plan);

  Manner manner_;
  plan::Planner planner_;
  plan::Plan plan_;
  int plans_ = 0;
  std::optional<plan::Planner::Promise> promised_;  // of the course that is being fired, if the plan keeps it
};

}  // namespace nappe::rehearse
