// What the floor is told before it sends.
#include "server/draft.hpp"

#include <catch2/catch.hpp>

#include "common/line/line.hpp"
#include "common/line/ticket_line.hpp"
#include "common/wire/screens.hpp"
#include "tests/support/night.hpp"

using namespace nappe;
using namespace nappe::line;
using nappe::tests::friday;
using nappe::tests::Night;

namespace {

Result<nlohmann::json> draft(const Night& night, const std::string& line) {
  const auto order = read_ticket_line(line, *night.state().kitchen);
  REQUIRE(order);
  plan::Planner planner;
  const auto shown = planner.make(night.state(), night.now(), nullptr);
  return server::draft_document(night.state(), *order, night.now(), planner, &shown);
}

}  // namespace

TEST_CASE("23: the time is told before sending, and it changes when another table is sent and fired") {
  Night night(friday(19, 47));
  const std::string eight = "8: 1e 2e 3e 4e 5e 6e / 1h 2h 3p 4h 5p 6u";
  const auto before = draft(night, eight);
  REQUIRE(before);
  CHECK((*before)["plates"] == 12);
  CHECK((*before)["course"] == "starters");
  CHECK((*before)["word_ms"] >= (*before)["could_ms"]);
  const std::string was = fingerprint(night.state());
  for (const char* const other : {"5: 1e 2e 3e 4e", "11: 1e 2e 3e 4e", "12: 1e 2e 3e 4e", "10: 1e 2e 3e 4e"}) {
    const auto ticket = night.send(other);
    REQUIRE(night.ask(Fire{ticket, "starters", {}}));
  }
  const auto after = draft(night, eight);
  REQUIRE(after);
  CHECK((*after)["word_ms"] > (*before)["word_ms"]);
  CHECK(fingerprint(night.state()) != was);
  CHECK(night.state().tickets.size() == 4);
}

TEST_CASE("33: a ticket that fills a station says which, when and how much before it is sent") {
  Night night(friday(19, 47));
  const auto said = draft(night, "8: 1e 2e 3e 4e 5e 6e");
  REQUIRE(said);
  REQUIRE((*said)["load"].contains("garnish"));
  const auto& garnish = (*said)["load"]["garnish"];
  CHECK(garnish["after"] > garnish["before"]);
  CHECK(garnish["from_ms"].get<std::int64_t>() % 300000 == 0);
}

TEST_CASE("33: a ticket that lifts a station above 85 % is told the smallest delay at which it lifts none") {
  Night night(friday(19, 47));
  REQUIRE(night.ask(SetHands{"garnish", "tom", false}, "Mara"));
  const char* const eight = "8: 1e 2e 3k 4k 5k 6e";
  const auto is_full = [](const nlohmann::json& said) {
    return std::any_of(said["load"].begin(), said["load"].end(), [](const auto& load) { return load["full"] == true; });
  };
  // Tables are sent and fired until one more is too much for somebody.
  auto said = draft(night, eight);
  for (const char* const other : {"5: 1e 2k 3k 4k", "11: 1e 2k 3e 4e", "12: 1k 2k 3e 4e", "10: 1e 2e 3k 4k"}) {
    REQUIRE(said);
    if (is_full(*said)) break;
    CHECK(!said->contains("later_ms"));
    const auto ticket = night.send(other);
    REQUIRE(night.ask(Fire{ticket, "starters", {}}));
    said = draft(night, eight);
  }
  REQUIRE(said);
  REQUIRE(is_full(*said));
  REQUIRE(said->contains("later_ms"));
  const std::int64_t later = (*said)["later_ms"];
  CHECK(later > (*said)["could_ms"]);
  // Fired for that meet no station goes above the warning because of it; five minutes sooner one does.
  const auto most_raised = [&](std::int64_t meet) {
    Night sent = night;
    plan::Planner planner;
    const auto before = planner.make(sent.state(), sent.now(), nullptr);
    const auto ticket = sent.send(eight);
    REQUIRE(sent.ask(Fire{ticket, "starters", meet}));
    const auto after = planner.make(sent.state(), sent.now(), &before);
    double most = 0;
    for (const auto& [id, station] : after.stations)
      for (const auto& [slot, share] : station.load) {
        const auto& was = before.stations.at(id).load;
        const double old = was.count(slot) == 0 ? 0 : was.at(slot);
        if (share > old + 0.1) most = std::max(most, share);
      }
    return most;
  };
  CHECK(most_raised(later) <= 0.85);
  CHECK(most_raised((*said)["could_ms"]) > most_raised(later));
}

