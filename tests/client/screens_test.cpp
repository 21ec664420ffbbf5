// Screens as golden text: the example documents, drawn at the sizes people have. To look at what a change does, delete
// a golden file and run this test with NAPPE_WRITE_GOLDEN=1; then read the new file as a cook would.
#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "client/draw.hpp"

using namespace nappe;
using namespace nappe::client;

namespace {

constexpr std::int64_t example_now = 1764966220000;  // 20:23:40, the moment the example documents were written for.
const Times now{from_ms(example_now), 1000000};

nlohmann::json example(const std::string& name) {
  std::ifstream in(std::string(NAPPE_SOURCE_DIR) + "/tests/protocol/examples/" + name);
  return nlohmann::json::parse(in);
}

StationModel garnish() {
  StationModel model;
  model.station = "garnish";
  model.link.up = model.link.ever = true;
  received(model, read_station(example("station.json")));
  return model;
}

PassModel pass() {
  PassModel model;
  model.link.up = model.link.ever = true;
  received(model, read_pass(example("pass.json")));
  passed(model, now);
  return model;
}

void golden(const std::string& name, const Grid& grid) {
  const std::string path = std::string(NAPPE_SOURCE_DIR) + "/tests/client/golden/" + name + ".txt";
  std::ifstream in(path);
  if (!in && std::getenv("NAPPE_WRITE_GOLDEN") != nullptr) {
    std::ofstream(path) << grid.text();
    WARN("wrote " << path);
    return;
  }
  REQUIRE(in);
  std::ostringstream wanted;
  wanted << in.rdbuf();
  INFO("drawn:\n" << grid.text() << "tones:\n" << grid.tones());
  CHECK(grid.text() == wanted.str());
}

int coloured_stretches(const Grid& grid) {
  // Cells in colour that touch are one thing: count the rows' first and last, and the gaps in rows between.
  int top = -1, bottom = -1;
  for (int row = 0; row < grid.size().rows; ++row) {
    for (int column = 0; column < grid.size().columns; ++column) {
      if (grid.at(row, column).tone != Tone::colour) continue;
      if (top < 0) top = row;
      bottom = row;
    }
  }
  if (top < 0) return 0;
  int things = 1;
  for (int row = top; row <= bottom; ++row) {
    bool any = false;
    for (int column = 0; column < grid.size().columns; ++column) any = any || grid.at(row, column).tone == Tone::colour;
    if (!any) ++things;
  }
  return things;
}

}  // namespace

TEST_CASE("the hand list at 80 x 24") { golden("station-80x24", draw_station(garnish(), now, {24, 80}, blocks())); }
TEST_CASE("the hand list at 120 x 40") { golden("station-120x40", draw_station(garnish(), now, {40, 120}, blocks())); }
TEST_CASE("the hand list at 40 x 12") { golden("station-40x12", draw_station(garnish(), now, {12, 40}, blocks())); }
TEST_CASE("the hand list in plain ASCII") {
  const Grid grid = draw_station(garnish(), now, {24, 80}, plain());
  golden("station-80x24-ascii", grid);
  for (const char c : grid.text()) CHECK((c == '\n' || (c >= ' ' && c < 0x7f)));
}
TEST_CASE("the run-in at 80 x 24") { golden("pass-80x24", draw_pass(pass(), now, {24, 80}, blocks())); }
TEST_CASE("the run-in at 120 x 40") { golden("pass-120x40", draw_pass(pass(), now, {40, 120}, blocks())); }
TEST_CASE("the run-in at 40 x 12") { golden("pass-40x12", draw_pass(pass(), now, {12, 40}, blocks())); }
TEST_CASE("the run-in in plain ASCII") {
  const Grid grid = draw_pass(pass(), now, {24, 80}, plain());
  golden("pass-80x24-ascii", grid);
  for (const char c : grid.text()) CHECK((c == '\n' || (c >= ' ' && c < 0x7f)));
}

