#include "common/wire/screens.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "tests/wire/scene.hpp"

using namespace nappe;
using namespace nappe::line;
using nlohmann::json;
using tests::at;
using tests::cook_until;
using tests::fire;
using tests::happen;
using tests::open_service;

namespace {

json screen(const State& state, const std::string& name, Instant now) {
  const auto screens = wire::build_screens(state, tests::plain_plan(state, now), now);
  return screens.documents.at(name);
}
json garnish(const State& state, Instant now) { return screen(state, "station:garnish", now); }
json pass(const State& state, Instant now) { return screen(state, "pass", now); }

Order starters(const std::string& table, std::vector<Wanted> plates, std::vector<Guest> guests = {}) {
  return {table, std::move(guests), {{"starters", std::move(plates)}}, ""};
}
Order mains(const std::string& table, std::vector<Wanted> plates, std::vector<Guest> guests = {}) {
  return {table, std::move(guests), {{"mains", std::move(plates)}}, ""};
}

// One pan of emmer for table 6, fired; its pan is 1.
State emmer_for_6(std::vector<Guest> guests = {}, std::vector<Wanted> plates = {{2, "emmer", {}, ""}}) {
  State state = open_service();
  const TicketId ticket = tests::send(state, at(-600), starters("6", std::move(plates), std::move(guests)));
  fire(state, at(-600), ticket, "starters", at(900));
  return state;
}
constexpr PanId first_pan{1};

}  // namespace

TEST_CASE("screens: before the first opening there are only an empty pass and floor") {
  const State state;
  CHECK(wire::screen_names(state) == std::vector<std::string>{"pass", "floor"});
  const auto screens = wire::build_screens(state, {}, at(0));
  REQUIRE(screens.documents.size() == 2);
  const json& document = screens.documents.at("pass");
  CHECK(document["service"] == json{{"name", ""}, {"open", false}, {"utc_offset_minutes", 0}});
  CHECK(document["tables"].empty());
  CHECK_FALSE(screens.changes_at);
}

TEST_CASE("screens: one by name, and the names there are for one that is not there") {
  const State state = open_service();
  const plan::Plan plan = tests::plain_plan(state, at(0));
  CHECK(wire::screen_names(state) ==
        std::vector<std::string>{"pass", "floor", "station:sauce", "station:garnish", "station:larder"});
  for (const std::string& name : wire::screen_names(state)) {
    const auto text = wire::screen_document(state, plan, name, at(0));
    REQUIRE(text);
    CHECK(json::parse(*text) == wire::build_screens(state, plan, at(0)).documents.at(name));
  }
  for (const char* const wrong : {"station:grill", "garnish", "", "station:"}) {
    const auto text = wire::screen_document(state, plan, wrong, at(0));
    REQUIRE(!text);
    CHECK(text.error().code == Errc::unknown);
    CHECK(text.error().detail.find("station:garnish") != std::string::npos);
  }
}

TEST_CASE("station screen: the hand list holds fired courses' moves and not those only ordered or held") {
  State state = open_service();
  const TicketId ticket = tests::send(state, at(-600), starters("6", {{1, "emmer", {}, ""}}));
  CHECK(garnish(state, at(0))["list"].empty());
  fire(state, at(0), ticket, "starters", at(900));
  CHECK(garnish(state, at(0))["list"].contains("p1.toast.0"));
  happen(state, at(1), {CourseHeld{ticket, "starters"}});
  CHECK(garnish(state, at(1))["list"].empty());
  happen(state, at(2), {CourseReleased{ticket, "starters", to_ms(at(900))}});
  CHECK(garnish(state, at(2))["list"].contains("p1.toast.0"));
  // What has been begun stays on the list, held or not: it cannot be left.
  cook_until(state, first_pan, "toast", 0, at(3));
  happen(state, at(4), {CourseHeld{ticket, "starters"}});
  CHECK(garnish(state, at(4))["list"].contains("p1.toast.0"));
}

