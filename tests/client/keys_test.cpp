// Keys: what they ask of the line, what they take back, and that every ask is a command the line can read.
#include <algorithm>
#include <catch2/catch.hpp>
#include <fstream>
#include <nlohmann/json.hpp>
#include <variant>

#include "client/draw.hpp"
#include "client/outbox.hpp"
#include "common/wire/codec.hpp"

using namespace nappe;
using namespace nappe::client;
using nlohmann::json;

namespace {

constexpr std::int64_t example_now = 1764966220000;
Times at(std::int64_t ms_later) { return {from_ms(example_now + ms_later), 50000 + ms_later}; }

json example(const std::string& name) {
  std::ifstream in(std::string(NAPPE_SOURCE_DIR) + "/tests/protocol/examples/" + name);
  return json::parse(in);
}

StationModel garnish() {
  StationModel model;
  model.station = "garnish";
  model.link.up = true;
  received(model, read_station(example("station.json")));
  return model;
}

PassModel pass() {
  PassModel model;
  model.link.up = true;
  received(model, read_pass(example("pass.json")));
  passed(model, at(0));
  return model;
}

// The one action a key asked for, as the line reads it.
line::Action read(const std::vector<Ask>& asks) {
  REQUIRE(asks.size() == 1);
  Kept kept{"id", "Ines", example_now, asks.front(), false};
  const auto command = wire::read_command(command_text(kept));
  INFO(command_text(kept));
  if (!command) FAIL(command.error().detail);
  CHECK(command->at == from_ms(example_now));
  return command->action;
}

}  // namespace

TEST_CASE("space on a ladle is one more, t is it's there") {
  StationModel model = garnish();
  const auto more = read(press(model, key(U' '), at(0)));
  CHECK(line::number(std::get<line::OneMore>(more).pan) == 31);
  model = garnish();
  const auto there = read(press(model, key(U't'), at(0)));
  CHECK(line::number(std::get<line::ItsThere>(there).pan) == 31);
  model = garnish();
  CHECK(std::holds_alternative<line::OneMore>(read(press(model, key(Special::right), at(0)))));
}

TEST_CASE("a move that is not in rounds is finished, with pan, step and round") {
  StationModel model = garnish();
  auto document = example("station.json");
  document["next"] = "p33.toast.0";
  received(model, read_station(document));
  const auto done = std::get<line::FinishStep>(read(press(model, key(Special::enter), at(0))));
  CHECK(line::number(done.pan) == 33);
  CHECK(done.step == "toast");
  CHECK(done.round == 0);
  CHECK_FALSE(done.sure);
}

TEST_CASE("on the step behind the rounds space is done, and one more is still possible") {
  StationModel model = garnish();
  auto document = example("station.json");
  document["next"] = "p31.taste.0";
  document["list"]["p31.taste.0"] = document["list"]["p31.ladle.5"];
  document["list"].erase("p31.ladle.5");
  document["list"]["p31.taste.0"]["step"] = "taste";
  document["list"]["p31.taste.0"]["round"] = 0;
  received(model, read_station(document));
  CHECK(std::get<line::FinishStep>(read(press(model, key(U' '), at(0)))).step == "taste");
  received(model, read_station(document));
  model.pressed.clear();
  CHECK(std::holds_alternative<line::OneMore>(read(press(model, key(U'm'), at(0)))));
}

TEST_CASE("the same key within three seconds takes it back; another key or later does not") {
  StationModel model = garnish();
  press(model, key(U' '), at(0));
  const auto undone = press(model, key(U' '), at(2900));
  REQUIRE(undone.size() == 1);
  CHECK(undone.front().undo);
  CHECK(undone.front().item == "p31.ladle.5");
  CHECK(std::get<line::Undo>(read(undone)).station == "garnish");
  CHECK(model.pressed.empty());

  model = garnish();
  press(model, key(U' '), at(0));
  const auto next = press(model, key(Special::enter), at(2000));
  CHECK(std::get<line::FinishStep>(read(next)).step == "toast");

  model = garnish();
  press(model, key(U' '), at(0));
  const auto later = press(model, key(U' '), at(3100));
  CHECK(std::get<line::FinishStep>(read(later)).step == "toast");
}

