#include "common/plan/kitchen_planner.hpp"

#include <catch2/catch.hpp>
#include <string>

#include "common/plan/check_schedule.hpp"

using namespace nappe::plan;

namespace {

/// Joined for the failure message.
std::string faults_of(const KitchenProblem& problem, const Schedule& schedule) {
  std::string text;
  for (const auto& fault : check_schedule(problem, schedule)) text += fault + "\n";
  return text;
}

Course course_at(Tick wanted) {
  Course course;
  course.wanted = wanted;
  course.price_late = 10;
  course.price_early = 16;
  course.early_max = 60;
  course.spread_max = 6;
  course.price_spread = 4;
  return course;
}

Block block_of(Tick length) {
  Block block;
  block.length = length;
  return block;
}

/// One pair of hands (resource 0), two rings (1), the pass (2).
KitchenProblem one_cook() {
  KitchenProblem problem;
  problem.resources = {{1}, {2}, {2}};
  return problem;
}

/// A component of one block of hands, straight on to the plate within `keep`.
int add_simple(KitchenProblem& problem, int plate, Tick hands, Tick keep, Price stand = 1) {
  begin_component(problem);
  const int block = add_block(problem, block_of(hands), {{0, 1, 0, hands}});
  end_component(problem, {{plate, 0, keep, stand}});
  return block;
}

}  // namespace

TEST_CASE("one component starts as late as the meet allows") {
  KitchenProblem problem = one_cook();
  const int course = add_course(problem, course_at(100));
  const int plate = add_plate(problem, course, block_of(4), {{2, 1, 0, 4}});
  const int block = add_simple(problem, plate, 10, 5);
  KitchenPlanner planner;
  const Schedule schedule = planner.replan(problem);
  CHECK(schedule.meet[0] == 100);
  CHECK(schedule.block_start[0] == 96);
  CHECK(schedule.block_start[static_cast<std::size_t>(block)] == 86);
  CHECK(schedule.pull[0] == 0);
  CHECK(schedule.pull_block[0] == block);
  CHECK(schedule.cost.total() == 0);
  CHECK(faults_of(problem, schedule).empty());
}

TEST_CASE("two things for one pair of hands: one waits inside its keep") {
  KitchenProblem problem = one_cook();
  const int course = add_course(problem, course_at(100));
  const int plate = add_plate(problem, course, block_of(4), {{2, 1, 0, 4}});
  const int a = add_simple(problem, plate, 10, 20, 3);
  const int b = add_simple(problem, plate, 10, 20, 1);
  KitchenPlanner planner;
  const Schedule first = planner.replan(problem);
  CHECK(faults_of(problem, first).empty());
  const Schedule best = planner.improve(problem, first, {200, 1});
  CHECK(best.block_start[static_cast<std::size_t>(a)] == 86);  // the dearer to let stand goes last
  CHECK(best.block_start[static_cast<std::size_t>(b)] == 76);
  CHECK(best.cost.total() == 10);
}

TEST_CASE("a course follows its pull: what cannot be ready moves the meet, and says so") {
  KitchenProblem problem = one_cook();
  const int course = add_course(problem, course_at(30));
  const int plate = add_plate(problem, course, block_of(4), {{2, 1, 0, 4}});
  add_simple(problem, plate, 5, 10);
  begin_component(problem);
  const int slow = add_block(problem, block_of(40), {{1, 1, 0, 40}});
  end_component(problem, {{plate, 0, 10, 1}});
  KitchenPlanner planner;
  const Schedule schedule = planner.replan(problem);
  CHECK(faults_of(problem, schedule).empty());
  CHECK(schedule.meet[0] == 44);
  CHECK(schedule.pull[0] == 1);
  CHECK(schedule.pull_block[0] == slow);
  CHECK(schedule.block_start[1] == 35);  // the quick one waits for it
  CHECK(schedule.broken.empty());
}

TEST_CASE("a rest has a least and a longest; the ring stays taken if it is held") {
  KitchenProblem problem = one_cook();
  problem.resources[1].capacity = 1;
  const int course = add_course(problem, course_at(100));
  const int plate = add_plate(problem, course, block_of(2), {});
  begin_component(problem);
  Block sear = block_of(10);
  sear.next = {8, 14, 0, add_held(problem, {{1, 1, 0, 0}})};
  const int first = add_block(problem, sear, {{1, 1, 0, 10}});
  add_block(problem, block_of(5), {{0, 1, 0, 5}});
  end_component(problem, {{plate, 0, 4, 1}});
  begin_component(problem);
  const int other = add_block(problem, block_of(10), {{1, 1, 0, 10}});
  end_component(problem, {{plate, 0, 40, 1}});
  KitchenPlanner planner;
  const Schedule schedule = planner.improve(problem, planner.replan(problem), {200, 1});
  CHECK(faults_of(problem, schedule).empty());
  CHECK(schedule.meet[0] == 100);
  const Tick sear_start = schedule.block_start[static_cast<std::size_t>(first)];
  const Tick sear_end = sear_start + 10;
  const Tick next = schedule.block_start[static_cast<std::size_t>(first) + 1];
  CHECK(next - sear_end >= 8);
  CHECK(next - sear_end <= 14);
  const Tick other_start = schedule.block_start[static_cast<std::size_t>(other)];
  CHECK((other_start + 10 <= sear_start || other_start >= next));
}