TEST_CASE("station screen: moves more than twenty minutes off come on the list when their time comes") {
  State state = open_service();
  const TicketId ticket = tests::send(state, at(-600), mains("6", {{1, "hogget", {}, ""}}));
  fire(state, at(0), ticket, "mains", at(1800));
  const plan::Plan plan = tests::plain_plan(state, at(0));
  const auto now = wire::build_screens(state, plan, at(0));
  const json& list = now.documents.at("station:garnish")["list"];
  CHECK(list.empty());  // turnips: latest starts 1800 - 234 and on
  REQUIRE(now.changes_at);
  const auto later = wire::build_screens(state, plan, at(1800 - 234 - 1200));
  CHECK(later.documents.at("station:garnish")["list"].size() == 1);
}

TEST_CASE("37: station screen: ready, coming, doing, and next is the smallest latest start of what may begin") {
  State state = emmer_for_6();
  json screen = garnish(state, at(0));
  CHECK(screen["list"]["p1.toast.0"]["state"] == "ready");
  CHECK(screen["list"]["p1.ladle.1"]["state"] == "coming");
  CHECK(screen["next"] == "p1.toast.0");
  CHECK(screen["heat"].empty());

  cook_until(state, first_pan, "toast", 0, at(0));
  screen = garnish(state, at(10));
  const json& doing = screen["list"]["p1.toast.0"];
  CHECK(doing["state"] == "doing");
  CHECK(doing["started_ms"] == to_ms(at(0)));
  CHECK(doing["usual_ms"] == to_ms(at(50)));
  CHECK_FALSE(doing.contains("over"));
  CHECK(screen["next"] == "p1.toast.0");
  CHECK(garnish(state, at(50))["list"]["p1.toast.0"]["over"] == "usual");
  // The 95 % point of a scatter of 0.30: 50 s * exp(1.645 * 0.30) = 81.9 s.
  CHECK(garnish(state, at(81))["list"]["p1.toast.0"]["over"] == "usual");
  CHECK(garnish(state, at(82))["list"]["p1.toast.0"]["over"] == "most");

  happen(state, at(50),
         {StepEnded{first_pan, "toast", 0, to_ms(at(50)), false},
          StepStarted{first_pan, "toasting", 0, to_ms(at(50)), false}});
  screen = garnish(state, at(60));
  CHECK(screen["heat"]["p1"]["kind"] == "wait");
  CHECK(screen["heat"]["p1"]["next_ms"] == to_ms(at(80)));
  CHECK(screen["heat"]["p1"]["then"] == "ladle");
  CHECK(screen["list"]["p1.ladle.1"]["state"] == "coming");
  CHECK_FALSE(screen.contains("next"));
  screen = garnish(state, at(80));
  CHECK(screen["list"]["p1.ladle.1"]["state"] == "ready");
  CHECK(screen["next"] == "p1.ladle.1");
}

TEST_CASE("station screen: of two moves that may begin the one with less give comes next") {
  State state = emmer_for_6();
  const TicketId other = tests::send(state, at(-500), mains("8", {{1, "hogget", {}, ""}}));
  fire(state, at(-500), other, "mains", at(990));
  // Turnips (234 s of work) for 990; emmer (720 s and more) for 900: the emmer's latest start is the earlier one.
  const json screen = garnish(state, at(0));
  CHECK(screen["list"]["p3.char.0"]["state"] == "ready");
  CHECK(screen["list"]["p1.toast.0"]["at_ms"] < screen["list"]["p3.char.0"]["at_ms"]);
  CHECK(screen["next"] == "p1.toast.0");
}

