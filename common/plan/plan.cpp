#include "common/plan/plan.hpp"

#include <algorithm>
#include <vector>

#include "common/plan/alone.hpp"
#include "common/plan/foresight.hpp"
#include "common/plan/kitchen_planner.hpp"
#include "common/plan/outlook.hpp"
#include "common/plan/planner_impl.hpp"
#include "common/plan/play_out.hpp"

namespace nappe::plan {

Plan make_plan(const line::State& state, Instant now, const Plan* before) {
  Planner planner;
  return planner.make(state, now, before);
}

Planner::Planner(Effort effort, int plays) : effort_(effort), plays_(plays), impl_(std::make_unique<Impl>()) {}
Planner::~Planner() = default;
Planner::Planner(Planner&&) noexcept = default;
Planner& Planner::operator=(Planner&&) noexcept = default;

namespace {

// A word that was given stands while its course is expected within this of where it was.
constexpr Duration word_stands = seconds(30);

// Words of fired courses: those that have none yet, and (`again`) those that something happened to, by playing the plan
// out; the others keep theirs, and none is before its meet.
void play_words(const line::State& state, const Plan* before, const ServiceProblem& service, bool again, int plays,
                Plan& plan) {
  std::vector<line::CourseKey> asked;
  for (std::size_t c = 0; c < service.courses.size(); ++c) {
    const line::CourseKey& key = service.courses[c];
    const line::Course* course = state.find_ticket(key.ticket)->find_course(key.course);
    CoursePlan& here = plan.courses.at(key);
    if (course->state != line::CourseState::fired || here.pull == line::PanId{}) continue;
    const CoursePlan* shown = nullptr;
    if (before != nullptr)
      if (const auto found = before->courses.find(key); found != before->courses.end() && !found->second.tentative)
        shown = &found->second;
    const bool moved = shown != nullptr &&
                       (service.problem.courses[c].changed || std::chrono::abs(here.meet - shown->meet) > word_stands);
    if (shown == nullptr || (again && moved))
      asked.push_back(key);
    else
      here.word = shown->word;
    here.word = std::chrono::ceil<std::chrono::minutes>(std::max(here.word, here.meet));
  }
  for (const auto& [key, end] : play_out(state, plan, asked, state.kitchen->settings.word_chance, plays)) {
    CoursePlan& course = plan.courses.at(key);
    course.word = std::chrono::ceil<std::chrono::minutes>(std::max(end, course.meet));
  }
}

}  // namespace

Planner::Made Planner::arrange(const line::State& state, Instant now, const Plan* before, const Effort& effort) {
  Made made{plan_alone(state, now), make_problem(state, now, before), {}};
  find_behind(state, made.plan, made.plan);
  if (made.service.courses.empty()) return made;
  made.schedule = impl_->planner.repair(made.service.problem);
  // Without an event there is nothing to improve: what cooks were told stands.
  std::vector<int> touched;
  for (std::size_t c = 0; c < made.service.problem.courses.size(); ++c)
    if (made.service.problem.courses[c].changed) touched.push_back(static_cast<int>(c));
  if (!touched.empty() && effort.iterations > 0)
    made.schedule = impl_->planner.polish(made.service.problem, made.schedule, touched, effort);
  write_schedule(made.service, made.schedule, state, made.plan);
  return made;
}

void Planner::tell(const line::State& state, const Plan* before, bool again, Made& made) {
  give_words(state, made.plan);
  if (plays_ > 0) play_words(state, before, made.service, again, plays_, made.plan);
  look_ahead(state, made.plan);
}

Plan Planner::make(const line::State& state, Instant now, const Plan* before, Scope scope) {
  if (state.kitchen == nullptr) return Plan{};
  Made made = arrange(state, now, before, effort_);
  tell(state, before, scope == Scope::whole_evening, made);
  Plan plan = std::move(made.plan);
  if (scope != Scope::whole_evening) return plan;

  Foresight foresight(state, plan);
  foresight.place(impl_->planner, std::move(made.service), std::move(made.schedule));
  for (const line::CourseKey& course : foresight.could_fire())
    if (const auto promise = if_fired(state, course, now, &plan)) foresight.set(course, promise->meet, promise->word);
  find_wanted_again(state, plan);
  return plan;
}

}  // namespace nappe::plan