TEST_CASE("a demo's fast kitchen clock leaves the hand its three seconds, dated so that the line takes them") {
  // Thirty times as fast: 2.5 s of the hand are 75 s of the kitchen.
  const auto fast = [](std::int64_t ms) { return Times{from_ms(example_now + 30 * ms), 50000 + ms}; };
  StationModel model = garnish();
  press(model, key(U' '), fast(0));
  passed(model, fast(2400));
  const auto undone = press(model, key(U' '), fast(2500));
  REQUIRE(undone.size() == 1);
  CHECK(undone.front().undo);
  CHECK(undone.front().at == from_ms(example_now + 2500));
  model = garnish();
  press(model, key(U' '), fast(0));
  CHECK_FALSE(press(model, key(U' '), fast(3100)).front().undo);
}

TEST_CASE("a press shows at once as pressed and the big letters go on to the next move") {
  StationModel model = garnish();
  const auto asks = press(model, key(U' '), at(0));
  REQUIRE(in_hand(model) != nullptr);
  CHECK(in_hand(model)->key == "p33.toast.0");
  answered(model, asks.front(), "", false, at(100));
  CHECK(in_hand(model)->key == "p31.ladle.5");  // The document has not changed yet.
}

TEST_CASE("a refusal is one line for some seconds, and can be said again with sure") {
  StationModel model = garnish();
  auto document = example("station.json");
  document["next"] = "p29.mount.0";
  received(model, read_station(document));
  const auto asks = press(model, key(U' '), at(0));
  answered(model, asks.front(), "emmer E must rest another 1:10", true, at(100));
  CHECK(model.notice.text == "emmer E must rest another 1:10");
  CHECK(model.notice.may_insist);
  CHECK(draw_station(model, at(200), {12, 40}, blocks()).text().find("[!] anyway") != std::string::npos);
  CHECK(draw_station(model, at(200), {24, 80}, blocks()).text().find("must rest another") != std::string::npos);
  const auto sure = std::get<line::FinishStep>(read(press(model, key(U'!'), at(500))));
  CHECK(sure.sure);
  CHECK(sure.step == "mount");
  model = garnish();
  answered(model, asks.front(), "refused", true, at(0));
  passed(model, at(10200));
  CHECK(model.notice.text.empty());
  CHECK(press(model, key(U'!'), at(10300)).empty());
}

TEST_CASE("arrows choose another move, and space then means that one") {
  StationModel model = garnish();
  press(model, key(Special::down), at(0));
  const auto done = std::get<line::FinishStep>(read(press(model, key(U' '), at(100))));
  CHECK(done.step == "toast");
  press(model, key(Special::down), at(200));
  passed(model, at(20000));
  CHECK(model.chosen.empty());
}

TEST_CASE("hands: a number in the list of people turns a person on or off") {
  StationModel model = garnish();
  CHECK(press(model, key(U'2'), at(0)).empty());
  press(model, key(U'p'), at(0));
  CHECK(model.over == Over::hands);
  const auto off = std::get<line::SetHands>(read(press(model, key(U'2'), at(0))));
  CHECK(off.station == "garnish");
  CHECK(off.person == "tom");
  CHECK_FALSE(off.present);
  CHECK(model.over == Over::nothing);
}

TEST_CASE("alerts are answered, help opens and closes, q quits without asking") {
  StationModel model = garnish();
  CHECK(line::number(std::get<line::Acknowledge>(read(press(model, key(U'a'), at(0)))).alert) == 3);
  press(model, key(U'h'), at(0));
  CHECK(model.over == Over::help);
  press(model, key(U' '), at(0));
  CHECK(model.over == Over::help);  // the next page of it
  CHECK(model.pressed.empty());
  press(model, key(Special::escape), at(0));
  CHECK(model.over == Over::nothing);
  CHECK(model.pressed.empty());
  press(model, key(U'q'), at(0));
  CHECK(model.quit);
}

TEST_CASE("no document, no list, no next: no key asks for anything") {
  StationModel model;
  model.station = "garnish";
  for (const Binding& binding : station_keys()) {
    if (binding.act != Act::quit) CHECK(press(model, binding.key, at(0)).empty());
  }
  PassModel empty;
  for (const Binding& binding : pass_keys()) {
    if (binding.act != Act::quit) CHECK(press(empty, binding.key, at(0)).empty());
  }
}