TEST_CASE("station screen: rounds are listed one by one, and it's there can be pressed once the fewest are in") {
  State state = emmer_for_6();
  cook_until(state, first_pan, "absorb", 4, at(-10));
  json list = garnish(state, at(0))["list"];
  for (const char* const key : {"p1.ladle.5", "p1.ladle.6", "p1.ladle.7", "p1.taste.0"}) CHECK(list.contains(key));
  CHECK_FALSE(list.contains("p1.ladle.8"));
  CHECK_FALSE(list.contains("p1.ladle.4"));
  CHECK(list["p1.ladle.5"]["rounds"] ==
        json{{"usual", 7}, {"min", 6}, {"max", 9}, {"word", "ladle"}, {"can_end", false}});
  CHECK(list["p1.ladle.5"]["cue"]["sound"] == "the hiss thins");

  cook_until(state, first_pan, "absorb", 6, at(140));
  list = garnish(state, at(150))["list"];
  CHECK(list["p1.ladle.7"]["rounds"]["can_end"] == true);
  CHECK_FALSE(list["p1.taste.0"].contains("rounds"));

  // The usual number is in and nobody has said that the cue came: the move behind the rounds asks.
  cook_until(state, first_pan, "absorb", 7, at(220));
  list = garnish(state, at(230))["list"];
  CHECK_FALSE(list.contains("p1.ladle.8"));
  CHECK(list["p1.taste.0"]["rounds"]["can_end"] == true);
  CHECK(list["p1.taste.0"]["cue"]["taste"] == "no chalk, still a bite");

  happen(
      state, at(270),
      {StepEnded{first_pan, "absorb", 7, to_ms(at(270)), false}, CueMet{first_pan, "ladle", 7, to_ms(at(270)), false}});
  list = garnish(state, at(271))["list"];
  CHECK_FALSE(list["p1.taste.0"].contains("rounds"));
  CHECK(list["p1.taste.0"]["state"] == "ready");
}

TEST_CASE("43: station screen: a rest is on the heat and in the move that ends it, ready from its minimum") {
  State state = emmer_for_6();
  cook_until(state, first_pan, "rest", 0, at(0));
  json screen = garnish(state, at(10));
  const json rest{{"from_ms", to_ms(at(0))}, {"min_ms", to_ms(at(90))}, {"max_ms", to_ms(at(180))}};
  CHECK(screen["list"]["p1.mount.0"]["rest"] == rest);
  CHECK(screen["list"]["p1.mount.0"]["state"] == "coming");
  CHECK(screen["heat"]["p1"]["kind"] == "rest");
  CHECK(screen["heat"]["p1"]["max_ms"] == to_ms(at(180)));
  CHECK_FALSE(screen["list"]["p1.bowl.0"].contains("rest"));
  CHECK(garnish(state, at(90))["list"]["p1.mount.0"]["state"] == "ready");
  CHECK(garnish(state, at(180))["heat"]["p1"]["over"] == "most");
}

TEST_CASE("station screen: the allergy stands first, in capitals, with what to do and for whom") {
  State state = emmer_for_6({{2, {"milk"}}});
  json list = garnish(state, at(0))["list"];
  CHECK(list["p1.toast.0"]["words"] == "CLEAN PAN, NO MILK, position 2: no curd, mount with leek oil");
  CHECK(list["p1.toast.0"]["allergy"] == true);
  CHECK(list["p1.mount.0"]["words"] == "NO MILK, position 2: no curd, mount with leek oil");
  CHECK(list["p1.bowl.0"]["words"] == "NO MILK, position 2: no curd, mount with leek oil");
  // Once the pan is on, a clean one is no longer to be had.
  cook_until(state, first_pan, "ladle", 1, at(0));
  list = garnish(state, at(1))["list"];
  CHECK(list["p1.ladle.1"]["words"] == "NO MILK, position 2: no curd, mount with leek oil");

  // An allergy that the component does not hold still wants a clean pan.
  state = emmer_for_6({{2, {"fish"}}});
  CHECK(garnish(state, at(0))["list"]["p1.toast.0"]["words"] == "CLEAN PAN, NO FISH, position 2");
  // One that cannot be left out says so.
  state = emmer_for_6({{2, {"gluten", "milk"}}});
  CHECK(garnish(state, at(0))["list"]["p1.toast.0"]["words"] ==
        "CLEAN PAN, NO GLUTEN, NO MILK, position 2: wheat cannot be left out, ask the pass; no curd, mount with leek "
        "oil");
  // No allergy, no words.
  state = emmer_for_6();
  const json plain = garnish(state, at(0));
  CHECK(plain["list"].size() == 11);
  for (const auto& item : plain["list"]) CHECK_FALSE(item.contains("words"));
}

