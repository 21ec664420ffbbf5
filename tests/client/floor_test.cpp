// The floor's line: what is typed, what is drawn while it is typed, and what Enter sends.
#include <catch2/catch.hpp>

#include <algorithm>

#include "client/floor.hpp"
#include "common/wire/codec.hpp"
#include "tests/support/larkfold.hpp"

using namespace nappe;
using namespace nappe::client;

namespace {

const Times at{from_ms(1764960420000), 1000};  // 18:47 UTC

FloorModel floor_of_larkfold() {
  FloorModel model;
  model.kitchen = std::make_shared<const kitchen::Kitchen>(tests::larkfold());
  FloorScreen screen;
  screen.service = {"Friday", true, Duration::zero()};
  screen.left = {{"pollack", 5}, {"pear", 0}};
  FloorTicket ticket;
  ticket.ticket = 3;
  ticket.table = "6";
  ticket.open = true;
  ticket.next = "mains";
  ticket.state = "fired";
  ticket.covers = 2;
  ticket.says = from_ms(1764961500000);  // 19:05
  screen.tickets = {ticket};
  model.screen = screen;
  model.link.up = true;
  return model;
}

std::vector<Ask> type(FloorModel& model, const std::string& text) {
  std::vector<Ask> asks;
  for (const char32_t letter : decode_utf8(text)) {
    auto more = press(model, letter == U'\n' ? key(Special::enter) : key(letter), at);
    asks.insert(asks.end(), more.begin(), more.end());
  }
  return asks;
}

line::Action sent(const Ask& ask) {
  const auto command = wire::read_command(R"({"id":"a","by":"Wren","at_ms":1764960420000,"do":)" + ask.action + "}");
  REQUIRE(command);
  return command->action;
}

std::string screen_of(const FloorModel& model) { return draw_floor(model, at, {24, 80}, plain()).text(); }

// Wherever the screen broke its lines.
bool has(const std::string& text, const std::string& what) {
  if (text.find(what) != std::string::npos) return true;
  std::string flat;
  for (const char c : text)
    if (c != '\n' && (c != ' ' || flat.empty() || flat.back() != ' ')) flat += c;
  return flat.find(what) != std::string::npos;
}

}  // namespace

TEST_CASE("21: a table of six with one allergy is entered in under 60 keystrokes") {
  const std::string keys = "8: 1e 2m 3m 4k!gluten 5e 6k / 1h 2h 3p 4h 5p 6u\n";
  CHECK(decode_utf8(keys).size() < 60);
  FloorModel model = floor_of_larkfold();
  const auto asks = type(model, keys);
  REQUIRE(asks.size() == 1);
  const line::Action action = sent(asks[0]);
  const auto& order = std::get<line::SendTicket>(action).order;
  CHECK(order.table == "8");
  REQUIRE(order.guests.size() == 1);
  CHECK(order.guests[0] == line::Guest{4, {"gluten"}});
  CHECK(order.courses.size() == 2);
  CHECK(order.courses[1].plates.size() == 6);
  CHECK(model.line.empty());
}

TEST_CASE("22: the allergy stands on the person, and what they can have is said before anything is sent") {
  FloorModel model = floor_of_larkfold();
  CHECK(type(model, "8: 1e 2m 4k!gluten").empty());
  const std::string text = screen_of(model);
  CHECK(has(text, "TABLE 8"));
  CHECK(has(text, "[GLUTEN]"));
  CHECK(has(text, "4 leek"));
  CHECK(has(text, "position 4, gluten: not emmer (wheat)"));
  CHECK(has(text, "leek yes"));
  CHECK(has(text, "tell the guest now"));
}

TEST_CASE("24: the card says what is left when this line is sent, and what is off") {
  FloorModel model = floor_of_larkfold();
  type(model, "8: 1k 2k / 1p 2p");
  CHECK(has(screen_of(model), "p pollack 3!"));
  CHECK(has(screen_of(model), "r pear off"));
  type(model, " 3p 4p 5p 6p");
  CHECK(has(screen_of(model), "p pollack 1 too many"));
}

TEST_CASE("a line that is not whole draws what reads of it and says what is wrong; enter sends nothing") {
  FloorModel model = floor_of_larkfold();
  type(model, "8: 1e 2x");
  const std::string text = screen_of(model);
  CHECK(has(text, "1 emmer"));
  CHECK(has(text, "no starter has the letter x"));
  CHECK(press(model, key(Special::enter), at).empty());
  CHECK(model.line == "8: 1e 2x");
  press(model, key(U'\b'), at);
  press(model, key(0x7F), at);
  CHECK(model.line == "8: 1e ");
  press(model, key(Special::escape), at);
  CHECK(model.line.empty());
}

TEST_CASE("23: the time stands while the line is the one it was told for, and goes when another table is sent") {
  FloorModel model = floor_of_larkfold();
  type(model, "8: 1e 2m");
  model.draft = read_draft("8: 1e 2m", 200,
                           R"({"plates":2,"course":"starters","could_ms":1764961260000,"word_ms":1764961320000,
                               "load":{"garnish":{"name":"garnish","from_ms":1764961200000,"before":0.41,"after":0.61,
                               "full":false}}})",
                           Duration::zero());
  CHECK(has(screen_of(model), "can be: starters 19:02"));
  CHECK(has(screen_of(model), "garnish 19:00 to 19:05 rises 41 to 61 %"));
  type(model, " ");
  CHECK_FALSE(has(screen_of(model), "can be:"));
  press(model, key(U'\b'), at);
  CHECK(has(screen_of(model), "can be: starters 19:02"));
  received(model, *model.screen);
  CHECK_FALSE(has(screen_of(model), "can be:"));
}

