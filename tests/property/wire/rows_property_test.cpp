// What must be true of any state of any evening, row by row of what the screens owe their readers.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "common/plan/plan.hpp"
#include "common/wire/screens.hpp"
#include "tests/property/wire/random_evening.hpp"

using namespace nappe;
using nlohmann::json;

namespace {

// Every few steps of some evenings: the state, and its documents.
template <class Look>
void over_evenings(std::uint64_t first, const Look& look) {
  for (std::uint64_t seed = first; seed < first + 4; ++seed) {
    tests::RandomEvening evening(seed);
    for (int i = 0; i < 250; ++i) {
      evening.step();
      if (i % 5 != 0) continue;
      const plan::Plan plan = plan::make_plan(evening.state(), evening.now(), nullptr);
      const auto screens = wire::build_screens(evening.state(), plan, evening.now());
      CAPTURE(seed, i);
      look(evening.state(), screens.documents);
    }
  }
}

const json& station_of(const std::map<std::string, json>& screens, const std::string& id) {
  return screens.at("station:" + id);
}

}  // namespace

TEST_CASE("43: every begun wait is on its station's heat, with the instant a hand is next wanted") {
  int seen = 0;
  over_evenings(700, [&](const line::State& state, const std::map<std::string, json>& screens) {
    for (const auto& [id, pan] : state.pans) {
      const line::Run* run = pan.running();
      if (run == nullptr || pan.finished) continue;
      const auto& step = state.component_of(pan).steps[static_cast<std::size_t>(run->step)];
      if (step.by_hand()) continue;
      const std::string key = "p" + std::to_string(line::number(id));
      CAPTURE(key);
      const json& heat = station_of(screens, pan.station)["heat"];
      REQUIRE(heat.contains(key));
      REQUIRE(heat[key]["next_ms"].get<std::int64_t>() >= to_ms(run->started));
      ++seen;
    }
  });
  CHECK(seen > 50);
}

TEST_CASE("45: of a fired course that cooks one thread is the pull, and its station is named") {
  int seen = 0;
  over_evenings(720, [&](const line::State&, const std::map<std::string, json>& screens) {
    for (const json& table : screens.at("pass")["tables"]) {
      for (const json& course : table["courses"]) {
        if (!course.contains("pull")) continue;
        const std::string pull = course["pull"];
        CAPTURE(course.dump());
        REQUIRE(course["threads"].contains(pull));
        const json& thread = course["threads"][pull];
        REQUIRE(thread["station"].get<std::string>() != "");
        ++seen;
      }
    }
  });
  CHECK(seen > 50);
}

TEST_CASE("48: of every course that has gone the time between first and last plate is stored and shown") {
  int seen = 0;
  over_evenings(740, [&](const line::State& state, const std::map<std::string, json>& screens) {
    for (const auto& [id, ticket] : state.tickets) {
      if (ticket.cancelled) continue;
      for (const line::Course& course : ticket.courses) {
        if (course.state != line::CourseState::gone || course.plates.empty()) continue;
        const auto& tables = screens.at("pass")["tables"];
        const auto table = tables.find(std::to_string(line::number(id)));
        if (table == tables.end()) continue;  // it has left long ago
        const auto shown = (*table)["courses"].find(course.course);
        if (shown == (*table)["courses"].end()) continue;
        CAPTURE(shown->dump());
        REQUIRE(shown->value("spread_ms", -1) == course.spread.count());
        REQUIRE(course.spread >= Duration::zero());
        ++seen;
      }
    }
  });
  CHECK(seen > 3);
}

TEST_CASE("52: every alert names what to do about it, and none outlives what it is about") {
  int seen = 0;
  over_evenings(760, [&](const line::State& state, const std::map<std::string, json>& screens) {
    for (const auto& [id, alert] : state.alerts) {
      // Once the plates have gone, or the pan was dropped, nothing can be done any more.
      if (alert.pan != line::PanId{}) REQUIRE(state.find_pan(alert.pan) != nullptr);
      if (alert.pan != line::PanId{}) REQUIRE(state.pans.count(alert.pan) == 1);
    }
    for (const auto& [name, document] : screens) {
      if (!document.contains("alerts")) continue;
      for (const json& alert : document["alerts"]) {
        CAPTURE(name, alert.dump());
        REQUIRE(alert["do"].get<std::string>().size() > 3);
        REQUIRE(alert["says"].get<std::string>().size() > 3);
        REQUIRE(alert["do"] != alert["says"]);
        ++seen;
      }
    }
  });
  CHECK(seen > 50);
}