TEST_CASE("station screen: positions are named at plating when a pan is for several guests") {
  const State state = emmer_for_6({{1, {"milk"}}, {2, {"milk"}}}, {{1, "emmer", {}, ""}, {2, "emmer", {}, ""}});
  const json list = garnish(state, at(0))["list"];
  CHECK(list["p1.toast.0"]["words"] == "CLEAN PAN, NO MILK: no curd, mount with leek oil");
  CHECK(list["p1.bowl.0"]["words"] == "NO MILK, positions 1, 2: no curd, mount with leek oil");
}

TEST_CASE("station screen: positions of two tables in one pan are named with their tables") {
  State state = open_service();
  const TicketId ten = tests::send(state, at(-600), starters("10", {{2, "emmer", {}, ""}}, {{2, {"milk"}}}));
  const TicketId three = tests::send(state, at(-600), starters("3", {{1, "emmer", {}, "no oil"}}, {{1, {"milk"}}}));
  fire(state, at(-500), ten, "starters", at(900));
  fire(state, at(-500), three, "starters", at(900));
  happen(state, at(-400),
         {PortionsMoved{PanId{2}, PanId{1}, {{three, "starters", 1}}}, PanDropped{PanId{2}, "cooked in one pan"}});
  const json item = garnish(state, at(0))["list"]["p1.bowl.0"];
  CHECK(item["tables"] == "3, 10");
  CHECK(item["n"] == 2);
  CHECK(item["words"] == "NO MILK, table 10 position 2, table 3 position 1: no curd, mount with leek oil");
  CHECK(item["change"] == "table 3 position 1: no oil");
  CHECK(pass(state, at(0))["tables"]["1"]["courses"]["starters"]["threads"]["p1"]["shared"] == "3, 10");
}

TEST_CASE("station screen: an allergy told after the pan was begun names its position in every move") {
  State state = emmer_for_6({}, {{1, "emmer", {}, ""}, {2, "emmer", {}, ""}});
  cook_until(state, first_pan, "ladle", 2, at(-10));
  happen(state, at(-5), {AllergyTold{TicketId{1}, 2, {"nuts"}}});
  const json list = garnish(state, at(0))["list"];
  CHECK(list["p1.ladle.3"]["words"] == "NO NUTS, position 2");
  CHECK(list["p1.bowl.0"]["words"] == "NO NUTS, position 2");
}

TEST_CASE("51: station screen: one coloured thing at most, the next move before any alert") {
  State state = emmer_for_6();
  const json calm = garnish(state, at(0));
  CHECK_FALSE(calm.contains("colour"));
  happen(state, at(0),
         {AlertRaised{AlertId{1}, AlertKind::place_warm, "garnish", {}, {}, 0, {}, to_ms(at(0)), "drawer"},
          AlertRaised{AlertId{2}, AlertKind::place_warm, "garnish", {}, {}, 0, {}, to_ms(at(-1)), "fridge"}});
  CHECK(garnish(state, at(1))["colour"] == "a2");  // the same rank: the older one
  CHECK(garnish(state, at(1))["alerts"].size() == 2);
  happen(state, at(2), {AlertAcknowledged{AlertId{2}, "ines"}});
  CHECK(garnish(state, at(2))["colour"] == "a1");
  happen(state, at(3), {AlertShelved{AlertId{1}, to_ms(at(60)), "ines"}});
  CHECK_FALSE(garnish(state, at(3)).contains("colour"));
  CHECK(garnish(state, at(3))["alerts"]["a1"]["shelved_until_ms"] == to_ms(at(60)));
  CHECK(garnish(state, at(60))["colour"] == "a1");

  // Less than ten seconds of give.
  const plan::Plan plan = tests::plain_plan(state, at(0));
  const Instant latest = plan.pans.at(first_pan).slots.front().latest;
  const auto colour = [&](Instant now) {
    const json document = wire::build_screens(state, plan, now).documents.at("station:garnish");
    return document.value("colour", "");
  };
  CHECK(colour(latest - seconds(10)) == "a1");
  CHECK(colour(latest - seconds(10) + Duration(1)) == "next");
}