TEST_CASE("a window that must break is broken least and reported") {
  KitchenProblem problem = one_cook();
  problem.terms.now = 100;
  const int course = add_course(problem, course_at(110));
  const int plate = add_plate(problem, course, block_of(2), {});
  begin_component(problem);  // finished at 100, keeps 6
  Block done = block_of(20);
  done.fixed_start = 80;
  add_block(problem, done, {});
  end_component(problem, {{plate, 0, 6, 1}});
  begin_component(problem);  // needs 30 from now
  add_block(problem, block_of(30), {{0, 1, 0, 30}});
  end_component(problem, {{plate, 0, 6, 1}});
  KitchenPlanner planner;
  const Schedule schedule = planner.replan(problem);
  CHECK(faults_of(problem, schedule).empty());
  REQUIRE(schedule.broken.size() == 1);
  CHECK(schedule.broken[0].what == Broken::What::keep);
  CHECK(schedule.broken[0].component == 0);
  CHECK(schedule.broken[0].by == 24);  // plated at 130, ready at 100, keeps 6
  CHECK(schedule.meet[0] == 132);
}

TEST_CASE("what a cook was told for the next minute stays unless it cannot") {
  KitchenProblem problem = one_cook();
  problem.terms.now = 50;
  problem.terms.frozen_until = 62;
  const int course = add_course(problem, course_at(100));
  const int plate = add_plate(problem, course, block_of(2), {});
  const int block = add_simple(problem, plate, 10, 60);
  problem.blocks[static_cast<std::size_t>(block)].shown_start = 55;
  KitchenPlanner planner;
  SECTION("it stays although later would be fresher") {
    const Schedule schedule = planner.replan(problem);
    CHECK(schedule.block_start[static_cast<std::size_t>(block)] == 55);
    CHECK(schedule.thawed.empty());
    CHECK(faults_of(problem, schedule).empty());
  }
  SECTION("it moves, and is reported, when the hands are away") {
    problem.outages.push_back({0, 1, 50, 70});
    const Schedule schedule = planner.replan(problem);
    CHECK(schedule.block_start[static_cast<std::size_t>(block)] >= 70);
    REQUIRE(schedule.thawed.size() == 1);
    CHECK(schedule.thawed[0] == block);
    CHECK(faults_of(problem, schedule).empty());
  }
}

TEST_CASE("one pan feeds plates of two courses inside its keep for both") {
  KitchenProblem problem = one_cook();
  const int a = add_course(problem, course_at(100));
  const int b = add_course(problem, course_at(112));
  const int plate_a = add_plate(problem, a, block_of(2), {{2, 1, 0, 2}});
  const int plate_b = add_plate(problem, b, block_of(2), {{2, 1, 0, 2}});
  begin_component(problem);
  const int pan = add_block(problem, block_of(30), {{0, 1, 0, 30}});
  end_component(problem, {{plate_a, 0, 18, 1}, {plate_b, 0, 18, 1}});
  KitchenPlanner planner;
  const Schedule schedule = planner.replan(problem);
  CHECK(faults_of(problem, schedule).empty());
  CHECK(schedule.meet[0] == 100);
  CHECK(schedule.meet[1] == 112);
  CHECK(schedule.block_start[static_cast<std::size_t>(pan)] == 68);
}

TEST_CASE("a cook away is not planned with, and only as long as believed") {
  KitchenProblem problem = one_cook();
  problem.outages.push_back({0, 1, 70, 98});
  const int course = add_course(problem, course_at(100));
  const int plate = add_plate(problem, course, block_of(0), {});
  const int block = add_simple(problem, plate, 10, 40);
  KitchenPlanner planner;
  const Schedule schedule = planner.replan(problem);
  CHECK(faults_of(problem, schedule).empty());
  CHECK(schedule.block_start[static_cast<std::size_t>(block)] == 60);
  problem.outages[0] = {0, 1, 0, 1000000};
  const Schedule late = planner.replan(problem);
  CHECK(faults_of(problem, late).empty());
  CHECK(late.meet[0] == 100 + problem.terms.late_search_max + 10);
}

