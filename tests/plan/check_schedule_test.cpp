#include "common/plan/check_schedule.hpp"

#include <catch2/catch.hpp>
#include <string>

using namespace nappe::plan;

namespace {

/// Two components over one pair of hands, one plate, all in order.
struct Case {
  KitchenProblem problem;
  Schedule schedule;
};

Case sound() {
  Case it;
  it.problem.resources = {{1}};
  Course course;
  course.wanted = 100;
  course.price_late = 10;
  course.early_max = 20;
  course.spread_max = 4;
  add_course(it.problem, course);
  Block plating;
  plating.length = 5;
  add_plate(it.problem, 0, plating, {{0, 1, 0, 5}});
  for (int i = 0; i < 2; ++i) {
    begin_component(it.problem);
    Block block;
    block.length = 10;
    add_block(it.problem, block, {{0, 1, 0, 10}});
    end_component(it.problem, {{0, 0, 12, 1}});
  }
  it.schedule.block_start = {95, 85, 75};
  it.schedule.meet = {100};
  price_schedule(it.problem, it.schedule);
  return it;
}

/// The faults after this change, priced again unless told not to.
std::string judge(Case it, void (*change)(Case&), bool price = true) {
  change(it);
  if (price) price_schedule(it.problem, it.schedule);
  std::string text;
  for (const auto& fault : check_schedule(it.problem, it.schedule)) text += fault + ";";
  return text;
}

}  // namespace

TEST_CASE("a sound schedule has no faults") {
  CHECK(judge(sound(), [](Case&) {}).empty());
}

TEST_CASE("each kind of fault is seen") {
  CHECK_THAT(judge(sound(), [](Case& it) { it.schedule.block_start[2] = 80; }), Catch::Contains("resource 0 has 1"));
  CHECK_THAT(judge(sound(), [](Case& it) { it.schedule.block_start[1] = 88; }), Catch::Contains("the least is 0"));
  CHECK_THAT(judge(sound(), [](Case& it) { it.problem.terms.now = 76; }), Catch::Contains("before now"));
  CHECK_THAT(judge(sound(), [](Case& it) { it.problem.blocks[2].release = 77; }), Catch::Contains("release"));
  CHECK_THAT(judge(sound(), [](Case& it) { it.problem.blocks[2].fixed_start = 70; }),
             Catch::Contains("is moved to 75"));
  CHECK_THAT(judge(sound(), [](Case& it) { it.schedule.meet[0] = 99; }), Catch::Contains("after its meet"));
  CHECK_THAT(judge(
                 sound(), [](Case& it) { it.schedule.block_start.pop_back(); }, false),
             Catch::Contains("one start per block"));
  CHECK_THAT(judge(sound(),
                   [](Case& it) {
                     it.problem.courses[0].early_max = 0;
                     it.problem.courses[0].wanted = 120;
                   }),
             Catch::Contains("early"));
  CHECK_THAT(judge(
                 sound(), [](Case& it) { it.schedule.cost.late += 1; }, false),
             Catch::Contains("costs"));
}

TEST_CASE("a broken window must be reported as it is") {
  const auto late = [](Case& it) { it.schedule.block_start[2] = 70; };  // stands 15, keeps 12
  CHECK(judge(sound(), late).empty());
  CHECK_THAT(judge(sound(), late, false), Catch::Contains("nobody says so"));
  const auto lied = [](Case& it) {
    it.schedule.block_start[2] = 70;
    price_schedule(it.problem, it.schedule);
    it.schedule.broken[0].by = 1;
  };
  CHECK_THAT(judge(sound(), lied, false), Catch::Contains("broken by 3"));
}

TEST_CASE("a frozen block that moved must be reported") {
  const auto frozen = [](Case& it) {
    it.problem.terms.now = 70;
    it.problem.terms.frozen_until = 80;
    it.problem.blocks[2].shown_start = 72;
  };
  CHECK(judge(sound(), frozen).empty());
  const auto silent = [](Case& it) {
    it.problem.terms.now = 70;
    it.problem.terms.frozen_until = 80;
    it.problem.blocks[2].shown_start = 72;
    price_schedule(it.problem, it.schedule);
    it.schedule.thawed.clear();
  };
  CHECK_THAT(judge(sound(), silent, false), Catch::Contains("frozen block 2 moved"));
}

TEST_CASE("facts alone may overdraw a resource, plans on top of them may not") {
  const auto facts = [](Case& it) { it.problem.outages.push_back({0, 2, 0, 75}); };
  CHECK(judge(sound(), facts).empty());
  const auto plans = [](Case& it) { it.problem.outages.push_back({0, 1, 0, 76}); };
  CHECK_THAT(judge(sound(), plans), Catch::Contains("(1 by facts)"));
}
