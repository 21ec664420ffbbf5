// The rest of the evening: courses that wait, tables still eating, tables wanted again.
#include <catch2/catch.hpp>

#include <algorithm>

#include "common/plan/plan.hpp"
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

kitchen::Kitchen without_eating() {
  kitchen::Kitchen kitchen = tests::larkfold();
  for (auto& course : kitchen.courses) course.eating.reset();
  return kitchen;
}

const Course& course_of(const Night& night, TicketId ticket, const char* course) {
  return *night.state().find_ticket(ticket)->find_course(course);
}

void leave(Night& night, TicketId ticket, const char* course, Instant at) {
  REQUIRE(night.ask(Fire{ticket, course, to_ms(at)}));
  night.until(at);
  REQUIRE(night.ask(Gone{ticket, course, {}, true, {}}, "Mara"));
}

}  // namespace

// --- 29: the house says how long a table eats

TEST_CASE(
    "29: when starters leave, the mains' guess and the long rest centred on it come from the house by themselves") {
  Night night(friday(19, 15), without_allowance());
  const auto five = night.send("5: 1e 2m / 1h 2h 3p 4u");
  leave(night, five, "starters", friday(19, 35, 45));
  const Course& mains = course_of(night, five, "mains");
  // 15 s of walk and 15 min of eating, give or take 3.5: the clear of the story, 19:51.
  REQUIRE(mains.clear);
  CHECK(*mains.clear == friday(19, 51));
  CHECK(mains.clear_sd == seconds(210));
  const auto plan = plan::make_plan(night.state(), night.now(), nullptr);
  CHECK(plan.courses.at({five, "mains"}).expected);
  const auto& loin = plan.pans.at(night.pan(five, "loin").id);
  REQUIRE(loin.scheduled);
  CHECK(loin.slots.front().latest < friday(19, 51));
  const auto carve = loin.slots.back();
  const auto rest = loin.slots[loin.slots.size() - 2];
  // From 8 to 14 min of rest are good: the carving stands at the middle, so that the window straddles the guess.
  CHECK(carve.latest - rest.latest >= minutes(10));
  CHECK(carve.latest - rest.latest <= minutes(12));
  CHECK(carve.latest >= friday(19, 51));
}

TEST_CASE("29: what people say of a table goes before the house's guess, and pace, speech and table up move it") {
  Night night(friday(19, 15));
  const auto five = night.send("5: 1e 2m / 1h 2h 3p 4u");
  const auto two = night.send("2: 1m 2m / 1p 2p");
  REQUIRE(night.ask(GuessClear{two, "mains", to_ms(friday(20, 2))}, "Wren"));
  leave(night, five, "starters", friday(19, 35, 45));
  leave(night, two, "starters", friday(19, 40));
  CHECK(*course_of(night, two, "mains").clear == friday(20, 2));
  CHECK(!course_of(night, two, "mains").clear_sd);
  const auto clear = [&] { return *course_of(night, five, "mains").clear; };
  REQUIRE(night.ask(Pace{five, 5}, "Wren"));
  CHECK(clear() == friday(19, 56));
  REQUIRE(night.ask(Pace{five, -5}, "Wren"));
  CHECK(clear() == friday(19, 51));
  CHECK(course_of(night, five, "mains").clear_sd == seconds(210));
  REQUIRE(night.ask(Speech{five, 10}, "Wren"));
  CHECK(clear() == friday(20, 1));
  night.until(friday(19, 46));
  REQUIRE(night.ask(TableBack{five}, "Wren"));  // six minutes were enough
  CHECK(clear() == friday(19, 57));
  REQUIRE(night.ask(TableUp{five}, "Wren"));
  night.until(friday(19, 50));
  REQUIRE(night.ask(TableBack{five}, "Wren"));
  CHECK(clear() == friday(20, 1));
  REQUIRE(night.ask(GuessClear{five, "mains", to_ms(friday(19, 54))}, "Wren"));
  CHECK(clear() == friday(19, 54));
  CHECK(!course_of(night, five, "mains").clear_sd);
}