TEST_CASE("an event moves only the course it touches") {
  KitchenProblem problem = one_cook();
  std::vector<int> blocks;
  for (Tick wanted : {100, 140, 180}) {
    const int course = add_course(problem, course_at(wanted));
    const int plate = add_plate(problem, course, block_of(2), {{2, 1, 0, 2}});
    blocks.push_back(add_simple(problem, plate, 10, 20));
  }
  KitchenPlanner planner;
  const Schedule before = planner.replan(problem);
  for (std::size_t b = 0; b < problem.blocks.size(); ++b) problem.blocks[b].shown_start = before.block_start[b];
  for (std::size_t c = 0; c < 3; ++c) {
    problem.courses[c].shown_meet = before.meet[c];
    problem.courses[c].changed = false;
  }
  CHECK(planner.repair(problem).block_start == before.block_start);
  problem.courses[1].changed = true;
  problem.courses[1].wanted = 150;
  const Schedule after = planner.repair(problem);
  CHECK(faults_of(problem, after).empty());
  CHECK(after.meet == std::vector<Tick>{100, 150, 180});
  const Difference difference = compare_schedules(problem, before, after, 200);
  CHECK(difference.moved == 2);
  CHECK(difference.ticks == 20);
  CHECK(difference.inversions == 0);
}

TEST_CASE("give is what a move can still wait without moving the meet") {
  KitchenProblem problem = one_cook();
  const int course = add_course(problem, course_at(100));
  const int plate = add_plate(problem, course, block_of(4), {});
  begin_component(problem);
  Block first = block_of(10);
  first.next = {0, 12, 0, {}};
  add_block(problem, first, {{0, 1, 0, 10}});
  add_block(problem, block_of(6), {{0, 1, 0, 6}});
  end_component(problem, {{plate, 0, 10, 1}});
  Schedule schedule;
  schedule.block_start = {95, 70, 85};
  schedule.meet = {100};
  price_schedule(problem, schedule);
  // Plating could start at 96, the second block then end at 96 and start at 90, the first end at 90 and start at 80.
  CHECK(give_of(problem, schedule) == std::vector<Tick>{1, 10, 5});
}

TEST_CASE("latest starts of a table's mains, worked by hand") {
  // The invented restaurant's table of four at 20:00:00, one-second ticks from 19:30:00, nobody in each other's way.
  // Sum of each chain: hogget for two 1,055 s, mushroom 493 s, pollack 289 s, sea beet 26 s.
  struct Chain {
    std::vector<Tick> before_rest;
    Tick rest_min, rest_max;
    std::vector<Tick> after_rest;
    Tick latest;
  };
  const Tick meet = 1800;
  const std::vector<Chain> chains = {
      {{100, 120, 40, 240, 15}, 480, 840, {60}, 12 * 60 + 25},  // 19:42:25
      {{33, 240, 16, 180, 24}, 0, 0, {}, 21 * 60 + 47},         // 19:51:47
      {{33, 150, 31}, 60, 150, {15}, 25 * 60 + 11},             // 19:55:11
      {{20, 6}, 0, 0, {}, 29 * 60 + 34},                        // 19:59:34
  };
  KitchenProblem problem;
  const int course = add_course(problem, course_at(meet));
  const int plate = add_plate(problem, course, block_of(0), {});
  std::vector<int> first_blocks;
  const auto sum = [](const std::vector<Tick>& steps) {
    Tick total = 0;
    for (Tick step : steps) total += step;
    return total;
  };
  for (const Chain& chain : chains) {
    begin_component(problem);
    Block block = block_of(sum(chain.before_rest));
    block.next = {chain.rest_min, chain.rest_max, 0, {}};
    first_blocks.push_back(add_block(problem, block, {}));
    if (!chain.after_rest.empty()) add_block(problem, block_of(sum(chain.after_rest)), {});
    end_component(problem, {{plate, 0, 60, 1}});
  }
  KitchenPlanner planner;
  const Schedule schedule = planner.replan(problem);
  CHECK(schedule.meet[0] == meet);
  for (std::size_t i = 0; i < chains.size(); ++i) {
    CHECK(schedule.block_start[static_cast<std::size_t>(first_blocks[i])] == chains[i].latest);
  }
  CHECK(schedule.pull[0] == 0);
}

TEST_CASE("a problem that makes no sense is refused in one sentence") {
  KitchenProblem problem = one_cook();
  const int course = add_course(problem, course_at(100));
  const int plate = add_plate(problem, course, block_of(4), {{2, 1, 0, 4}});
  add_simple(problem, plate, 10, 5);
  CHECK(check_problem(problem));
  const auto refused = [](const KitchenProblem& bad) {
    const auto status = check_problem(bad);
    REQUIRE_FALSE(status);
    return status.error().detail;
  };
  KitchenProblem bad = problem;
  bad.uses[0].resource = 7;
  CHECK(refused(bad) == "block 0 uses resource 7, which is not there");
  bad = problem;
  bad.uses[1].units = 2;
  CHECK(refused(bad) == "block 1 takes 2 units of resource 0, which has 1");
  bad = problem;
  bad.feeds[0].lag_max = -1;
  CHECK(refused(bad) == "feed 0 of component 0 has the window 0..-1");
  bad = problem;
  bad.blocks[0].fixed_start = 3;
  CHECK(refused(bad) == "plate 0 is being plated before component 0 has begun");
}