TEST_CASE("34: when the cap on covers keeps a table back, the draft says so beside its time") {
  FloorModel model = floor_of_larkfold();
  type(model, "8: 1e 2m");
  model.draft = read_draft("8: 1e 2m", 200,
                           R"({"plates":2,"course":"starters","could_ms":1764961260000,"word_ms":1764961320000,
                               "load":{},"why":"waits for room: 38 of at most 40 covers are in the kitchen"})",
                           Duration::zero());
  CHECK(has(screen_of(model), "can be: starters 19:02"));
  CHECK(has(screen_of(model), "waits for room: 38 of at most 40 covers are in the kitchen"));
}

TEST_CASE("how long on six is answered by looking; tab changes the open ticket instead of sending another") {
  FloorModel model = floor_of_larkfold();
  CHECK(has(screen_of(model), "  6  mains word 19:05"));
  type(model, "6: 1k");
  CHECK(has(screen_of(model), "tab change ticket 3"));
  press(model, key(U'\t'), at);
  const auto asks = press(model, key(Special::enter), at);
  REQUIRE(asks.size() == 1);
  CHECK(std::get<line::ChangeTicket>(sent(asks[0])).ticket == line::TicketId{3});
  answered(model, asks[0], "pollack is off: table 6 must choose again", false, at);
  CHECK(model.line == "6: 1k");
  CHECK(has(screen_of(model), "pollack is off"));
}

TEST_CASE("22: what several guests can have is whole at 80 x 24, turned to by the arrows, and the screen says so") {
  FloorModel model = floor_of_larkfold();
  type(model, "8: 1k!gluten!milk 2k!nuts!egg 3k!fish 4k!celery!mustard / 5h!sulphites");
  std::string all;
  CHECK(has(screen_of(model), "1 of "));
  for (int page = 0; page < 8; ++page) {
    std::string text = screen_of(model);
    for (char& c : text) c = c == '\n' ? ' ' : c;
    all += text;
    press(model, key(Special::down), at);
  }
  for (int position = 1; position <= 5; ++position) CHECK(has(all, "position " + std::to_string(position) + ", "));
  CHECK(all.find('~') == std::string::npos);
  // Another key, and the beginning is shown again.
  type(model, " ");
  CHECK(has(screen_of(model), "position 1, gluten, milk"));
}

TEST_CASE("a refusal stands on the screen once; enter once more says it again where it can be insisted on") {
  FloorModel model = floor_of_larkfold();
  const auto asks = type(model, "8: 1k\n");
  const std::string why =
      "table 8 already has this order, sent at 18:46 (ticket 4): say it again to send the same once more";
  answered(model, asks.at(0), why, true, at);
  CHECK(model.line == "8: 1k");
  model.draft = read_draft("8: 1k", 409, R"({"detail":")" + why + "\"}", Duration::zero());
  std::string text = screen_of(model);
  for (char& c : text) c = c == '\n' ? ' ' : c;
  CHECK(has(text, "[enter] once more"));
  const auto first = text.find("already has");
  REQUIRE(first != std::string::npos);
  CHECK(text.find("already has", first + 1) == std::string::npos);
  const auto again = type(model, "\n");
  REQUIRE(again.size() == 1);
  CHECK(std::get<line::SendTicket>(sent(again[0])).sure);
  // What cannot be insisted on is read again as it stands.
  const auto other = type(model, "8: 1k / 1p\n");
  answered(model, other.at(0), "pollack is off: table 8 must choose again", true, at);
  CHECK_FALSE(std::get<line::SendTicket>(sent(type(model, "\n").at(0))).sure);
}

TEST_CASE("a floor without a service says so in words, and an empty one that nobody has ordered") {
  FloorModel model = floor_of_larkfold();
  model.screen->tickets.clear();
  CHECK(has(screen_of(model), "no table has ordered"));
  model.screen->service = {"Friday", false, Duration::zero(), from_ms(1764960000000)};
  CHECK(has(screen_of(model), "Friday closed since 18:40: nothing to do"));
  model.screen->service.closed.reset();
  CHECK(has(screen_of(model), "the service is not open: nothing to do yet"));
}

TEST_CASE("at 40 columns the card goes on below and nothing is drawn over another thing") {
  FloorModel model = floor_of_larkfold();
  type(model, "8: 1e 2m 4k!gluten / 1h 2p");
  const std::string text = draw_floor(model, at, {20, 40}, plain()).text();
  INFO(text);
  for (const char* word : {"e emmer", "m mackerel", "k leek", "h hogget", "p pollack 4!", "u mushroom", "d pudding",
                           "r pear off", "[GLUTEN] leek", "8: 1e 2m 4k!gluten / 1h 2p"})
    CHECK(has(text, word));
}

TEST_CASE("the floor's screen is whole at 80 x 24 and smaller, in ASCII, and never steers the terminal") {
  FloorModel model = floor_of_larkfold();
  type(model, "8: 1e 2m 3m 4k!gluten 5e 6k / 1h 2h 3p 4h 5p 6u / 1d 2r");
  for (const Size size : {Size{24, 80}, Size{12, 40}, Size{40, 120}, Size{3, 10}}) {
    const std::string text = draw_floor(model, at, size, plain()).text();
    CHECK(std::count(text.begin(), text.end(), '\n') == size.rows);
    CHECK(std::all_of(text.begin(), text.end(), [](char c) { return c == '\n' || (c >= 0x20 && c < 0x7F); }));
  }
}
