// What the floor is told before it sends.
#include "server/draft.hpp"

#include <catch2/catch.hpp>

#include "common/line/line.hpp"
#include "common/line/ticket_line.hpp"
#include "tests/support/night.hpp"

using namespace nappe;
using namespace nappe::line;
using nappe::tests::friday;
using nappe::tests::Night;

namespace {

Result<nlohmann::json> draft(const Night& night, const std::string& line) {
  const auto order = read_ticket_line(line, *night.state().kitchen);
  REQUIRE(order);
  return server::draft_document(night.state(), *order, night.now(),
                                [](const State& state, Instant now) { return plan::make_plan(state, now, nullptr); });
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

TEST_CASE("24: a draft is refused for what sending it would be refused for") {
  Night night(friday(19, 47));
  REQUIRE(night.ask(SetLeft{"pollack", 1}, "Mara"));
  const auto said = draft(night, "3: 1k 2k / 1p 2p");
  REQUIRE(!said);
  CHECK(said.error().detail == "only 1 pollack is left that nobody has been promised; table 3 asks for 2");
}