TEST_CASE("29: plates that come back take the house's guess with them, and a house that says nothing guesses nothing") {
  Night night(friday(19, 15));
  const auto five = night.send("5: 1e 2m / 1h 2h");
  leave(night, five, "starters", friday(19, 36));
  REQUIRE(course_of(night, five, "mains").clear);
  REQUIRE(night.ask(BringBack{five, "starters", {}}, "Mara"));
  CHECK(!course_of(night, five, "mains").clear);
  REQUIRE(night.ask(Gone{five, "starters", {}, true, {}}, "Mara"));
  CHECK(course_of(night, five, "mains").clear);
  CHECK(fingerprint(tests::replay(night.log())) == fingerprint(night.state()));
  // An older kitchen's journal: no guess is in its events and none comes of them.
  Night old(friday(19, 15), without_eating());
  const auto four = old.send("4: 1e 2m / 1h 2h");
  leave(old, four, "starters", friday(19, 36));
  CHECK(!course_of(old, four, "mains").clear);
  CHECK(old.all<ClearGuessed>().empty());
}

// --- courses that wait

TEST_CASE("23: mains that wait are never said to meet before their table has eaten its starters") {
  Night night(friday(19, 15));
  const auto five = night.send("5: 1e 2m 3k 4m / 1u 2u 3p 4p / 1r");
  const auto plan = plan::make_plan(night.state(), night.now(), nullptr);
  const auto& starters = plan.courses.at({five, "starters"});
  const auto& mains = plan.courses.at({five, "mains"});
  const auto& desserts = plan.courses.at({five, "desserts"});
  CHECK(starters.tentative);
  CHECK(mains.meet >= starters.meet + seconds(15) + minutes(15));
  CHECK(mains.meet <= starters.meet + minutes(15 + 12));
  CHECK(desserts.meet >= mains.meet + seconds(15) + minutes(24));
  CHECK(mains.word >= mains.meet);
  // When the starters are fired late, the mains follow.
  REQUIRE(night.ask(Fire{five, "starters", to_ms(friday(19, 55))}));
  const auto later = plan::make_plan(night.state(), night.now(), &plan);
  CHECK(later.courses.at({five, "mains"}).meet >= friday(19, 55) + seconds(15) + minutes(15));
}

TEST_CASE("23: what a waiting course could meet counts all that is fired, and looking never moves anything") {
  Night night(friday(19, 47));
  const auto alone = night.send("9: 1e 2e / 1h");
  const Instant free = plan::make_plan(night.state(), night.now(), nullptr).courses.at({alone, "starters"}).meet;
  for (const char* const line : {"5: 1e 2e 3e 4e", "11: 1e 2e 3e 4e", "12: 1e 2e 3e 4e", "10: 1e 2e 3e 4e"}) {
    const auto ticket = night.send(line);
    REQUIRE(night.ask(Fire{ticket, "starters", {}}));
  }
  plan::Planner planner;
  const auto near = planner.make(night.state(), night.now(), nullptr, plan::Scope::on_the_line);
  const auto whole = planner.make(night.state(), night.now(), nullptr);
  CHECK(whole.courses.at({alone, "starters"}).meet > free);
  for (const auto& [id, pan] : near.pans)
    for (std::size_t i = 0; i < pan.slots.size(); ++i) CHECK(whole.pans.at(id).slots[i].latest == pan.slots[i].latest);
  for (const auto& [key, course] : near.courses)
    if (!course.tentative) CHECK(whole.courses.at(key).meet == course.meet);
}

// --- 35: table wanted again

