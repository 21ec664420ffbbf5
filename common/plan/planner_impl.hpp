#pragma once
// What a planner keeps between calls, and a plan together with the problem it answers. Internal to the plan.

#include "common/plan/kitchen_planner.hpp"
#include "common/plan/plan.hpp"
#include "common/plan/service_problem.hpp"

namespace nappe::plan {

struct Planner::Impl {
  KitchenPlanner planner;
};

struct Planner::Made {
  Plan plan;
  ServiceProblem service;
  Schedule schedule;
};

}  // namespace nappe::plan
