// What every plan must satisfy, on random kitchens. Each failure prints its seed.
#include <algorithm>
#include <catch2/catch.hpp>
#include <numeric>
#include <string>

#include "common/plan/check_schedule.hpp"
#include "common/plan/kitchen_planner.hpp"
#include "common/plan/kitchen_state.hpp"
#include "tests/support/kitchen_random.hpp"

using namespace nappe;
using plan::KitchenPlanner;
using plan::KitchenProblem;
using plan::Schedule;
using plan::Tick;

namespace {

std::string faults_of(const KitchenProblem& problem, const Schedule& schedule) {
  std::string text;
  for (const auto& fault : plan::check_schedule(problem, schedule)) text += fault + "\n";
  return text;
}

tests::KitchenShape shape_of(std::uint64_t seed) {
  tests::KitchenShape shape;
  shape.tables = static_cast<int>(2 + seed % 11);
  shape.load_percent = seed % 4 == 0 ? 80 : 50;
  shape.shared_pans = seed % 3 == 0;
  return shape;
}

bool same(const Schedule& a, const Schedule& b) {
  return a.block_start == b.block_start && a.meet == b.meet && a.pull == b.pull && a.cost.total() == b.cost.total();
}

}  // namespace

TEST_CASE("every plan on the way is sound, and improving never makes it dearer") {
  KitchenPlanner planner;
  for (std::uint64_t seed = 0; seed < 60; ++seed) {
    const KitchenProblem problem = tests::random_kitchen(seed, shape_of(seed));
    CAPTURE(seed);
    REQUIRE(plan::check_problem(problem));
    const Schedule first = planner.replan(problem);
    REQUIRE(faults_of(problem, first) == "");
    const Schedule better = planner.improve(problem, first, {150, seed});
    REQUIRE(faults_of(problem, better) == "");
    REQUIRE(better.cost.total() <= first.cost.total());
    const Schedule polished = planner.polish(problem, better, {0, 1}, {50, seed});
    REQUIRE(faults_of(problem, polished) == "");
    REQUIRE(polished.cost.total() <= better.cost.total());
    for (std::size_t c = 0; c < problem.courses.size(); ++c) {
      REQUIRE(better.pull[c] >= 0);
      REQUIRE(better.pull[c] < static_cast<int>(problem.components.size()));
    }
  }
}

TEST_CASE("a service full of events: every repair is sound, nothing begun moves, others stay") {
  KitchenPlanner planner;
  int events = 0;
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    const KitchenProblem evening = tests::random_kitchen(seed, shape_of(seed));
    Schedule schedule = planner.improve(evening, planner.replan(evening), {60, seed});
    tests::Random random(seed);
    KitchenProblem now = evening;
    for (Tick at = 30; at < 300; at += 30) {
      now = tests::in_service(now, schedule, at, 12);
      CAPTURE(seed, at);
      const Schedule still = planner.repair(now);
      REQUIRE(faults_of(now, still) == "");
      REQUIRE(still.block_start == schedule.block_start);  // no event, no change
      REQUIRE(still.meet == schedule.meet);
      if (tests::disturb(now, random) < 0) break;
      if (!plan::check_problem(now)) break;
      const Schedule repaired = planner.repair(now);
      REQUIRE(faults_of(now, repaired) == "");
      schedule = planner.polish(now, repaired, {0}, {20, seed});
      REQUIRE(faults_of(now, schedule) == "");
      ++events;
    }
  }
  REQUIRE(events > 150);
}

TEST_CASE("the same problem, seed and budget give the same plan, whatever was planned before") {
  for (std::uint64_t seed = 0; seed < 12; ++seed) {
    const KitchenProblem problem = tests::random_kitchen(seed, shape_of(seed));
    const KitchenProblem other = tests::random_kitchen(seed + 1000, shape_of(seed + 5));
    KitchenPlanner fresh, used;
    (void)used.improve(other, used.replan(other), {80, 9});
    CAPTURE(seed);
    const Schedule a = fresh.replan(problem);
    REQUIRE(same(a, used.replan(problem)));
    REQUIRE(same(fresh.improve(problem, a, {120, seed}), used.improve(problem, a, {120, seed})));
  }
}

