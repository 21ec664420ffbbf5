// Tickets as the floor types them.

#include "common/line/ticket_line.hpp"

#include <catch2/catch.hpp>

#include "tests/support/larkfold.hpp"

using namespace nappe;
using namespace nappe::line;

namespace {

const kitchen::Kitchen& house() {
  static const kitchen::Kitchen loaded = tests::larkfold();
  return loaded;
}

const Wanted& plate(const Order& order, std::size_t course, std::size_t index) {
  return order.courses.at(course).plates.at(index);
}

}  // namespace

TEST_CASE("a table of six with an allergy is read in one line") {
  const std::string text = "8: 1e 2m 3m 4k!gluten 5e 6k / 1h 2h 3p 4h 5p 6u";
  CHECK(text.size() < 60);  // keystrokes
  const auto order = read_ticket_line(text, house());
  REQUIRE(order);
  CHECK(order->table == "8");
  REQUIRE(order->guests.size() == 1);
  CHECK(order->guests[0] == Guest{4, {"gluten"}});
  REQUIRE(order->courses.size() == 2);
  CHECK(order->courses[0].course == "starters");
  CHECK(order->courses[0].plates.size() == 6);
  CHECK(plate(*order, 0, 3) == Wanted{4, "leek", {}, ""});
  CHECK(order->courses[1].course == "mains");
  CHECK(plate(*order, 1, 5) == Wanted{6, "mushroom", {}, ""});
  CHECK(write_ticket_line(*order, house()) == text);
}

TEST_CASE("changes, parts left off, several allergies, empty courses and notes") {
  const auto order = read_ticket_line(
      "5:1m!nuts!Fish 2E / - / 3r-crumb-caramel!milk 1r\"no \\\"sauce\\\"\" \"a birthday, no candle\"", house());
  // Position 1 is allergic to fish and has ordered mackerel.
  REQUIRE_FALSE(order);
  const auto fine = read_ticket_line(
      "5:1e!nuts!Fish2E / - / 3r-crumb-caramel!dairy 1r\"no \\\"sauce\\\"\" \"a birthday, no candle\"", house());
  if (!fine) FAIL(fine.error().detail);
  CHECK(fine->guests == std::vector<Guest>{{1, {"nuts", "fish"}}, {3, {"milk"}}});
  CHECK(fine->courses.size() == 2);
  CHECK(fine->courses[1].course == "desserts");
  CHECK(plate(*fine, 1, 0) == Wanted{3, "pear", {"crumb", "caramel"}, ""});
  CHECK(plate(*fine, 1, 1) == Wanted{1, "pear", {}, "no \"sauce\""});
  CHECK(fine->note == "a birthday, no candle");
  CHECK(write_ticket_line(*fine, house()) ==
        "5: 1e!nuts!fish 2e / - / 3r-crumb-caramel!milk 1r\"no \\\"sauce\\\"\" \"a birthday, no candle\"");
  const auto guest = read_ticket_line("5: 1e 2!brazil_nuts / 2h", house());
  REQUIRE(guest);
  CHECK(guest->guests == std::vector<Guest>{{2, {"brazil nut"}}});
  CHECK(write_ticket_line(*guest, house()) == "5: 1e / 2h!brazil_nut");
}

TEST_CASE("a part an allergic guest must not have is left off by itself and said") {
  const auto order = read_ticket_line("8: 4k!gluten / - / 4r", house());
  REQUIRE(order);
  CHECK(plate(*order, 1, 0) == Wanted{4, "pear", {"crumb"}, ""});
  CHECK(allergy_notes(*order, house()) == std::vector<std::string>{"position 4, gluten: pear without crumb"});
  const auto made = read_ticket_line("6: 1k 2e!milk / 1u 2h", house());
  REQUIRE(made);
  CHECK(plate(*made, 0, 1).left_off.empty());
  CHECK(allergy_notes(*made, house()) ==
        std::vector<std::string>{"position 2, milk: emmer (no curd, mount with leek oil)",
                                 "position 2, milk: hogget (baste with its own fat, clean pan; from the no-butter "
                                 "tub, clean pot; glaze with rape-seed oil, clean pan)"});
}