TEST_CASE("an allergy stands in capitals above the big word") {
  StationModel model = garnish();
  auto document = example("station.json");
  document["next"] = "p33.toast.0";
  received(model, read_station(document));
  const Grid grid = draw_station(model, now, {24, 80}, blocks());
  golden("station-allergy-80x24", grid);
}

TEST_CASE("a screen cut off says so, since when, and how many presses it keeps") {
  StationModel model = garnish();
  model.link.up = false;
  model.link.alone_since = from_ms(example_now - 276000);
  model.link.kept = 3;
  const std::string text = draw_station(model, now, {24, 80}, blocks()).text();
  CHECK(text.find("on its own since 20:19:04, 3 presses kept") != std::string::npos);
  model.link.kept = 1;
  const std::string one = draw_station(model, now, {12, 40}, blocks()).text();
  CHECK(one.find("on its own since 20:19:04, 1 press kept") != std::string::npos);
}

namespace {

// The words of a screen in one line, however it broke them.
std::string flat(const Grid& grid) {
  std::string out;
  for (const char c : grid.text()) {
    const char one = c == '\n' || c == '|' ? ' ' : c;
    if (one != ' ' || out.empty() || out.back() != ' ') out += one;
  }
  return out;
}

}  // namespace

TEST_CASE("a refusal is whole at every size, with how to say it again") {
  const std::string words =
      "the pollack of position 3 of table 8 must rest another 1:40: say it again, with your name, to cut the rest "
      "short, and tell whoever waits for it";
  StationModel station = garnish();
  PassModel run_in = pass();
  station.notice = run_in.notice = {words, now.steady_ms + 1000, true, true};
  for (const Size size : {Size{24, 80}, Size{20, 40}, Size{12, 40}, Size{40, 120}}) {
    for (const Grid& grid : {draw_station(station, now, size, plain()), draw_pass(run_in, now, size, plain())}) {
      INFO(grid.text());
      CHECK(flat(grid).find(words) != std::string::npos);
      CHECK(flat(grid).find("[!] anyway") != std::string::npos);
    }
  }
}

TEST_CASE("every line of help can be read at 80 x 24 and at 40 x 20: what has no room stands on the next page") {
  for (const Size size : {Size{24, 80}, Size{20, 40}, Size{40, 120}}) {
    StationModel station = garnish();
    PassModel run_in = pass();
    std::string station_text, pass_text;
    press(station, key(U'h'), now);
    press(run_in, key(U'h'), now);
    for (int page = 0; page < 6; ++page) {
      station_text += flat(draw_station(station, now, size, plain())) + " ";
      pass_text += flat(draw_pass(run_in, now, size, plain())) + " ";
      press(station, key(U' '), now);
      press(run_in, key(U' '), now);
    }
    const auto all_there = [](const std::string& text, const std::vector<Binding>& table) {
      for (const Binding& binding : table) {
        INFO(text << binding.does);
        // A line broken over rows is whole word by word; its last words prove that it was not cut.
        const std::string does(binding.does);
        CHECK(text.find(does.substr(does.find_last_of(' ') + 1)) != std::string::npos);
      }
    };
    all_there(station_text, station_keys());
    all_there(pass_text, pass_keys());
    press(run_in, key(U'g'), now);
    CHECK(run_in.over == Over::nothing);
  }
}

TEST_CASE("44: a list that nobody presses says that it guesses, since when, and at which moves") {
  auto document = example("station.json");
  document["quiet_since_ms"] = example_now - 18 * 60000;
  document["alerts"] = nlohmann::json::object();
  document["list"]["p31.ladle.5"]["guess"] = true;
  document["list"]["p33.toast.0"]["guess"] = true;
  StationModel station = garnish();
  received(station, read_station(document));
  const std::string text = draw_station(station, now, {24, 80}, plain()).text();
  CHECK(text.find("nobody has pressed since 20:05: this list follows the plan, a guess") != std::string::npos);
  CHECK(text.find("a guess: nobody has pressed") != std::string::npos);
  CHECK(text.find("toast ?") != std::string::npos);
  // At 40 columns the moves still say it.
  CHECK(draw_station(station, now, {20, 40}, plain()).text().find("toast ?") != std::string::npos);
}

