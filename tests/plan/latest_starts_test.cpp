// The demo evening's latest starts, to the second, against figures worked out once by a separate program from the
// same times. The times are invented; what is checked is the arithmetic of planning backwards.
#include <catch2/catch.hpp>

#include "common/plan/alone.hpp"
#include "common/plan/plan.hpp"
#include "tests/support/night.hpp"

using namespace nappe;
using namespace nappe::line;
using nappe::tests::friday;
using nappe::tests::Night;

namespace {

std::string latest_start(const Night& night, TicketId ticket, const std::string& component) {
  const auto plan = plan::plan_alone(night.state(), night.now());
  return clock_text(plan.pans.at(night.pan(ticket, component).id).slots.front().latest);
}

}  // namespace

TEST_CASE("27: table 5's mains meet at 20:00:00: each component's latest start") {
  Night night(friday(19, 30));
  const auto five = night.send("5: - / 1h 2h 3p 4u");
  REQUIRE(night.ask(Fire{five, "mains", to_ms(friday(20, 0))}));
  const std::vector<std::pair<std::string, std::string>> expected{
      {"loin", "19:42:25"},  {"mushroom", "19:51:47"}, {"pollack", "19:55:11"},  {"turnips", "19:55:47"},
      {"swede", "19:56:14"}, {"perry", "19:56:56"},    {"potatoes", "19:56:58"}, {"damson", "19:57:55"},
      {"curd", "19:58:19"},  {"beet", "19:59:34"}};
  for (const auto& [component, start] : expected) {
    INFO(component);
    CHECK(latest_start(night, five, component) == start);
  }
}

TEST_CASE("table 8's starters at 20:02:00 and its mains at 20:30") {
  Night night(friday(19, 30));
  const auto eight = night.send("8: 1e 2m 3e 4k 5e 6m / 1h 2h 3p 4h 5p 6u");
  REQUIRE(night.ask(Fire{eight, "starters", to_ms(friday(20, 2))}));
  REQUIRE(night.ask(Fire{eight, "mains", to_ms(friday(20, 30)), true}));
  CHECK(latest_start(night, eight, "emmer") == "19:47:42");
  CHECK(latest_start(night, eight, "leek") == "19:56:17");
  CHECK(latest_start(night, eight, "mackerel") == "19:58:30");
  CHECK(latest_start(night, eight, "emulsion") == "20:01:37");
  CHECK(latest_start(night, eight, "loin") == "20:11:35");
}

TEST_CASE("table 7's desserts at 20:23:00, with the pudding's rest before it may leave") {
  Night night(friday(20, 0));
  const auto seven = night.send("7: - / - / 1d 2d 3d 4r");
  REQUIRE(night.ask(Fire{seven, "desserts", to_ms(friday(20, 23))}));
  CHECK(latest_start(night, seven, "pudding") == "20:06:05");
  CHECK(latest_start(night, seven, "pear") == "20:19:28");
  CHECK(latest_start(night, seven, "caramel") == "20:22:06");
}

TEST_CASE("tables 10 and 12 in one pan, and table 6 apart with no milk") {
  Night night(friday(20, 10));
  const auto ten = night.send("10: 1e 2e 3m 4k");
  const auto twelve = night.send("12: 1e 2e 3m 4k");
  const auto six = night.send("6: 1k 2e!milk");
  REQUIRE(night.ask(Fire{ten, "starters", to_ms(friday(20, 32))}));
  REQUIRE(night.ask(Fire{twelve, "starters", to_ms(friday(20, 32))}));
  REQUIRE(night.ask(Fire{six, "starters", to_ms(friday(20, 37))}));
  REQUIRE(night.pan(twelve, "emmer").id == night.pan(ten, "emmer").id);
  CHECK(latest_start(night, ten, "emmer") == "20:16:53");
  CHECK(latest_start(night, six, "emmer") == "20:24:20");
}

TEST_CASE("28: moving a meet by three minutes re-times every component of that course and nothing else") {
  Night night(friday(19, 30));
  const auto five = night.send("5: - / 1h 2h 3p 4u");
  const auto eight = night.send("8: 1e 2m 3e 4k 5e 6m");
  REQUIRE(night.ask(Fire{five, "mains", to_ms(friday(20, 0))}));
  REQUIRE(night.ask(Fire{eight, "starters", to_ms(friday(20, 2))}));
  const auto before = plan::plan_alone(night.state(), night.now());
  REQUIRE(night.ask(MoveMeet{five, "mains", to_ms(friday(20, 3))}));
  const auto after = plan::plan_alone(night.state(), night.now());
  for (const auto& [id, pan] : before.pans) {
    const bool of_five = night.state().find_pan(id)->portions.front().plate.ticket == five;
    const auto& moved = after.pans.at(id);
    for (std::size_t i = 0; i < pan.slots.size(); ++i)
      CHECK(moved.slots[i].latest - pan.slots[i].latest == (of_five ? minutes(3) : Duration::zero()));
  }
}

TEST_CASE("a cue that comes 70 s late moves its own table's unbegun components by 70 s and no other table's") {
  Night night(friday(19, 40));
  const auto eight = night.send("8: 1e 2m 3e 5e 6m");
  const auto five = night.send("5: - / 1h 2h 3p 4u");
  REQUIRE(night.ask(Fire{eight, "starters", to_ms(friday(20, 2))}));
  REQUIRE(night.ask(Fire{five, "mains", to_ms(friday(20, 30))}));
  const PanId emmer = night.pan(eight, "emmer").id;
  // The emmer to the second, up to the absorbing of its seventh ladle, which ought to end at 19:58:18.
  night.until(friday(19, 48, 42));
  REQUIRE(night.done(emmer));
  for (int ladle = 1; ladle <= 7; ++ladle) {
    night.until(friday(19, 49, 40) + seconds(78 * (ladle - 1)));
    REQUIRE(night.done(emmer));
  }
  const auto plan_at = [&](Instant at) {
    night.until(at);
    return plan::plan_alone(night.state(), at);
  };
  const Instant there = night.now() + seconds(50);
  const auto in_time = plan_at(there);
  const auto late = plan_at(there + seconds(70));
  const auto shift = [&](TicketId ticket, const std::string& component) {
    const PanId id = night.pan(ticket, component).id;
    return in_seconds(late.pans.at(id).slots.front().latest - in_time.pans.at(id).slots.front().latest);
  };
  CHECK(in_seconds(late.courses.at({eight, "starters"}).meet - in_time.courses.at({eight, "starters"}).meet) == 70);
  CHECK(shift(eight, "mackerel") == 70);
  for (const char* component : {"pollack", "curd", "beet"}) CHECK(shift(five, component) == 0);
  CHECK(late.courses.at({eight, "starters"}).pull == emmer);
}