TEST_CASE("what cannot be read or had is refused with the column and what to do") {
  struct Row {
    const char* text;
    int column;
    const char* words;
  };
  const std::vector<Row> rows{
      {"", 1, "begin with the table and a colon, as in 8: 1e 2m"},
      {"8 1e", 3, "a colon must follow the table: 8: 1e 2m"},
      {"99: 1e", 1, "there is no table \"99\"; tables are 1, 2, 3"},
      {"8:", 3, "nothing is ordered for table 8; name at least one plate"},
      {"8: - / -", 4, "nothing is ordered for table 8"},
      {"8: 1h", 5, "no starter has the letter h; starters are e emmer, m mackerel, k leek"},
      {"8: 1e 2m / 2x", 13, "no main has the letter x; mains are h hogget, p pollack, u mushroom"},
      {"8: 1emmer", 5, "no starter has the letter emmer"},
      {"8: 1", 5, "position 1 needs a letter; starters are e emmer"},
      {"8: e1", 4, "a plate begins with the position, as in 1e"},
      {"8: 0e", 4, "table 8 has no position 0; it seats 6, from 1"},
      {"8: 7e", 4, "table 8 has no position 7"},
      {"8: 12345e", 4, "12345 is no position"},
      {"8: 1e 1m", 7, "position 1 has a starter already"},
      {"8: 1e / 1h / 1d / 1d", 19, "there is no course 4; courses are starters, mains, desserts"},
      {"8: 1e!gluton", 6, "gluton is none of the fourteen allergen groups nor a kind within one; did you mean gluten?"},
      {"8: 1e!garlic", 6, "say it in quotes as a change instead"},
      {"8: 1e!", 7, "name the allergy behind the !"},
      {"8: 1k-roe", 6, "roe cannot be left off the leek; what can be left off is emulsion"},
      {"8: 1k-leek", 6, "leek cannot be left off the leek"},
      {"8: 1e-curd", 6, "curd cannot be left off the emmer; it goes whole or not at all"},
      {"8: 1k-", 7, "name the part to leave off behind the -"},
      {"8: 1e\"no salt", 6, "the quotes are not closed"},
      {"8: 1e\"\"", 6, "no words between the quotes"},
      {"8: 1e\"a\"\"b\"", 9, "position 1 has a change already"},
      {"8: 1!milk-crumb", 10, "position 1 has no dish to change here"},
      {"8: 1e?", 6, "behind a plate stand !allergy, -part or \"words\""},
      {"8: 1e \"note\" 2m", 14, "words in quotes standing alone are the note and end the line"},
      {"8: - 1e", 6, "a course that begins with - is empty"},
      {"8: 1e\n2m", 6, "a character here is no text"},
      {"8: 1e\"\xC3\x28\"", 7, "a character here is no text"},
      {"8: 1e\"fa\xC3\xA7on\" 2x", 15, "no starter has the letter x"},  // columns count characters
      {"8: 4e!gluten", 4, "position 4, gluten: not emmer, the emmer holds wheat; of the starters they can have k leek"},
      {"8: - / - / 1d!egg!celery", 12,
       "position 1, egg, celery: not pudding, the pudding holds egg; of the desserts they can have r pear"},
      {"8: 2m / 1p!fish", 9,
       "position 1, fish: not pollack, the pollack holds fish; of the mains they can have h hogget, u mushroom"},
      {"8: 1k / 1h / 1r!sulphites", 9,
       "not hogget, the damson holds sulphites; of the mains they can have p pollack without perry"},
  };
  for (const Row& row : rows) {
    INFO(row.text);
    const auto order = read_ticket_line(row.text, house());
    REQUIRE_FALSE(order);
    CHECK(order.error().where == "1:" + std::to_string(row.column));
    CHECK_THAT(order.error().detail,
               Catch::StartsWith("column " + std::to_string(row.column) + ": ") && Catch::Contains(row.words));
  }
}