TEST_CASE("the word on the run-in says that it is one, as the page does") {
  auto document = example("pass.json");
  auto& course = document["tables"]["9"]["courses"]["starters"];
  course["state"] = "fired";
  course["word_ms"] = example_now + 17 * 60000 + 30000;
  PassModel model = pass();
  received(model, read_pass(document));
  CHECK(draw_pass(model, now, {24, 80}, plain()).text().find("10 starters 4  word 18 min") != std::string::npos);
  CHECK(draw_pass(model, now, {40, 120}, plain()).text().find(" word 18 min ") != std::string::npos);
  CHECK(draw_pass(model, now, {20, 40}, plain()).text().find("10 starters 4  word 18 ") != std::string::npos);
}

TEST_CASE("what is off stands under off, not under nearly off") {
  auto document = example("pass.json");
  document["off"] = {{"pollack", {{"name", "pollack"}, {"left", 0}}}, {"pear", {{"name", "pear"}, {"left", 2}}}};
  PassModel model = pass();
  received(model, read_pass(document));
  const std::string text = flat(draw_pass(model, now, {40, 120}, plain()));
  CHECK(text.find(" off pollack nearly off pear 2 ") != std::string::npos);
  document["off"].erase("pear");
  received(model, read_pass(document));
  CHECK(flat(draw_pass(model, now, {40, 120}, plain())).find("nearly") == std::string::npos);
}

TEST_CASE("where nobody stands it says so, and no number") {
  auto document = example("pass.json");
  document["short"] = {{"garnish", {{"name", "garnish"}, {"nobody", true}, {"table", "6"}}}};
  PassModel model = pass();
  received(model, read_pass(document));
  const std::string text = flat(draw_pass(model, now, {40, 120}, plain()));
  CHECK(text.find(" hands short ") != std::string::npos);
  CHECK(text.find(" nobody at garnish ") != std::string::npos);
  CHECK(text.find(" table 6 ") != std::string::npos);
  CHECK(text.find("0:00") == std::string::npos);
  auto list = example("station.json");
  list["behind"] = {{"ms", 0}, {"nobody", true}};
  StationModel station = garnish();
  received(station, read_station(list));
  const std::string foot = flat(draw_station(station, now, {24, 80}, plain()));
  CHECK(foot.find("nobody here") != std::string::npos);
  CHECK(foot.find("behind") == std::string::npos);
}

TEST_CASE("a free hand is told one figure for the next move: that of the list") {
  auto document = example("station.json");
  document.erase("next");
  document["alerts"] = nlohmann::json::object();
  auto item = document["list"]["p33.toast.0"];
  item["at_ms"] = example_now + 169000;
  item["soonest_ms"] = example_now + 101000;
  item["state"] = "coming";
  item["words"] = "";
  document["list"] = {{"p33.toast.0", item}};
  StationModel station = garnish();
  received(station, read_station(document));
  std::string text = flat(draw_station(station, now, {24, 80}, plain()));
  CHECK(text.find("free; toast emmer B in 2:49") != std::string::npos);
  CHECK(text.find("2:49 toast emmer B") != std::string::npos);
  CHECK(text.find("1:41") == std::string::npos);
  document["list"]["p33.toast.0"]["at_ms"] = example_now - 5000;
  received(station, read_station(document));
  text = flat(draw_station(station, now, {24, 80}, plain()));
  CHECK(text.find("free; toast emmer B next") != std::string::npos);
}