TEST_CASE("station screen: a press can be taken back until the undo time is over") {
  State state = emmer_for_6();
  cook_until(state, first_pan, "toasting", 0, at(0));
  happen(state, at(0), {Pressed{"garnish", first_pan, "toast", 0, true}});
  CHECK(garnish(state, at(1))["undo"] == json{{"what", "toast emmer A"}, {"until_ms", to_ms(at(3))}});
  CHECK_FALSE(garnish(state, at(3)).contains("undo"));
}

TEST_CASE("44: station screen: what was only inferred is called a guess") {
  State state = emmer_for_6();
  happen(
      state, at(0),
      {StepStarted{first_pan, "toast", 0, to_ms(at(-50)), true}, StepEnded{first_pan, "toast", 0, to_ms(at(0)), true},
       StepStarted{first_pan, "toasting", 0, to_ms(at(0)), true}});
  const json list = garnish(state, at(1))["list"];
  CHECK(list["p1.ladle.1"]["guess"] == true);
  CHECK_FALSE(list["p1.ladle.2"].contains("guess"));
}

TEST_CASE("46: pass screen: plates stand with the walk taken off what they keep") {
  State state = open_service();
  const TicketId ticket = tests::send(state, at(-900), starters("10", {{1, "emmer", {}, ""}, {2, "mackerel", {}, ""}}));
  fire(state, at(-800), ticket, "starters", at(0));
  const PanId emmer{1};
  const PanId mackerel{2};
  cook_until(state, emmer, "bowl", 0, at(-22));
  cook_until(state, mackerel, "torch", 0, at(-20));
  happen(state, at(0), {StepEnded{emmer, "bowl", 0, to_ms(at(0)), false}});
  json document = pass(state, at(1));
  const json* course = &document["tables"]["1"]["courses"]["starters"];
  // The emmer keeps 90 s, the garden is 45 s away: 45 s at the pass.
  CHECK((*course)["plates"]["1"] == json{{"dish", "emmer"},
                                         {"name", "Ladled emmer"},
                                         {"state", "standing"},
                                         {"since_ms", to_ms(at(0))},
                                         {"until_ms", to_ms(at(45))}});
  CHECK((*course)["plates"]["2"]["state"] == "cooking");
  CHECK((*course)["plates"]["2"]["missing"] == "mackerel (larder)");
  CHECK(document["standing"]["1-starters"] == json{{"ticket", 1},
                                                   {"table", "10"},
                                                   {"course", "starters"},
                                                   {"up", 1},
                                                   {"of", 2},
                                                   {"hands", 1},
                                                   {"until_ms", to_ms(at(45))},
                                                   {"walk_ms", 45000},
                                                   {"missing", "mackerel (larder)"},
                                                   {"send_now", true}});
  CHECK((*course)["threads"]["p1"]["state"] == "ready");
  CHECK((*course)["threads"]["p1"]["until_ms"] == to_ms(at(90)));
  CHECK((*course)["pull"] == "p2");

  happen(state, at(10), {PlateGone{{ticket, "starters", 1}, to_ms(at(10))}});
  document = pass(state, at(11));
  CHECK(document["standing"].empty());
  CHECK(document["tables"]["1"]["courses"]["starters"]["plates"]["1"]["state"] == "gone");
}

TEST_CASE("pass screen: a portion plated on its own makes its plate stand while the pan goes on") {
  State state = emmer_for_6({}, {{1, "emmer", {}, ""}, {2, "emmer", {}, ""}});
  cook_until(state, first_pan, "bowl", 0, at(-20));
  happen(state, at(0), {PortionPlated{first_pan, {TicketId{1}, "starters", 1}, to_ms(at(0)), false}});
  const json document = pass(state, at(1));
  const json& plates = document["tables"]["1"]["courses"]["starters"]["plates"];
  CHECK(plates["1"]["state"] == "standing");
  CHECK(plates["1"]["until_ms"] == to_ms(at(75)));
  CHECK(plates["2"]["state"] == "cooking");
  CHECK(garnish(state, at(1))["list"]["p1.bowl.0"]["n"] == 1);
}

