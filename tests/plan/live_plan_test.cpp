// The plan of a live service: among all the others, and still to the second where nobody is in the way.
#include <catch2/catch.hpp>

#include <iostream>

#include "common/plan/check_schedule.hpp"
#include "common/plan/plan.hpp"
#include "common/plan/service_problem.hpp"
#include "tests/support/night.hpp"

using namespace nappe;
using namespace nappe::line;
using nappe::tests::friday;
using nappe::tests::Night;

namespace {

kitchen::Kitchen without_allowance() {
  kitchen::Kitchen kitchen = tests::larkfold();
  kitchen.settings.finish_allowance = Duration::zero();
  return kitchen;
}

std::string sound(const State& state, Instant now, const plan::Plan* before) {
  const auto service = plan::make_problem(state, now, before);
  if (const Status fine = plan::check_problem(service.problem); !fine) return fine.error().detail;
  plan::KitchenPlanner planner;
  const auto faults = plan::check_schedule(service.problem, planner.repair(service.problem));
  return faults.empty() ? std::string("sound") : faults.front();
}

}  // namespace

TEST_CASE("where nobody is in the way every component keeps its latest start to the second") {
  Night night(friday(19, 30), without_allowance());
  const auto two = night.send("2: 1m 2m / 1p 2p");
  REQUIRE(night.ask(Fire{two, "starters", to_ms(friday(19, 50))}));
  const auto plan = plan::make_plan(night.state(), night.now(), nullptr);
  CHECK(plan.courses.at({two, "starters"}).meet == friday(19, 50));
  const auto& mackerel = plan.pans.at(night.pan(two, "mackerel").id);
  CHECK(clock_text(mackerel.slots.front().latest) == "19:46:30");
  CHECK(mackerel.ready == friday(19, 50));
  CHECK(sound(night.state(), night.now(), nullptr) == "sound");
}

TEST_CASE("two components that want one cook's hands are set apart, the one that can wait first") {
  Night night(friday(19, 30), without_allowance());
  const auto five = night.send("5: - / 1h 2h");
  REQUIRE(night.ask(Fire{five, "mains", to_ms(friday(20, 0))}));
  const auto plan = plan::make_plan(night.state(), night.now(), nullptr);
  CHECK(plan.courses.at({five, "mains"}).meet == friday(20, 0));
  // Alone the loin starts at 19:42:25 and is carved to the meet, while the damson is finished by the same hands.
  const auto& loin = plan.pans.at(night.pan(five, "loin").id);
  const auto& damson = plan.pans.at(night.pan(five, "damson").id);
  CHECK((loin.ready <= friday(20, 0) - seconds(16) || damson.ready <= friday(20, 0) - seconds(60)));
  CHECK(sound(night.state(), night.now(), nullptr) == "sound");
}

TEST_CASE("no event, no change: planning again a moment later keeps every start") {
  Night night(friday(19, 30));
  const auto five = night.send("5: - / 1h 2h 3p 4u");
  const auto eight = night.send("8: 1e 2m 3e 4k 5e 6m");
  REQUIRE(night.ask(Fire{five, "mains", to_ms(friday(20, 0))}));
  REQUIRE(night.ask(Fire{eight, "starters", to_ms(friday(20, 2))}));
  const auto before = plan::make_plan(night.state(), night.now(), nullptr);
  night.until(friday(19, 31));
  const auto after = plan::make_plan(night.state(), night.now(), &before);
  for (const auto& [id, pan] : before.pans)
    for (std::size_t i = 0; i < pan.slots.size(); ++i) CHECK(after.pans.at(id).slots[i].latest == pan.slots[i].latest);
}

