// What the pass is alarmed about: a cause once, what follows from it beside it; ten at once are one sentence.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "common/wire/screens.hpp"
#include "tests/wire/scene.hpp"

using namespace nappe;
using namespace nappe::line;
using nlohmann::json;
using tests::at;
using tests::cook_until;
using tests::fire;
using tests::happen;

namespace {

json pass(const State& state, Instant now) {
  return wire::build_screens(state, tests::plain_plan(state, now), now).documents.at("pass");
}

AlertRaised raised(std::uint32_t id, AlertKind kind, const std::string& station, PanId pan,
                   const std::string& step = {}) {
  return {AlertId{id}, kind, station, pan, step, 0, {}, to_ms(at(0))};
}

constexpr PanId loin{1};
constexpr PanId turnips{2};

// Table 10's turnips stand finished and wait for its loin, which has rested too long.
State loin_keeps_turnips_waiting() {
  State state = tests::open_service();
  const TicketId ticket = tests::send(state, at(-1500), {"10", {}, {{"mains", {{1, "hogget", {}, ""}}}}, ""});
  fire(state, at(-1400), ticket, "mains", at(0));
  cook_until(state, loin, "rest", 0, at(-900));
  cook_until(state, turnips, "plate", 0, at(-172));
  happen(state, at(-160), {StepEnded{turnips, "plate", 0, to_ms(at(-160)), false}});
  happen(state, at(0),
         {raised(1, AlertKind::keep_low, "", turnips), raised(2, AlertKind::rest_over, "sauce", loin, "rest")});
  return state;
}

// So many waits that have run over, each of a table of its own.
State many_overruns(int count) {
  State state = tests::open_service();
  const char* tables[] = {"3", "6", "8", "10", "12"};
  for (int n = 0; n < count; ++n) {
    const TicketId ticket =
        tests::send(state, at(-1500), {tables[n % 5], {}, {{"starters", {{1, "emmer", {}, ""}}}}, ""});
    fire(state, at(-1400), ticket, "starters", at(-240));
    const PanId pan{static_cast<std::uint32_t>(n + 1)};
    cook_until(state, pan, "ladle", 2, at(-300));
    AlertRaised over = raised(static_cast<std::uint32_t>(n + 1), AlertKind::step_over, "garnish", pan, "ladle");
    over.round = 2;
    happen(state, at(0), {over, AlertEscalated{over.alert}});
  }
  return state;
}

}  // namespace

TEST_CASE("row 51-52: a cause is alarmed once, with the decision it leaves; what follows from it is shown beside it") {
  const json document = pass(loin_keeps_turnips_waiting(), at(1));
  REQUIRE(document["alerts"].size() == 1);
  const json& alert = document["alerts"]["a2"];
  CHECK(alert["says"] == "hogget loin A has rested more than 14:00, table 10");
  CHECK(alert["do"] == "sauce: carve now, or cook it again; or send without hogget loin");
  CHECK(alert["also"] == json{{"a1", "turnips A must leave by 20:23:15, table 10"}});
  CHECK(document["colour"] == "a2");
}

TEST_CASE("a cause that its station has answered leaves the pass its own decision, still once") {
  State state = loin_keeps_turnips_waiting();
  happen(state, at(1), {AlertAcknowledged{AlertId{2}, "Bashir"}});
  const json document = pass(state, at(2));
  REQUIRE(document["alerts"].size() == 1);
  const json& alert = document["alerts"]["a1"];
  CHECK(alert["do"] == "send without hogget loin (sauce), or cook turnips again");
  CHECK(alert["also"].contains("a2"));
  CHECK(document["colour"] == "a1");
}

TEST_CASE("without its cause a consequence is an alert of its own; a shelved cause hides nothing") {
  State ended = loin_keeps_turnips_waiting();
  happen(ended, at(1), {AlertCleared{AlertId{2}, "done"}});
  CHECK(pass(ended, at(2))["alerts"].size() == 1);
  CHECK_FALSE(pass(ended, at(2))["alerts"]["a1"].contains("also"));
  State shelved = loin_keeps_turnips_waiting();
  happen(shelved, at(1), {AlertShelved{AlertId{2}, to_ms(at(300)), "Bashir"}});
  CHECK(pass(shelved, at(2))["alerts"].contains("a1"));
}

TEST_CASE("row 53: ten at once are one sentence, nine are nine") {
  const json nine = pass(many_overruns(9), at(1));
  CHECK(nine["alerts"].size() == 9);
  const json ten = pass(many_overruns(10), at(1));
  REQUIRE(ten["alerts"].size() == 1);
  const json& one = ten["alerts"]["a1"];
  // Every course meets later than was promised for 20:19:40.
  CHECK_THAT(one["says"].get<std::string>(), Catch::Matchers::Matches("all tables \\+[0-9]+ from 20:19"));
  CHECK(one["do"] == "tell the floor; then garnish first");
  CHECK(one["also"].size() == 10);
  CHECK(ten["colour"] == "a1");
}

TEST_CASE("one answer answers the sentence; an allergy never disappears in it") {
  State state = many_overruns(12);
  happen(state, at(1), {AlertAcknowledged{AlertId{1}, "Mara"}});
  json document = pass(state, at(2));
  CHECK(document["alerts"].size() == 1);
  CHECK(document["alerts"]["a1"]["answered"] == true);
  CHECK_FALSE(document.contains("colour"));

  AlertRaised allergy = raised(40, AlertKind::allergy, "", PanId{});
  allergy.plate = {TicketId{1}, "starters", 1};
  happen(state, at(2), {allergy});
  document = pass(state, at(3));
  CHECK(document["alerts"].size() == 2);
  CHECK(document["alerts"].contains("a40"));
  CHECK(document["colour"] == "a40");
}
