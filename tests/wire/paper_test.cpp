#include "common/wire/paper.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "common/wire/screens.hpp"
#include "tests/wire/evening.hpp"

using namespace nappe;
using nlohmann::json;

namespace {

std::map<std::string, json> documents() {
  const line::State state = tests::evening();
  return wire::build_screens(state, tests::evening_plan(state), tests::at(0)).documents;
}

std::string roll(const std::map<std::string, json>& screens) {
  return wire::paper_text(screens, tests::at(0), Duration{}, wire::paper_roll);
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  // A form feed stands before the first letter of a page.
  for (std::string line; std::getline(in, line);) lines.push_back(line.starts_with('\f') ? line.substr(1) : line);
  return lines;
}

// All words apart by one blank, so that a sentence is found wherever the paper broke its lines.
std::string flat(const std::string& text) {
  std::istringstream in(text);
  std::string out;
  for (std::string word; in >> word;) out += word + ' ';
  return out;
}

}  // namespace

TEST_CASE("paper: the made-up evening fits a till roll of 42 columns and A4, in ASCII, no line too long") {
  for (const auto& [size, columns] : {std::pair{wire::paper_roll, 42U}, std::pair{wire::paper_a4, 80U}}) {
    const std::string text = wire::paper_text(documents(), tests::at(0), Duration{}, size);
    for (const std::string& line : lines_of(text)) {
      INFO(line);
      CHECK(line.size() <= columns);
      CHECK((line.empty() || line.back() != ' '));
      CHECK(std::all_of(line.begin(), line.end(), [](char c) { return c >= 0x20 && c < 0x7f; }));
    }
  }
}

TEST_CASE("paper: every station's next twenty minutes are on it, each move once, and what comes later is not") {
  auto screens = documents();
  // One move in twenty minutes to the millisecond, one behind that.
  json& list = screens.at("station:garnish")["list"];
  REQUIRE_FALSE(list.empty());
  json item = *list.begin();
  item["at_ms"] = to_ms(tests::at(20 * 60));
  item["what"] = "borderline";
  item["state"] = "coming";
  list["x1"] = item;
  item["at_ms"] = to_ms(tests::at(20 * 60)) + 1;
  item["what"] = "afterwards";
  list["x2"] = item;
  const std::string text = flat(roll(screens));
  CHECK(text.find("borderline") != std::string::npos);
  CHECK(text.find("afterwards") == std::string::npos);
  std::size_t moves = 0;
  for (const auto& [name, screen] : screens) {
    if (name == "pass" || name == "floor") continue;
    for (const auto& one : screen["list"]) {
      if (one["at_ms"] > to_ms(tests::at(20 * 60))) continue;
      INFO(one.dump());
      CHECK(text.find(one["move"].get<std::string>() + " " + one["what"].get<std::string>()) != std::string::npos);
      ++moves;
    }
  }
  CHECK(moves > 5);
}

TEST_CASE("paper: no word of an allergy is lost, and it is marked without colour") {
  auto screens = documents();
  screens.at("station:garnish")["list"].begin().value()["words"] =
      "CLEAN PAN, NO CELERY, NO CEREALS CONTAINING GLUTEN, NO MILK, positions 2, 3 and 4 of tables 10 and 12";
  const std::string text = roll(screens);
  CHECK(
      flat(text).find("!! CLEAN PAN, NO CELERY, NO CEREALS CONTAINING GLUTEN, NO MILK, positions 2, 3 and 4 of tables "
                      "10 and 12") != std::string::npos);
  std::size_t asked = 0;
  for (const auto& [name, screen] : screens) {
    if (name == "pass" || name == "floor") continue;
    for (const auto& item : screen["list"]) {
      if (!item.contains("words") || item["at_ms"] > to_ms(tests::at(20 * 60))) continue;
      CHECK(flat(text).find("!! " + item["words"].get<std::string>()) != std::string::npos);
      ++asked;
    }
  }
  for (const auto& [ticket, table] : screens.at("pass")["tables"].items()) {
    if (!table.contains("allergies")) continue;
    for (const auto& [position, what] : table["allergies"].items()) {
      CHECK(flat(text).find("!! position " + position + ": NO " + what.get<std::string>()) != std::string::npos);
      ++asked;
    }
  }
  CHECK(asked > 1);
}

