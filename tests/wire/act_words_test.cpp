// What an act is read back as.
#include "common/wire/act_words.hpp"

#include <catch2/catch.hpp>

#include "common/line/line.hpp"
#include "tests/support/night.hpp"

using namespace nappe;
using namespace nappe::line;
using nappe::tests::friday;
using nappe::tests::Night;

namespace {

std::string said(Night& night, Action action) {
  const std::size_t before = night.log().size();
  const Command command{"x", "Wren", night.now(), action};
  REQUIRE(night.ask(std::move(action), "Wren"));
  const auto from = night.log().begin() + static_cast<std::ptrdiff_t>(before);
  return wire::say_act(command, {from, night.log().end()}, night.state());
}

}  // namespace

TEST_CASE("an act at the table is read back: what moved, to when, and every allergy with its person") {
  Night night(friday(20, 0));
  const auto five = night.send("5: 1e 2k!milk / 1h 2h");
  REQUIRE(night.ask(Fire{five, "starters", to_ms(friday(20, 20))}));
  CHECK(said(night, Speech{five, 30}) == "table 5: speech until about 20:30:00; starters meet 20:30:00");
  CHECK(said(night, Pace{five, 5}) == "table 5 goes slower; starters meet 20:35:00");
  CHECK(said(night, MovePositions{five, {}, {{2, 4}}}) == "position 2 sits at 4 now, NO MILK");
  CHECK(said(night, SplitTable{five, {4}, "3"}) ==
        "ticket 2 of table 3 has a meet of its own now: position 4 of table 5 sits at position 1 of table 3 now, NO "
        "MILK");
  CHECK(said(night, TableUp{five}) == "table 5 is up: nothing of theirs that is not begun is begun");
  CHECK(said(night, GuessClear{five, "mains", to_ms(friday(20, 50))}) == "table 5 is clear at about 20:50:00");
  CHECK(said(night, Hold{TicketId{2}, "starters"}).empty());
}

TEST_CASE("a loan is read back with who lends and what is new") {
  Night night(friday(20, 0));
  const auto five = night.send("5: 1k / 1h");
  const auto eleven = night.send("11: 1k / 1h");
  REQUIRE(night.ask(Fire{five, "mains", {}, true}));
  REQUIRE(night.ask(Fire{eleven, "mains", to_ms(friday(20, 30)), true}));
  REQUIRE(night.done(night.pan(eleven, "loin").id, seconds(90)));
  CHECK(said(night, Borrow{five, "mains", 1, {"loin"}, "dropped", {}})
            .find("table 5 position 1 has the loin of table 11; new on the list: loin for table 11; mains meet ") == 0);
}