TEST_CASE("shifting time shifts the plan") {
  KitchenPlanner planner;
  for (std::uint64_t seed = 0; seed < 12; ++seed) {
    const KitchenProblem problem = tests::random_kitchen(seed, shape_of(seed));
    KitchenProblem shifted = problem;
    const Tick by = 1000 + static_cast<Tick>(seed) * 77;
    shifted.terms.now += by;
    for (auto& course : shifted.courses) course.wanted += by;
    const Schedule a = planner.improve(problem, planner.replan(problem), {80, seed});
    const Schedule b = planner.improve(shifted, planner.replan(shifted), {80, seed});
    CAPTURE(seed);
    REQUIRE(a.cost.total() == b.cost.total());
    for (std::size_t i = 0; i < a.block_start.size(); ++i) REQUIRE(a.block_start[i] + by == b.block_start[i]);
  }
}

TEST_CASE("taking a table out and putting it back restores the calendar to the bit") {
  for (std::uint64_t seed = 0; seed < 25; ++seed) {
    const KitchenProblem problem = tests::random_kitchen(seed, shape_of(seed));
    KitchenPlanner planner;
    const Schedule schedule = planner.replan(problem);
    plan::KitchenState state;
    state.load(problem, 20000);
    const auto empty = state.calendar();
    for (int u = 0; u < state.units(); ++u) state.adopt(u, schedule);
    const auto full = state.calendar();
    CAPTURE(seed);
    for (int u = 0; u < state.units(); ++u) {
      plan::KitchenState::Saved saved;
      state.save(u, saved);
      state.remove(u);
      REQUIRE_FALSE(state.calendar() == full);
      plan::Manner manner;
      (void)state.insert(u, manner);
      if (state.placed(u)) state.remove(u);
      state.restore(saved);
      REQUIRE(state.calendar() == full);
    }
    for (int u = 0; u < state.units(); ++u) state.remove(u);
    REQUIRE(state.calendar() == empty);
  }
}

TEST_CASE("more capacity or a longer keep does not raise the best that is found") {
  KitchenPlanner planner;
  for (std::uint64_t seed = 0; seed < 6; ++seed) {
    tests::KitchenShape shape;
    shape.tables = 1;
    const KitchenProblem problem = tests::random_kitchen(seed, shape);
    const auto best_of = [&](const KitchenProblem& p) {
      return planner.improve(p, planner.replan(p), {1500, 5}).cost.total();
    };
    const auto tight = best_of(problem);
    KitchenProblem wide = problem;
    for (auto& resource : wide.resources) ++resource.capacity;
    KitchenProblem lasting = problem;
    for (auto& feed : lasting.feeds) feed.lag_max += 10;
    CAPTURE(seed);
    REQUIRE(best_of(wide) <= tight);
    REQUIRE(best_of(lasting) <= tight);
  }
}

TEST_CASE("re-labelled resources give the same plan") {
  KitchenPlanner planner;
  for (std::uint64_t seed = 0; seed < 12; ++seed) {
    const KitchenProblem problem = tests::random_kitchen(seed, shape_of(seed));
    KitchenProblem turned = problem;
    const int count = static_cast<int>(problem.resources.size());
    for (int r = 0; r < count; ++r) {
      turned.resources[static_cast<std::size_t>((r + 5) % count)] = problem.resources[static_cast<std::size_t>(r)];
    }
    for (auto& use : turned.uses) use.resource = (use.resource + 5) % count;
    CAPTURE(seed);
    REQUIRE(same(planner.replan(problem), planner.replan(turned)));
  }
}