TEST_CASE("pass screen: a course that went leaves after three minutes, a ticket with its last course") {
  State state = open_service();
  Order order = starters("8", {{1, "mackerel", {}, ""}});
  order.courses.push_back({"mains", {{1, "hogget", {}, ""}}});
  const TicketId ticket = tests::send(state, at(-900), order);
  const auto go = [&](const std::string& course, Instant when) {
    happen(state, when,
           {PlateGone{{ticket, course, 1}, to_ms(when)}, CourseGone{ticket, course, to_ms(when), 0, -5000}});
  };
  fire(state, at(-800), ticket, "starters", at(0));
  go("starters", at(0));
  json courses = pass(state, at(179))["tables"]["1"]["courses"];
  CHECK(courses["starters"]["state"] == "gone");
  CHECK(courses["starters"]["gone_ms"] == to_ms(at(0)));
  CHECK(courses["starters"]["threads"].empty());
  CHECK(wire::build_screens(state, tests::plain_plan(state, at(0)), at(0)).changes_at == at(180));
  courses = pass(state, at(180))["tables"]["1"]["courses"];
  CHECK_FALSE(courses.contains("starters"));
  CHECK(courses["mains"]["state"] == "waiting");
  CHECK(courses["mains"].contains("could_ms"));
  CHECK_FALSE(courses["mains"]["plates"]["1"].contains("missing"));
  fire(state, at(200), ticket, "mains", at(1400));
  go("mains", at(1500));
  CHECK(pass(state, at(1679))["tables"].contains("1"));
  CHECK(pass(state, at(1680))["tables"].empty());
}

TEST_CASE("pass screen: a blocked plate says for what, and is counted as missing") {
  State state = emmer_for_6({}, {{1, "emmer", {}, ""}, {4, "emmer", {}, ""}});
  cook_until(state, first_pan, "bowl", 0, at(-44));
  happen(state, at(0),
         {StepEnded{first_pan, "bowl", 0, to_ms(at(0)), false}, AllergyTold{TicketId{1}, 4, {"gluten"}},
          PlateBlocked{{TicketId{1}, "starters", 4}, "emmer", "wheat"},
          AlertRaised{AlertId{1}, AlertKind::allergy, "", {}, "", 0, {TicketId{1}, "starters", 4}, to_ms(at(0))}});
  json document = pass(state, at(1));
  CHECK(document["tables"]["1"]["allergies"] == json{{"4", "GLUTEN"}});
  CHECK(document["tables"]["1"]["courses"]["starters"]["plates"]["4"] ==
        json{{"dish", "emmer"},
             {"name", "Ladled emmer"},
             {"state", "blocked"},
             {"words", "NO GLUTEN"},
             {"blocked", {{"emmer", "emmer holds wheat"}}}});
  CHECK(document["standing"]["1-starters"]["up"] == 1);
  CHECK(document["standing"]["1-starters"]["missing"] == "position 4 blocked");
  CHECK(document["alerts"]["a1"]["says"] == "table 6 position 4, NO GLUTEN: emmer holds wheat");
  CHECK(document["alerts"]["a1"]["rank"] == 0);
  CHECK(document["alerts"]["a1"]["table"] == "6");
  CHECK(document["colour"] == "a1");
  happen(state, at(2), {PlateCleared{{TicketId{1}, "starters", 4}, "mara"}});
  document = pass(state, at(3));
  CHECK(document["tables"]["1"]["courses"]["starters"]["plates"]["4"]["state"] == "standing");
  CHECK(document["tables"]["1"]["courses"]["starters"]["plates"]["4"]["words"] == "NO GLUTEN");
}

TEST_CASE("pass screen: a cancelled ticket is gone from it, and its portions from the hand list's words") {
  State state = emmer_for_6({}, {{1, "emmer", {}, ""}});
  happen(state, at(0),
         {PortionFreed{first_pan, {TicketId{1}, "starters", 1}, "cancelled"}, PanDropped{first_pan, "cancelled"},
          TicketCancelled{TicketId{1}, "did not come"}});
  CHECK(pass(state, at(1))["tables"].empty());
  CHECK(garnish(state, at(1))["list"].empty());
}