TEST_CASE("35: with table 7 booked again at 20:30 and desserts not before 20:23 the floor is warned when mains leave") {
  Night night(friday(19, 0), without_allowance());
  REQUIRE(night.ask(TakeBookings{{{"7", to_ms(friday(18, 30)), 4}, {"7", to_ms(friday(20, 30)), 4}}}, "Wren"));
  const auto seven = night.send("7: 1m 2m 3e 4k / 1h 2h 3p 4u / 1d 2d 3d 4r");
  leave(night, seven, "starters", friday(19, 10));
  // The mains leave so that, with 45 s of walk and 24 min of eating, the table is clear at 20:06:05: puddings that are
  // begun then leave at 20:23:00.
  leave(night, seven, "mains", friday(19, 41, 20));
  CHECK(*course_of(night, seven, "desserts").clear == friday(20, 6, 5));
  plan::Planner planner;
  auto plan = planner.make(night.state(), night.now(), nullptr);
  CHECK(plan.courses.at({seven, "desserts"}).meet == friday(20, 23));
  REQUIRE(plan.wanted.size() == 1);
  const auto& wanted = plan.wanted.front();
  CHECK(wanted.table == "7");
  CHECK(wanted.booked == friday(20, 30));
  CHECK(wanted.leaves == friday(20, 23));
  // 45 s of walk, 20 min over the desserts, 5 min to lay the table again.
  CHECK(wanted.free_from == friday(20, 48, 45));
  CHECK(night.now() < friday(20, 30) - minutes(45));

  SECTION("it goes when the table has no desserts after all") {
    for (int position = 1; position <= 4; ++position)
      REQUIRE(night.ask(ChangePlate{seven, "desserts", {position, "", {}, ""}, true}, "Wren"));
    plan = planner.make(night.state(), night.now(), &plan);
    // The mains left at 19:41:20: eaten and laid again by 20:11.
    CHECK(plan.wanted.empty());
  }
  SECTION("it goes when the booking is moved, and comes again when it is moved back") {
    REQUIRE(night.ask(TakeBookings{{{"7", to_ms(friday(21, 0)), 4}}}, "Wren"));
    plan = planner.make(night.state(), night.now(), &plan);
    CHECK(plan.wanted.empty());
    REQUIRE(night.ask(TakeBookings{{{"7", to_ms(friday(20, 40)), 4}}}, "Wren"));
    plan = planner.make(night.state(), night.now(), &plan);
    CHECK(plan.wanted.size() == 1);
  }
  SECTION("it moves with the forecast: a table that wants to go slower is free later") {
    REQUIRE(night.ask(Pace{seven, 5}, "Wren"));
    plan = planner.make(night.state(), night.now(), &plan);
    REQUIRE(plan.wanted.size() == 1);
    CHECK(plan.wanted.front().free_from == friday(20, 53, 45));
  }
  SECTION("once the second sitting has ordered nobody is warned any more") {
    leave(night, seven, "desserts", friday(20, 25));
    night.send("7: 1e 2m / 1h 2h");
    plan = planner.make(night.state(), night.now(), &plan);
    CHECK(plan.wanted.empty());
  }
}

TEST_CASE("35: bookings that cannot be are refused in one sentence and change nothing") {
  Night night(friday(19, 0));
  REQUIRE(night.ask(TakeBookings{{{"7", to_ms(friday(20, 30)), 4}}}, "Wren"));
  const auto refused = [&](std::vector<TableBooking> sheet) {
    const Status status = night.ask(TakeBookings{std::move(sheet)}, "Wren");
    REQUIRE(!status);
    CHECK(night.state().bookings.size() == 1);
    return status.error().detail;
  };
  CHECK(refused({{"70", to_ms(friday(20, 30)), 4}}) == "there is no table \"70\"");
  CHECK(refused({{"7", to_ms(friday(20, 30)), 9}}) == "9 covers at table 7, which seats 4");
  CHECK(refused({{"7", to_ms(friday(20, 30)) + 172'800'000, 4}}) == "the booking of table 7 is for another day");
  CHECK(refused({{"7", to_ms(friday(21, 0)), 4}, {"7", to_ms(friday(21, 0)), 2}}) ==
        "table 7 is booked twice for the same time");
  CHECK(fingerprint(tests::replay(night.log())) == fingerprint(night.state()));
}