TEST_CASE("the pass: the course that meets first is chosen; its keys name ticket and course") {
  PassModel model = pass();
  CHECK(model.chosen == "7-mains");
  const auto gone = std::get<line::Gone>(read(press(model, key(U'g'), at(0))));
  CHECK(line::number(gone.ticket) == 7);
  CHECK(gone.course == "mains");
  CHECK(gone.but.empty());
  press(model, key(U'4'), at(0));
  press(model, key(U'5'), at(0));
  press(model, key(U'5'), at(0));
  press(model, key(U'9'), at(0));
  CHECK(model.notice.text == "8 mains has no position 9");
  CHECK(std::get<line::Gone>(read(press(model, key(U'g'), at(0)))).but == std::vector<int>{4});
  CHECK(std::holds_alternative<line::Hold>(read(press(model, key(U' '), at(0)))));
  press(model, key(Special::down), at(0));
  CHECK(model.chosen == "9-starters");
  CHECK(std::holds_alternative<line::Release>(read(press(model, key(U' '), at(0)))));
  press(model, key(Special::down), at(0));
  CHECK(model.chosen == "7-desserts");
  CHECK(std::get<line::Fire>(read(press(model, key(U'f'), at(0)))).course == "desserts");
  CHECK(press(model, key(U'+'), at(0)).empty());
}

TEST_CASE("28: speech, table up and back, slower and faster: one key each, the guess of minutes by a number") {
  PassModel model = pass();
  CHECK(press(model, key(U's'), at(0)).empty());
  CHECK(model.over == Over::speech);
  CHECK(std::get<line::Speech>(read(press(model, key(U'2'), at(0)))).minutes == 10);
  CHECK(model.over == Over::nothing);
  CHECK(std::get<line::Pace>(read(press(model, key(U'>'), at(0)))).minutes == 5);
  CHECK(std::get<line::Pace>(read(press(model, key(U'<'), at(0)))).minutes == -5);
  // The example's table 8 has a speech; the other is where it should be.
  CHECK(std::holds_alternative<line::TableBack>(read(press(model, key(U'u'), at(0)))));
  press(model, key(Special::down), at(0));
  CHECK(std::holds_alternative<line::TableUp>(read(press(model, key(U'u'), at(0)))));
}

TEST_CASE("50: the marked plate again, with its reason: borrowed where somebody can lend, never across an allergy") {
  PassModel model = pass();
  CHECK(press(model, key(U'x'), at(0)).empty());
  CHECK(model.over == Over::nothing);
  CHECK(model.notice.text == "mark one position of 8 mains first: 1 to 9");
  press(model, key(U'1'), at(0));
  CHECK(press(model, key(U'x'), at(0)).empty());
  REQUIRE(model.over == Over::reasons);
  const auto borrow = std::get<line::Borrow>(read(press(model, key(U'1'), at(0))));
  CHECK(borrow.position == 1);
  CHECK(borrow.reason == "too pink");
  CHECK(model.staying.empty());
  press(model, key(U'4'), at(0));
  press(model, key(U'x'), at(0));
  CHECK(std::get<line::Refire>(read(press(model, key(U'4'), at(0)))).reason == "hair");
  press(model, key(U'4'), at(0));
  CHECK(std::get<line::ClearPlate>(read(press(model, key(U'y'), at(0)))).position == 4);
}

TEST_CASE("50: only a part of it again, and new where the lender should keep its own") {
  PassModel model = pass();
  press(model, key(U'1'), at(0));
  press(model, key(U'x'), at(0));
  const auto parts = parts_again(model);
  REQUIRE(parts.size() > 1);
  const auto loin = std::find_if(parts.begin(), parts.end(), [](const PartChoice& part) { return part.id == "loin"; });
  REQUIRE(loin != parts.end());
  press(model, key(loin->letter), at(0));
  std::string text = draw_pass(model, at(0), {24, 80}, plain()).text();
  CHECK(text.find("only the loin") != std::string::npos);
  CHECK(text.find("n  borrowed, the loin from table 11") != std::string::npos);
  press(model, key(U'n'), at(0));
  text = draw_pass(model, at(0), {24, 80}, plain()).text();
  CHECK(text.find("n  new, not the loin from table 11") != std::string::npos);
  const auto refire = std::get<line::Refire>(read(press(model, key(U'5'), at(0))));
  CHECK(refire.components == std::vector<std::string>{"loin"});
  CHECK(refire.reason == "dropped");
  // The next time nothing of that is remembered.
  press(model, key(U'1'), at(0));
  press(model, key(U'x'), at(0));
  CHECK(std::get<line::Borrow>(read(press(model, key(U'2'), at(0)))).components.empty());
}

TEST_CASE("25: the marked positions are split off; without a mark nothing is asked") {
  PassModel model = pass();
  CHECK(press(model, key(U'S'), at(0)).empty());
  CHECK(model.notice.text == "mark the positions of 8 mains that are split off first: 1 to 9");
  press(model, key(U'1'), at(0));
  press(model, key(U'4'), at(0));
  const auto split = std::get<line::SplitTable>(read(press(model, key(U'S'), at(0))));
  CHECK(split.positions == std::vector<int>{1, 4});
  CHECK_FALSE(split.table);
  CHECK(model.staying.empty());
}