TEST_CASE("two tables that want the same hands at once are set apart, and both plans are sound") {
  Night night(friday(19, 30), without_allowance());
  const auto five = night.send("5: 1k 2k 3k 4k");
  const auto eight = night.send("8: 1k 2k 3k 4k");
  for (const auto ticket : {five, eight}) REQUIRE(night.ask(Fire{ticket, "starters", to_ms(friday(19, 40))}));
  const auto plan = plan::make_plan(night.state(), night.now(), nullptr);
  CHECK(sound(night.state(), night.now(), nullptr) == "sound");
  CHECK(plan.courses.at({five, "starters"}).meet >= friday(19, 40));
  // A grill takes six: eight leeks do not fit at once.
  const auto& a = plan.pans.at(night.pan(five, "leek").id);
  const auto& b = plan.pans.at(night.pan(eight, "leek").id);
  CHECK(a.ready != b.ready);
}

TEST_CASE("when hands run short, what is on the heat comes first") {
  Night night(friday(20, 8));
  const auto ten = night.send("10: 1e 2e 3e 4e");
  const auto eight = night.send("8: - / 1h 2h 3p 4u 5p 6h");
  REQUIRE(night.ask(Fire{ten, "starters", to_ms(friday(20, 24))}));
  REQUIRE(night.ask(Fire{eight, "mains", to_ms(friday(20, 28))}));
  plan::Planner planner;
  plan::Plan plan = planner.make(night.state(), night.now(), nullptr);
  const PanId emmer = night.pan(ten, "emmer").id;
  REQUIRE(night.done(emmer, seconds(65)));
  for (int ladle = 1; ladle <= 4; ++ladle) {
    REQUIRE(night.done(emmer, seconds(80)));
    plan = planner.make(night.state(), night.now(), &plan);
  }
  REQUIRE(night.ask(SetHands{"garnish", "tom", false}));
  // Nobody came for a minute and a half.
  for (int second = 0; second < 140; second += 20) {
    night.until(night.now() + seconds(20));
    plan = planner.make(night.state(), night.now(), &plan);
  }
  const auto& slots = plan.pans.at(emmer).slots;
  REQUIRE(slots.size() > 1);
  REQUIRE(slots[1].by_hand);
  CHECK(slots[1].latest <= night.now() + seconds(60));
  CHECK(plan.courses.at({ten, "starters"}).drift < minutes(10));
}

TEST_CASE("29: a long rest is planned before the call, centred on the time the table should be clear") {
  Night night(friday(19, 34), without_allowance());
  const auto five = night.send("5: 1e 2m / 1h 2h 3p 4u");
  REQUIRE(night.ask(GuessClear{five, "mains", to_ms(friday(19, 51))}));
  const auto plan = plan::make_plan(night.state(), night.now(), nullptr);
  const auto& course = plan.courses.at({five, "mains"});
  CHECK(course.tentative);
  CHECK(course.expected);
  const auto& loin = plan.pans.at(night.pan(five, "loin").id);
  REQUIRE(loin.scheduled);
  CHECK(loin.slots.front().latest < friday(19, 51));
  CHECK(loin.slots.front().latest > night.now());
  // The rest is good from 8 to 14 minutes: carving stands in the middle of that, three minutes from either end.
  const auto carve = loin.slots.back();
  const auto rest = loin.slots[loin.slots.size() - 2];
  const Duration rested = carve.latest - rest.latest;
  CHECK(rested >= minutes(10));
  CHECK(rested <= minutes(12));
  CHECK(carve.latest >= friday(19, 51));
  // Nothing else of the course is begun before its table is clear.
  for (const char* component : {"damson", "pollack", "mushroom", "beet"})
    CHECK(plan.pans.at(night.pan(five, component).id).slots.front().latest >= friday(19, 51));
  CHECK(sound(night.state(), night.now(), nullptr) == "sound");
  // Two minutes later nothing has changed.
  night.until(friday(19, 36));
  const auto later = plan::make_plan(night.state(), night.now(), &plan);
  CHECK(later.pans.at(loin.pan).slots.front().latest == loin.slots.front().latest);
}