TEST_CASE("alerts: each kind says what is wrong and which hand or decision mends it") {
  State state = open_service();
  const TicketId ticket = tests::send(state, at(-1500), mains("10", {{1, "hogget", {}, ""}}));
  fire(state, at(-1400), ticket, "mains", at(0));
  const TicketId other = tests::send(state, at(-1500), starters("6", {{2, "emmer", {}, ""}}));
  fire(state, at(-1400), other, "starters", at(0));
  const PanId loin{1};
  const PanId turnips{2};
  const PanId emmer{3};
  const auto words = [&](const AlertRaised& raised) {
    State with = state;
    happen(with, at(0), {raised});
    const json alerts = screen(with, raised.station.empty() ? "pass" : "station:" + raised.station, at(0))["alerts"];
    REQUIRE(alerts.size() == 1);
    return alerts.begin()->at("says").get<std::string>() + " | " + alerts.begin()->at("do").get<std::string>();
  };
  const auto raised = [&](AlertKind kind, const std::string& station, PanId pan, const std::string& step,
                          int round = 0) {
    return AlertRaised{AlertId{1}, kind, station, pan, step, round, {}, to_ms(at(0))};
  };
  cook_until(state, loin, "oven", 0, at(-500));
  CHECK(words(raised(AlertKind::step_over, "sauce", loin, "oven")) ==
        "hogget loin A: in the oven for more than 6:33, table 10 | probe now");
  cook_until(state, emmer, "ladle", 5, at(-60));
  CHECK(words(raised(AlertKind::step_over, "garnish", emmer, "ladle", 5)) ==
        "emmer B: ladle 5 not done after 0:39, table 6 | finish it, or press it if it is done");
  cook_until(state, emmer, "rest", 0, at(-200));
  CHECK(words(raised(AlertKind::rest_over, "garnish", emmer, "rest")) ==
        "emmer B has rested more than 3:00, table 6 | set: loosen with stock, 20 s; then mount");
  cook_until(state, loin, "rest", 0, at(-900));
  CHECK(words(raised(AlertKind::rest_over, "sauce", loin, "rest")) ==
        "hogget loin A has rested more than 14:00, table 10 | carve now, or cook it again");

  cook_until(state, turnips, "plate", 0, at(-172));
  happen(state, at(-160), {StepEnded{turnips, "plate", 0, to_ms(at(-160)), false}});
  // Kept until 20:24:00, and the garden room is 45 s away.
  CHECK(words(raised(AlertKind::keep_low, "", turnips, "")) ==
        "turnips A must leave by 20:23:15, table 10 | send without hogget loin (sauce), or cook turnips again");
  CHECK(words(raised(AlertKind::window_shut, "", turnips, "")) ==
        "turnips A is past its keep since 20:24:00, table 10 | cook it again (3:54), or send it on your word");
  cook_until(state, loin, "carve", 0, at(-30));
  happen(state, at(0), {StepEnded{loin, "carve", 0, to_ms(at(0)), false}});
  CHECK(words(raised(AlertKind::keep_low, "", turnips, "")) ==
        "turnips A must leave by 20:23:15, table 10 | send table 10 now");
  AlertRaised off = raised(AlertKind::sold_out, "", {}, "");
  off.plate = {ticket, "mains", 1};
  CHECK(words(off) == "Hogget loin is off, table 10 position 1 wants it | ask table 10 to choose again");

  // At the pass the station that is to act is named.
  State escalated = state;
  happen(escalated, at(0), {raised(AlertKind::rest_over, "garnish", emmer, "rest"), AlertEscalated{AlertId{1}}});
  CHECK(pass(escalated, at(0))["alerts"]["a1"]["do"] == "garnish: set: loosen with stock, 20 s; then mount");
  CHECK(pass(escalated, at(0))["alerts"]["a1"]["station"] == "garnish");
  // Until then it is the station's own affair.
  State own = state;
  happen(own, at(0), {raised(AlertKind::rest_over, "garnish", emmer, "rest")});
  CHECK(pass(own, at(0))["alerts"].empty());
}