TEST_CASE("a hint goes on in a row of its own where there is room, and is cut only where there is none") {
  auto document = example("station.json");
  const std::string hint = "the only place this plate can wait is behind the salamander";
  document["list"]["p28.turn.0"]["how"] = hint;
  REQUIRE(document["list"]["p28.turn.0"].value("words", "").empty());
  StationModel station = garnish();
  received(station, read_station(document));
  const auto all_of_it = [&](const Size size) {
    // The hint's rows are separated by what stands beside them.
    const std::string text = draw_station(station, now, size, plain()).text();
    INFO(text);
    const auto first = text.find("the only place this plate can wait");
    return first != std::string::npos && text.find("behind the salamander", first) != std::string::npos;
  };
  CHECK(all_of_it({30, 80}));
  CHECK_FALSE(all_of_it({20, 80}));
  document["next"] = "p28.turn.0";
  received(station, read_station(document));
  CHECK(flat(draw_station(station, now, {24, 80}, blocks())).find("salamander") != std::string::npos);
}

TEST_CASE("a service that is over says since when and that there is nothing to do") {
  auto document = example("station.json");
  document["service"] = {{"name", "Friday"}, {"open", false}, {"closed_ms", example_now - 60000}};
  document["list"] = nlohmann::json::object();
  document["heat"] = document["alerts"] = nlohmann::json::object();
  document.erase("next");
  StationModel station = garnish();
  received(station, read_station(document));
  const std::string text = draw_station(station, now, {24, 80}, plain()).text();
  CHECK(text.find("Friday closed since 20:22: nothing to do") != std::string::npos);
}

TEST_CASE("51: at most one thing is coloured, and it is the one the document names") {
  StationModel station = garnish();
  CHECK(coloured_stretches(draw_station(station, now, {24, 80}, blocks())) == 1);
  auto document = example("station.json");
  document["colour"] = "a3";
  received(station, read_station(document));
  const Grid alert = draw_station(station, now, {24, 80}, blocks());
  CHECK(coloured_stretches(alert) == 1);
  CHECK(alert.at(1, 1).tone == Tone::colour);
  document.erase("colour");
  received(station, read_station(document));
  CHECK(coloured_stretches(draw_station(station, now, {24, 80}, blocks())) == 0);
  PassModel run_in = pass();
  CHECK(coloured_stretches(draw_pass(run_in, now, {24, 80}, blocks())) == 1);
}

TEST_CASE("every size can be drawn, and text from outside cannot steer the terminal") {
  StationModel station = garnish();
  PassModel run_in = pass();
  auto document = example("station.json");
  document["list"]["p31.ladle.5"]["words"] = "NO \x1b[2J MILK\x07\xff\xc3";
  document["list"]["p31.ladle.5"]["what"] = "em\u202Emer\n\r\t";
  received(station, read_station(document));
  for (int rows = 0; rows <= 45; rows += 3) {
    for (int columns = 0; columns <= 130; columns += 13) {
      for (const Grid& grid :
           {draw_station(station, now, {rows, columns}, blocks()), draw_pass(run_in, now, {rows, columns}, blocks())}) {
        REQUIRE(grid.size() == Size{rows, columns});
        for (const char32_t c : decode_utf8(grid.text()))
          REQUIRE((c == U'\n' || (c >= 0x20 && c != 0x7F && !(c >= 0x80 && c < 0xA0))));
      }
    }
  }
}

TEST_CASE("a run-in with more courses than rows says how many stand below, and above when one goes down to them") {
  auto document = example("pass.json");
  const auto table = document["tables"]["9"];
  for (int more = 0; more < 40; ++more) {
    auto one = table;
    one["ticket"] = 100 + more;
    one["table"] = std::to_string(20 + more);
    document["tables"][std::to_string(100 + more)] = one;
  }
  PassModel model = pass();
  received(model, read_pass(document));
  const auto shown = [&] { return flat(draw_pass(model, now, {24, 80}, plain())); };
  CHECK(shown().find(" courses below: arrows") != std::string::npos);
  CHECK(shown().find(" above") == std::string::npos);
  for (int i = 0; i < 200; ++i) press(model, key(Special::down), now);
  CHECK(shown().find(" courses above: arrows") != std::string::npos);
  CHECK(shown().find(" below") == std::string::npos);
}