TEST_CASE("4: pollack that is put off before its turn waits there, and rests no longer for it") {
  Night night(friday(19, 30), without_allowance());
  const auto two = night.send("2: - / 1p");
  REQUIRE(night.ask(Fire{two, "mains", to_ms(friday(19, 50))}));
  plan::Planner planner;
  plan::Plan plan = planner.make(night.state(), night.now(), nullptr);
  const PanId pollack = night.pan(two, "pollack").id;
  const auto start_of = [&](const char* step) {
    const auto& steps = night.state().kitchen->find_component("pollack")->steps;
    for (const plan::Slot& slot : plan.pans.at(pollack).slots)
      if (steps[static_cast<std::size_t>(slot.step)].id == step) return slot.latest;
    FAIL("the plan has no " << step);
    return Instant{};
  };
  night.until(start_of("skin_down"));
  REQUIRE(night.done(pollack, seconds(33)));  // skin down; what follows is a wait
  plan = planner.make(night.state(), night.now(), &plan);
  const Instant turn = start_of("turn");
  const Instant plate = start_of("plate");
  // The floor asks for 80 s more: they are spent before the turn, where the fish can wait for 90, but for what the
  // sauce's last hands take from the same cook.
  const Instant meet = plan.courses.at({two, "mains"}).meet;
  REQUIRE(night.ask(MoveMeet{two, "mains", to_ms(meet + seconds(80))}));
  plan = planner.make(night.state(), night.now(), &plan);
  CHECK(plan.courses.at({two, "mains"}).meet == meet + seconds(80));
  CHECK(start_of("turn") >= turn + seconds(80 - 35));
  CHECK(start_of("turn") <= turn + seconds(90));
  CHECK(start_of("plate") - start_of("turn") == plate - turn);
}

TEST_CASE("30: a cue that ends late moves its own table and no other") {
  Night night(friday(19, 30));
  const auto two = night.send("2: 1e / 1h");
  const auto three = night.send("3: 1m 2m / 1p 2p");
  REQUIRE(night.ask(Fire{two, "starters", std::nullopt}));
  REQUIRE(night.ask(Fire{three, "starters", to_ms(friday(19, 50))}));
  plan::Planner planner;
  plan::Plan plan = planner.make(night.state(), night.now(), nullptr);
  const Instant meet = plan.courses.at({two, "starters"}).meet;
  const Instant other = plan.courses.at({three, "starters"}).meet;
  // Nobody has begun the emmer 70 s after its latest start.
  night.until(plan.pans.at(night.pan(two, "emmer").id).slots.front().latest + seconds(70));
  plan = planner.make(night.state(), night.now(), &plan);
  CHECK(plan.courses.at({two, "starters"}).meet >= meet + seconds(65));
  CHECK(plan.courses.at({two, "starters"}).meet <= meet + seconds(75));
  CHECK(plan.courses.at({three, "starters"}).meet == other);
}

TEST_CASE("34: with a cap of fourteen covers the fifteenth's earliest meet moves") {
  kitchen::Kitchen capped = without_allowance();
  capped.settings.covers_cap = 14;
  const auto meet_of_last = [](const kitchen::Kitchen& kitchen, const char* third) {
    Night night(friday(19, 30), kitchen);
    for (const char* line : {"8: 1m 2m 3m 4m 5m 6m / 1h", "12: 1m 2m 3m 4m / 1h", third}) {
      const auto id = night.send(line);
      REQUIRE(night.ask(Fire{id, "starters", to_ms(friday(19, 50))}));
    }
    const auto last = night.send("1: 1m / 1h");
    plan::Planner planner;
    const auto plan = planner.make(night.state(), night.now(), nullptr);
    const auto meet = planner.meet_if_fired(night.state(), {last, "starters"}, night.now(), &plan);
    REQUIRE(meet);
    return *meet;
  };
  const char* four = "5: 1k 2k 3k 4k / 1h";  // fourteen in the kitchen
  const char* three = "5: 1k 2k 3k / 1h";    // thirteen
  CHECK(meet_of_last(capped, four) >= friday(19, 50));
  CHECK(meet_of_last(capped, three) < friday(19, 50));
  CHECK(meet_of_last(without_allowance(), four) < friday(19, 50));
}