TEST_CASE(
    "alerts: a pan taken to have gone on is not complained about; till then the hand that ends the step is named") {
  State state = open_service();
  const TicketId ticket = tests::send(state, at(-900), mains("10", {{1, "hogget", {}, ""}}));
  fire(state, at(-800), ticket, "mains", at(600));
  const PanId loin{1};
  cook_until(state, loin, "colour", 0, at(-260));
  happen(state, at(0),
         {AlertRaised{AlertId{1}, AlertKind::step_over, "sauce", loin, "colour", 0, {}, to_ms(at(0))},
          AlertEscalated{AlertId{1}}});
  const auto to_do = [](const json& document) { return document["alerts"]["a1"]["do"].get<std::string>(); };
  CHECK(to_do(screen(state, "station:sauce", at(0))) == "baste now");
  // Also with a plan that is ahead of what is known: from the probe on.
  plan::Plan ahead = tests::plain_plan(state, at(0));
  auto& slots = ahead.pans.at(loin).slots;
  while (!slots.empty() &&
         state.component_of(state.pans.at(loin)).steps[static_cast<std::size_t>(slots[0].step)].id != "oven")
    slots.erase(slots.begin());
  CHECK(to_do(wire::build_screens(state, ahead, at(0)).documents.at("station:sauce")) == "baste now");
  CHECK(to_do(pass(state, at(0))) == "sauce: baste now");

  State guessed = state;
  happen(guessed, at(0),
         {StepEnded{loin, "colour", 0, to_ms(at(-140)), true}, StepStarted{loin, "baste", 0, to_ms(at(-140)), true},
          StepEnded{loin, "baste", 0, to_ms(at(-105)), true}, StepStarted{loin, "oven", 0, to_ms(at(-105)), true}});
  CHECK(screen(guessed, "station:sauce", at(0))["alerts"].empty());
  CHECK(pass(guessed, at(0))["alerts"].empty());
}

TEST_CASE("station screen: nobody waits for a pan while neither it nor what would wait has been begun") {
  State state = open_service();
  const TicketId ticket = tests::send(state, at(-60), mains("10", {{1, "hogget", {}, ""}}));
  fire(state, at(-50), ticket, "mains", at(1100));
  const PanId loin{1};
  // The turnips' first hand comes in less than five minutes and waits for nobody: the loin has not been begun.
  const Instant soon = at(1100 - 234 - 120);
  plan::Plan plan = tests::plain_plan(state, at(0));
  const auto waits = [&](const State& of) {
    return wire::build_screens(of, plan, soon).documents.at("station:sauce")["waits"];
  };
  CHECK(waits(state).empty());
  cook_until(state, loin, "oven", 0, at(0));
  plan.pans = tests::plain_plan(state, at(0)).pans;
  plan.courses.at({ticket, "mains"}).pull = loin;
  CHECK(waits(state)["garnish"] == "garnish waits for hogget loin A");
}

TEST_CASE("15: where there is work and nobody stands, pass and station say so, and no number") {
  State state = emmer_for_6();
  plan::Plan plan = tests::plain_plan(state, at(0));
  auto& behind = plan.stations.at("garnish");
  behind.behind = seconds(3545);
  behind.behind_from = at(100);
  behind.hurts_table = "6";
  behind.load[to_ms(at(20))] = 7.5;
  const auto documents = [&] { return wire::build_screens(state, plan, at(0)).documents; };
  CHECK(documents().at("pass")["short"]["garnish"]["behind_ms"] == 3545000);
  happen(state, at(0), {HandsSet{"garnish", "ines", false}, HandsSet{"garnish", "tom", false}});
  CHECK(documents().at("pass")["short"] == json{{"garnish", {{"name", "garnish"}, {"nobody", true}}}});
  CHECK(documents().at("pass")["load"].empty());
  CHECK(documents().at("station:garnish")["behind"] == json{{"ms", 0}, {"nobody", true}});
  plan.stations.at("garnish").nobody = true;
  CHECK(documents().at("pass")["short"]["garnish"]["table"] == "6");
  // The larder has people and the sauce nothing to do.
  happen(state, at(0), {HandsSet{"sauce", "bashir", false}});
  CHECK_FALSE(documents().at("pass")["short"].contains("sauce"));
  CHECK(documents().at("station:sauce")["behind"] == json{{"ms", 0}});
}