namespace {

struct Altered {
  const char* name;
  void (*change)(Order&);
  const char* where;
  const char* words;
};
const std::vector<Altered> altered{
    {"table", [](Order& o) { o.table = "55"; }, "/table", "there is no table \"55\""},
    {"course", [](Order& o) { o.courses[1].course = "main"; }, "/courses/1", "did you mean \"mains\"?"},
    {"course twice", [](Order& o) { o.courses[1] = o.courses[0]; }, "/courses/1", "is there twice"},
    {"dish", [](Order& o) { o.courses[0].plates[1].dish = "leeks"; }, "/courses/0/plates/1", "did you mean \"leek\"?"},
    {"dish of another course", [](Order& o) { o.courses[0].plates[0].dish = "pear"; }, "/courses/0/plates/0",
     "the pear is not one of the starters but of the desserts"},
    {"position", [](Order& o) { o.courses[2].plates[0].position = 5; }, "/courses/2/plates/0", "has no position 5"},
    {"position twice", [](Order& o) { o.courses[0].plates[1].position = 1; }, "/courses/0/plates/1",
     "position 1 has two plates in starters"},
    {"part", [](Order& o) { o.courses[2].plates[1].left_off = {"pear"}; }, "/courses/2/plates/1",
     "the pear cannot go without pear; what can be left off is crumb, caramel"},
    {"no part", [](Order& o) { o.courses[2].plates[1].left_off = {"curd"}; }, "/courses/2/plates/1",
     "the pear has no part \"curd\""},
    {"part twice",
     [](Order& o) {
       o.courses[2].plates[1].left_off = {"crumb", "crumb"};
     },
     "/courses/2/plates/1", "left off twice"},
    {"change", [](Order& o) { o.courses[0].plates[0].change = "no\nsalt"; }, "/courses/0/plates/0", "no text"},
    {"long change", [](Order& o) { o.courses[0].plates[0].change = std::string(201, 'a'); }, "/courses/0/plates/0",
     "longer than 200 bytes"},
    {"note", [](Order& o) { o.note = "\xFF"; }, "/note", "no text"},
    {"guest",
     [](Order& o) {
       o.guests = {{9, {"milk"}}};
     },
     "/guests/0", "has no position 9"},
    {"guest twice",
     [](Order& o) {
       o.guests = {{1, {}}, {1, {}}};
     },
     "/guests/1", "described twice"},
    {"allergy",
     [](Order& o) {
       o.guests = {{1, {"milc"}}};
     },
     "/guests/0", "did you mean milk?"},
    {"nothing", [](Order& o) { o.courses.clear(); }, "/courses", "nothing is ordered"},
    {"must be left off",
     [](Order& o) {
       o.guests = {{2, {"barley"}}};
     },
     "/courses/2/plates/1", "position 2, barley: the pear only without crumb; leave it off: 2r-crumb"},
    {"cannot",
     [](Order& o) {
       o.guests = {{1, {"rye"}}};
     },
     "/courses/2/plates/0", "they can have r pear"},
};

}  // namespace

TEST_CASE("an order from elsewhere is held to the same") {
  const auto base = [] { return *read_ticket_line("5: 1e 2k / 1h 2h / 1d 2r", house()); };
  CHECK(check_order(base(), house()));
  for (const Altered& row : altered) {
    INFO(row.name);
    Order order = base();
    row.change(order);
    const Status status = check_order(order, house());
    REQUIRE_FALSE(status);
    CHECK(status.error().where == row.where);
    CHECK_THAT(status.error().detail, Catch::Contains(row.words));
  }
  Order left = base();
  left.guests = {{2, {"barley"}}};
  const Order off = leave_off_for_allergies(left, house());
  CHECK(off.courses[2].plates[1].left_off == std::vector<std::string>{"crumb"});
  CHECK(check_order(off, house()));
}
