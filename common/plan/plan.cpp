#include "common/plan/plan.hpp"

#include <algorithm>

#include "common/plan/alone.hpp"
#include "common/plan/kitchen_planner.hpp"
#include "common/plan/outlook.hpp"
#include "common/plan/service_problem.hpp"

namespace nappe::plan {

Plan make_plan(const line::State& state, Instant now, const Plan* before) {
  Planner planner;
  return planner.make(state, now, before);
}

struct Planner::Impl {
  KitchenPlanner planner;
};

Planner::Planner(Effort effort) : effort_(effort), impl_(std::make_unique<Impl>()) {}
Planner::~Planner() = default;
Planner::Planner(Planner&&) noexcept = default;
Planner& Planner::operator=(Planner&&) noexcept = default;

Plan Planner::make(const line::State& state, Instant now, const Plan* before) {
  if (state.kitchen == nullptr) return Plan{};
  Plan plan = plan_alone(state, now);
  const ServiceProblem service = make_problem(state, now, before);
  if (!service.courses.empty()) {
    Schedule schedule = impl_->planner.repair(service.problem);
    // Without an event there is nothing to improve: what cooks were told stands.
    const auto& courses = service.problem.courses;
    const bool event = std::any_of(courses.begin(), courses.end(), [](const Course& course) { return course.changed; });
    if (event && effort_.iterations > 0) schedule = impl_->planner.improve(service.problem, schedule, effort_);
    write_schedule(service, schedule, state, plan);
  }
  give_words(state, plan);
  look_at_stations(state, plan);
  return plan;
}

}  // namespace nappe::plan