TEST_CASE("23: the draft, the pass, the floor and the promise when it is fired say the same of a table") {
  Night night(friday(19, 47));
  for (const char* const other : {"5: 1e 2e 3e 4e / 1h 2h", "11: 1e 2e 3m 4k / 1p 2p", "12: 1e 2k 3k 4e / 1u"}) {
    const auto ticket = night.send(other);
    REQUIRE(night.ask(Fire{ticket, "starters", {}}));
  }
  const char* const eight = "8: 1e 2e 3m 4k 5e 6e / 1h 2h 3p 4h 5p 6u / 4r";
  plan::Planner planner;
  const auto shown = planner.make(night.state(), night.now(), nullptr);
  const auto order = read_ticket_line(eight, *night.state().kitchen);
  REQUIRE(order);
  const auto said = server::draft_document(night.state(), *order, night.now(), planner, &shown);
  REQUIRE(said);
  const auto ticket = night.send(eight);
  const auto plan = planner.make(night.state(), night.now(), &shown);
  const auto screens = wire::build_screens(night.state(), plan, night.now());
  const std::string number = std::to_string(line::number(ticket));
  const auto& on_pass = screens.documents.at("pass")["tables"][number]["courses"];
  const auto& on_floor = screens.documents.at("floor")["tickets"][number]["courses"];
  CHECK(on_pass["starters"]["could_ms"] == (*said)["could_ms"]);
  // The floor speaks words: what it was told before sending stands there after it, and after firing.
  CHECK(on_floor["starters"]["word_ms"] == (*said)["word_ms"]);
  CHECK_FALSE(on_floor["starters"].contains("could_ms"));
  const auto promised = planner.meet_if_fired(night.state(), {ticket, "starters"}, night.now(), &plan);
  REQUIRE(promised);
  CHECK(to_ms(*promised) == (*said)["could_ms"]);
  // Alone it would be sooner: the competition is counted.
  CHECK(*promised > soonest_meet(night.state(), night.state().pans_of(CourseKey{ticket, "starters"}), night.now()));
  // Later courses come after the earlier ones have been eaten, on every screen.
  const Duration walk = seconds(15);
  const Instant mains = plan.courses.at({ticket, "mains"}).meet;
  CHECK(mains >= *promised + walk + minutes(15));
  CHECK(plan.courses.at({ticket, "desserts"}).meet >= mains + walk + minutes(24));
  CHECK(on_pass["mains"]["could_ms"] == to_ms(mains));
  CHECK(on_floor["mains"]["word_ms"] == to_ms(plan.courses.at({ticket, "mains"}).word));
  REQUIRE(night.ask(Fire{ticket, "starters", to_ms(*promised)}));
  const auto fired = planner.make(night.state(), night.now(), &plan);
  const auto now = wire::build_screens(night.state(), fired, night.now());
  CHECK(now.documents.at("floor")["tickets"][number]["courses"]["starters"]["word_ms"] == (*said)["word_ms"]);
}

TEST_CASE("34: a draft that the cap on covers keeps back says why in one clause; else it gives no reason") {
  const auto said = [](int cap) {
    kitchen::Kitchen kitchen = tests::larkfold();
    kitchen.settings.covers_cap = cap;
    Night night(friday(19, 47), kitchen);
    for (const char* const other : {"5: 1m 2m 3m 4m", "11: 1m 2m 3m 4m"})
      REQUIRE(night.ask(Fire{night.send(other), "starters", {}}));
    const auto drafted = draft(night, "8: 1k 2k 3k / 1h");
    REQUIRE(drafted);
    return *drafted;
  };
  const auto capped = said(10);
  CHECK(capped["why"] == "waits for room: 8 of at most 10 covers are in the kitchen");
  CHECK(capped["could_ms"] > said(0)["could_ms"]);
  CHECK_FALSE(said(11).contains("why"));
  CHECK_FALSE(said(0).contains("why"));
}

TEST_CASE("24: a draft is refused for what sending it would be refused for") {
  Night night(friday(19, 47));
  REQUIRE(night.ask(SetLeft{"pollack", 1}, "Mara"));
  const auto said = draft(night, "3: 1k 2k / 1p 2p");
  REQUIRE(!said);
  CHECK(said.error().detail == "only 1 pollack is left that nobody has been promised; table 3 asks for 2");
}
