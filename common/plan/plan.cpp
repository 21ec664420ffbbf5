#include "common/plan/plan.hpp"

#include "common/plan/alone.hpp"
#include "common/plan/outlook.hpp"

namespace nappe::plan {

Plan make_plan(const line::State& state, Instant now, const Plan* /*before*/) {
  if (state.kitchen == nullptr) return Plan{};
  Plan plan = plan_alone(state, now);
  give_words(state, plan);
  look_at_stations(state, plan);
  return plan;
}

}  // namespace nappe::plan
