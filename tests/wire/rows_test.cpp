// What the screens owe to those who stand at them, one promise a test; on the demo restaurant's evening.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "common/plan/plan.hpp"
#include "common/wire/screens.hpp"
#include "tests/support/night.hpp"

using namespace nappe;
using namespace nappe::line;
using nappe::tests::friday;
using nappe::tests::Night;
using nlohmann::json;

namespace {

struct Shown {
  plan::Plan plan;
  json pass, floor, garnish, fish;
};

Shown show(const Night& night, const plan::Plan* before = nullptr) {
  Shown out;
  out.plan = plan::make_plan(night.state(), night.now(), before);
  const auto screens = wire::build_screens(night.state(), out.plan, night.now()).documents;
  out.pass = screens.at("pass");
  out.floor = screens.at("floor");
  out.garnish = screens.at("station:garnish");
  out.fish = screens.at("station:fish");
  return out;
}

std::string id(TicketId ticket) { return std::to_string(number(ticket)); }

}  // namespace

TEST_CASE("39: one more adds a ladle, it's there makes the meet firm on every screen within the second") {
  Night night(friday(19, 30));
  const auto two = night.send("2: 1e 2m");
  REQUIRE(night.ask(Fire{two, "starters", {}}));
  const PanId emmer = night.pan(two, "emmer").id;
  REQUIRE(night.done(emmer, seconds(50)));  // toasted
  night.until(night.now() + seconds(30));
  Shown shown = show(night);
  const auto thread = [&]() -> const json& {
    return shown.pass["tables"][id(two)]["courses"]["starters"]["threads"]["p" + std::to_string(number(emmer))];
  };
  const auto round = [&] { return night.state().find_pan(emmer)->place.round; };
  CHECK(thread().value("cue_open", false));
  for (int ladle = 1; ladle <= 6; ++ladle) {
    const int before = round();
    REQUIRE(night.ask(OneMore{emmer}));
    CHECK(round() == before + 1);
    night.until(night.now() + seconds(74));
    shown = show(night, &shown.plan);
    CHECK(thread().value("cue_open", false));
  }
  REQUIRE(night.ask(ItsThere{emmer}));
  shown = show(night, &shown.plan);
  CHECK(!thread().contains("cue_open"));
  // Firm: what is left of the pan is tasting, its rest, mounting and bowls, and no ladle more.
  for (const plan::Slot& slot : shown.plan.pans.at(emmer).slots)
    CHECK(night.state().kitchen->find_component("emmer")->steps[static_cast<std::size_t>(slot.step)].group < 0);
  for (const auto& [key, move] : shown.garnish["list"].items()) CHECK(move["move"] != "ladle");
}

TEST_CASE("4: until its turn the pollack can be put off by its pause; once it is turned the pass is told it cannot") {
  Night night(friday(19, 30));
  const auto two = night.send("2: - / 1p");
  REQUIRE(night.ask(Fire{two, "mains", {}}));
  const PanId pollack = night.pan(two, "pollack").id;
  REQUIRE(night.done(pollack, seconds(33)));  // skin down
  night.until(night.now() + seconds(150));    // crisp: it is to be turned
  Shown shown = show(night);
  // The last meet at which nothing is thrown.
  const auto room = [&] {
    const json& mains = shown.pass["tables"][id(two)]["courses"]["mains"];
    CHECK(mains["latest_what"].get<std::string>().substr(0, 7) == "pollack");
    return from_ms(mains["latest_ms"].get<std::int64_t>());
  };
  // 90 s before the turn, 31 for it, 150 of rest, 15 to plate, and of the 75 that it keeps 15 are the walk.
  CHECK(room() == night.now() + seconds(90 + 31 + 150 + 15 + 60));
  night.until(night.now() + seconds(20));  // the pause is running
  shown = show(night, &shown.plan);
  CHECK(room() == night.now() + seconds(70 + 31 + 150 + 15 + 60));
  REQUIRE(night.done(pollack, seconds(31)));
  shown = show(night, &shown.plan);
  CHECK(room() == night.now() + seconds(150 + 15 + 60));
  // Left lying beyond its rest, it can be plated at once and keeps what it keeps.
  night.until(night.now() + seconds(200));
  shown = show(night, &shown.plan);
  CHECK(room() == night.now() + seconds(15 + 60));
}

TEST_CASE("44: gone proves all before it; what nobody pressed is called a guess and never learnt from") {
  Night night(friday(19, 30));
  const auto two = night.send("2: 1e 2m");
  REQUIRE(night.ask(Fire{two, "starters", {}}));
  const PanId emmer = night.pan(two, "emmer").id;
  // Only the tasting is pressed: toasting and ladles are proved by it.
  night.until(friday(19, 41));
  Shown shown = show(night);
  REQUIRE(night.ask(FinishStep{emmer, "taste", 0, true}));
  shown = show(night, &shown.plan);
  for (const Run& run : night.state().find_pan(emmer)->runs)
    if (run.step == 0) CHECK(run.end_inferred);
  // The list has gone on to what comes next.
  for (const auto& [key, move] : shown.garnish["list"].items()) {
    CHECK(move["step"] != "toast");
    CHECK(move["step"] != "ladle");
  }
  night.until(friday(19, 45));
  REQUIRE(night.ask(Gone{two, "starters", {}, true, {}}, "Mara"));
  CHECK(show(night, &shown.plan).garnish["list"].empty());
}

TEST_CASE("35: floor and pass say in one sentence which table is wanted when and when it can be free") {
  Night night(friday(19, 0));
  REQUIRE(night.ask(TakeBookings{{{"7", to_ms(friday(20, 30)), 4}}}, "Wren"));
  const auto seven = night.send("7: 1m 2m 3e 4k / 1h 2h 3p 4u / 1d 2d 3d 4r");
  for (const auto& [course, at] : {std::pair{"starters", friday(19, 10)}, std::pair{"mains", friday(19, 41, 20)}}) {
    REQUIRE(night.ask(Fire{seven, course, to_ms(at)}));
    night.until(at);
    REQUIRE(night.ask(Gone{seven, course, {}, true, {}}, "Mara"));
  }
  const Shown shown = show(night);
  REQUIRE(shown.floor["wanted"].size() == 1);
  const json& wanted = shown.floor["wanted"].begin().value();
  CHECK(shown.pass["wanted"] == shown.floor["wanted"]);
  CHECK(wanted["table"] == "7");
  CHECK(wanted["booked_ms"] == to_ms(friday(20, 30)));
  CHECK(wanted["free_ms"].get<std::int64_t>() > to_ms(friday(20, 48)));
  CHECK_THAT(wanted["says"].get<std::string>(),
             Catch::StartsWith("table 7 is booked for 20:30 and cannot be free before 20:") &&
                 Catch::Contains(": desserts word 20:"));
  // The sentence and the table's own line say the same of the desserts.
  const std::string ticket = std::to_string(line::number(seven));
  CHECK(wanted["leaves_ms"] == shown.floor["tickets"][ticket]["courses"]["desserts"]["word_ms"]);
  REQUIRE(night.ask(TakeBookings{}, "Wren"));
  CHECK(show(night).floor["wanted"].empty());
}