TEST_CASE("52: an alert is answered or put off by one key on every screen; put off it is gone, and comes back") {
  PassModel run_in = pass();
  StationModel station = garnish();
  const auto later = std::get<line::Shelve>(read(press(run_in, key(U'l'), at(0))));
  CHECK(later.until_ms == example_now + 300000);
  CHECK(std::get<line::Shelve>(read(press(station, key(U'l'), at(0)))).alert == later.alert);
  auto document = example("station.json");
  for (auto& [key, alert] : document["alerts"].items()) alert["shelved_until_ms"] = later.until_ms;
  received(station, read_station(document));
  CHECK(press(station, key(U'a'), at(0)).empty());
  const std::string quiet = draw_station(station, at(0), {24, 80}, plain()).text();
  CHECK(quiet.find("[a]") == std::string::npos);
  const std::string back = draw_station(station, at(300001), {24, 80}, plain()).text();
  CHECK(back.find("[a]") != std::string::npos);
}

TEST_CASE("28: a refusal that can be insisted on is insisted on by one key, whatever was asked; others are not") {
  PassModel model = pass();
  press(model, key(Special::down), at(0));
  press(model, key(Special::down), at(0));
  REQUIRE(model.chosen == "7-desserts");
  const auto asks = press(model, key(U'f'), at(0));
  answered(model, asks.front(),
           "the mains of table 8 have not gone yet: say it again to fire the desserts all the same", true, at(100));
  CHECK(model.notice.may_insist);
  CHECK(std::get<line::Fire>(read(press(model, key(U'!'), at(0)))).sure);
  answered(model, asks.front(), "ticket 7 of table 8 was cancelled", true, at(200));
  CHECK_FALSE(model.notice.may_insist);
  CHECK(press(model, key(U'!'), at(0)).empty());
}

TEST_CASE("49: the carry card is one key away: hands, when they are called, the allergy plate last") {
  PassModel model = pass();
  press(model, key(U'c'), at(0));
  const std::string text = draw_pass(model, Times{from_ms(example_now), 0}, {24, 80}, plain()).text();
  CHECK(text.find("2 pairs of hands, called at 20:30:10") != std::string::npos);
  CHECK(text.find("1 Hogget loin, 5 Pollack") < text.find("4 Hogget loin NO GLUTEN, alone: last up, first down"));
  CHECK(text.find("nothing is thrown till 20:33:00 (loin A)") != std::string::npos);
  press(model, key(Special::escape), at(0));
  CHECK(model.over == Over::nothing);
}

TEST_CASE("the meet moves by whole minutes, also when keys are faster than answers") {
  PassModel model = pass();
  const auto first = std::get<line::MoveMeet>(read(press(model, key(U'+'), at(0))));
  CHECK(first.meet_ms == 1764966600000 + 60000);
  const auto asks = press(model, key(U'+'), at(100));
  CHECK(std::get<line::MoveMeet>(read(asks)).meet_ms == 1764966600000 + 120000);
  answered(model, asks.front(), "", false, at(200));
  CHECK(model.notice.text == "8 mains: meets 20:32:00");
  CHECK(std::get<line::MoveMeet>(read(press(model, key(U'-'), at(300)))).meet_ms == 1764966600000 - 60000);
}

TEST_CASE("what left can be brought back for some minutes") {
  PassModel model = pass();
  auto document = example("pass.json");
  document["tables"]["7"]["courses"]["starters"]["gone_ms"] = example_now - 60000;
  received(model, read_pass(document));
  const auto courses = in_order(model, from_ms(example_now));
  REQUIRE(courses.back()->key == "7-starters");
  model.chosen = "7-starters";
  const auto back = std::get<line::BringBack>(read(press(model, key(U'b'), at(0))));
  CHECK(back.course == "starters");
  CHECK(in_order(model, from_ms(example_now + 180000)).back()->key != "7-starters");
}

TEST_CASE("every key of a table has one meaning, and every act its line of help") {
  for (const auto* table : {&station_keys(), &pass_keys()}) {
    for (std::size_t i = 0; i < table->size(); ++i) {
      for (std::size_t j = i + 1; j < table->size(); ++j) CHECK_FALSE((*table)[i].key == (*table)[j].key);
      bool helped = false;
      for (const Binding& binding : *table)
        helped = helped || (binding.act == (*table)[i].act && !binding.does.empty());
      // The two halves of one pair share a line ("down, up").
      const Act act = (*table)[i].act;
      if (act != Act::choose_up && act != Act::sooner) CHECK(helped);
    }
  }
}