TEST_CASE("paper: every table and every plate that has not gone is on it") {
  const auto screens = documents();
  const std::string text = flat(roll(screens));
  for (const auto& table : screens.at("pass")["tables"]) {
    CHECK(text.find("TABLE " + table["table"].get<std::string>() + " ") != std::string::npos);
    for (const auto& course : table["courses"]) {
      CHECK(text.find(course["name"].get<std::string>()) != std::string::npos);
      if (course["state"] != "fired" && course["state"] != "held") continue;
      for (const auto& [position, plate] : course["plates"].items()) {
        if (plate["state"] == "gone") continue;
        CHECK(text.find(position + " " + plate["name"].get<std::string>() + ":") != std::string::npos);
      }
    }
  }
}

TEST_CASE("paper: pages of A4 have at most sixty lines, and tables begin a page") {
  auto screens = documents();
  json& list = screens.at("station:garnish")["list"];
  const json item = list.begin().value();
  for (int n = 0; n < 100; ++n) list["more" + std::to_string(n)] = item;
  const std::string text = wire::paper_text(screens, tests::at(0), Duration{}, wire::paper_a4);
  int on_page = 0;
  int pages = 1;
  for (const char c : text) {
    if (c == '\n') ++on_page;
    if (c == '\f') {
      CHECK(on_page <= 60);
      on_page = 0;
      ++pages;
    }
  }
  CHECK(on_page <= 60);
  CHECK(pages >= 3);
  const auto tables = text.find("TABLES");
  REQUIRE(tables != std::string::npos);
  CHECK(text.rfind('\f', tables) > text.rfind("GARNISH", tables));
}

TEST_CASE("58: a page of A4 never ends between a move and its words, its change, or what it goes on until") {
  auto screens = documents();
  json& list = screens.at("station:garnish")["list"];
  json item = list.begin().value();
  item["words"] = "CLEAN PAN, NO MILK, position 2";
  item["change"] = "sauce beside";
  item["how"] = "a ladle at a time, the spoon never still";
  item["cue"]["look"] = "grains split at the tip";
  for (int n = 0; n < 60; ++n) {
    // Lengths that differ by one line, so that every place of a page's end is tried.
    if (n % 3 == 1) item.erase("change");
    if (n % 3 == 2) item["change"] = "sauce beside";
    list["more" + std::to_string(100 + n)] = item;
  }
  const std::string text = wire::paper_text(screens, tests::at(0), Duration{}, wire::paper_a4);
  int ends = 0;
  for (std::size_t end = text.find('\f'); end != std::string::npos; end = text.find('\f', end + 1)) {
    ++ends;
    const std::string behind = text.substr(end + 1, 15);
    INFO(behind);
    CHECK(behind.substr(0, 9) != "         ");
    CHECK(behind.find("!! ") == std::string::npos);
  }
  CHECK(ends >= 4);
}

TEST_CASE("paper: the wall's clock, letters with accents, and a kitchen that is not open") {
  auto screens = documents();
  screens.at("station:garnish")["list"].begin().value()["what"] = "pur\u00e9e \u00e0 la cr\u00e8me \u2603";
  const std::string text = wire::paper_text(screens, tests::at(0), minutes(60), wire::paper_roll);
  CHECK(text.find("21:23:40") != std::string::npos);
  CHECK(flat(text).find("puree a la creme ?") != std::string::npos);
  const std::string closed = wire::paper_text({}, tests::at(0), Duration{}, wire::paper_roll);
  CHECK(closed.find("no service is open") == 0);
  CHECK(closed.find("no table has a ticket") != std::string::npos);
}