TEST_CASE("a very late course keeps its time and who is allergic, whole, at the far end of the axis") {
  auto document = example("pass.json");
  auto& table = document["tables"]["9"];
  table["allergies"] = {{"2", "MILK"}, {"3", "NUTS"}};
  auto& course = table["courses"]["starters"];
  for (const std::int64_t late_ms : {40000, 400000, 1000000}) {
    course["meet_ms"] = example_now + 700000;
    course["expected_ms"] = example_now + 1100000 + late_ms;
    course["drift_ms"] = 400000 + late_ms;
    PassModel model = pass();
    received(model, read_pass(document));
    for (const int rows : {24, 11}) {  // Drawn open, and in one row.
      const std::string text = draw_pass(model, now, {rows, 80}, blocks()).text();
      INFO(text);
      CHECK(text.find(clock_text(from_ms(example_now + 1100000 + late_ms)) + " +") != std::string::npos);
      CHECK(text.find("2 MILK") != std::string::npos);
      CHECK(text.find("3 NUTS") != std::string::npos);
    }
  }
}

TEST_CASE("whatever the size, words about an allergy are whole where the move is shown") {
  StationModel model = garnish();
  auto document = example("station.json");
  document["next"] = "p33.toast.0";
  const std::string words = "CLEAN PAN, NO MILK, NO SULPHITES, NO CELERY, NO MOLLUSCS, positions 2 and 5";
  document["list"]["p33.toast.0"]["words"] = words;
  received(model, read_station(document));
  for (const Size size : {Size{12, 40}, Size{24, 80}, Size{40, 120}}) {
    const Grid grid = draw_station(model, now, size, blocks());
    INFO(grid.text());
    for (const char* word :
         {"CLEAN PAN", "NO MILK", "NO SULPHITES", "NO CELERY", "NO MOLLUSCS", "positions 2 and 5", "TOAST"}) {
      // The big letters spell the move where there is room for them.
      if (std::string(word) == "TOAST" && size.columns > 40) continue;
      CHECK(grid.text().find(word) != std::string::npos);
    }
  }
}

TEST_CASE("capitals too long for their column take further rows and are not cut") {
  StationModel model = garnish();
  auto document = example("station.json");
  const std::string words = "CLEAN PAN, NO MILK, NO SULPHITES, NO CELERY, positions 2 and 5";
  document["list"]["p33.toast.0"]["words"] = words;
  received(model, read_station(document));
  const std::string text = draw_station(model, now, {24, 80}, blocks()).text();
  for (const char* word : {"CLEAN PAN", "NO MILK", "NO SULPHITES", "NO CELERY", "positions 2 and 5"}) {
    CHECK(text.find(word) != std::string::npos);
  }
}

TEST_CASE("free time: the first free hand, and only stretches worth leaving the station for") {
  // Worked by hand: two hands, ladle at 0:08 for 0:30, toast at 0:40 for
  // 0:50, ladle at 1:28. Between toast and ladle one of two is free from 0:40.
  std::vector<Item> items(3);
  items[0].at = from_ms(8000), items[0].takes = seconds(30);
  items[1].at = from_ms(40000), items[1].takes = seconds(50);
  items[2].at = from_ms(88000), items[2].takes = seconds(30);
  const std::vector<const Item*> list{&items[0], &items[1], &items[2]};
  const auto free = free_times(list, 2, from_ms(0), seconds(45));
  REQUIRE(free.size() == 1);
  CHECK(free[0].before == 2);
  CHECK(free[0].from == from_ms(40000));
  CHECK(free[0].until == from_ms(88000));
  CHECK(free[0].hands == 1);
  // One pair of hands toasts from 0:40 to 1:30 and is never free for so long.
  CHECK(free_times(list, 1, from_ms(0), seconds(45)).empty());
}
