#include <unistd.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "client/rehearse.hpp"
#include "tests/support/larkfold.hpp"

using namespace nappe;
using client::RehearseOptions;

namespace {

struct Said {
  int code = 0;
  std::string out;
  std::string err;
};

Said run(const RehearseOptions& options) {
  std::ostringstream out;
  std::ostringstream err;
  const int code = client::rehearse_command(options, out, err);
  return {code, out.str(), err.str()};
}

RehearseOptions larkfold_options() {
  RehearseOptions options;
  options.folder = NAPPE_SOURCE_DIR "/config/larkfold";
  options.nights = 6;
  options.helped = 2;
  options.plan = "alone";
  options.quiet = true;
  return options;
}

// A folder of this process's own, gone at the end: ctest runs the cases of this program side by side.
class Folder {
 public:
  Folder() : path_(std::filesystem::path(NAPPE_BINARY_DIR) / ("rehearse_test_" + std::to_string(getpid()))) {
    std::filesystem::create_directories(path_);
  }
  ~Folder() { std::filesystem::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  [[nodiscard]] std::string file(const std::string& name) const { return (path_ / name).string(); }

 private:
  std::filesystem::path path_;
};

}  // namespace

TEST_CASE("a rehearsal answers in sentences, writes its figures and a page") {
  const Folder folder;
  RehearseOptions options = larkfold_options();
  options.bookings = {options.folder + "/bookings.json", options.folder + "/saturday.json"};
  options.nights = 12;
  options.json = folder.file("figures.json");
  options.page = folder.file("page.html");
  const Said said = run(options);
  CHECK(said.err.empty());
  REQUIRE(said.code == 0);
  CHECK(said.out.find("60 covers, 12 nights: the line ") != std::string::npos);
  CHECK(said.out.find("Garnish is tightest") != std::string::npos);
  CHECK(said.out.find("With another pair of hands at Garnish: ") != std::string::npos);

  const auto figures = nlohmann::json::parse(tests::read_text(options.json));
  CHECK(figures.at("nights") == 12);
  CHECK(figures.at("covers") == 60);
  CHECK(figures.at("unfinished_nights") == 0);
  CHECK(figures.at("late").contains("standard_error"));
  CHECK(figures.at("stations").size() == 5);
  CHECK(figures.at("components").size() == 18);
  CHECK(figures.at("changes").size() >= 5);
  int courses = 0;
  for (const int count : figures.at("lateness_min").at("courses")) courses += count;
  CHECK(courses == 12 * 3 * 20);

  const std::string page = tests::read_text(options.page);
  CHECK(page.rfind("<!DOCTYPE html>", 0) == 0);
  for (const char* outside : {"<script", "http:", "https:", "src=", "url("}) {
    CAPTURE(outside);
    CHECK(page.find(outside) == std::string::npos);
  }
  for (const char* drawn : {"Load of Garnish by quarter-hour", "Worst quarter-hour of each night",
                            "Courses by minutes against the first word", "Share of each component past its window"}) {
    CAPTURE(drawn);
    CHECK(page.find(drawn) != std::string::npos);
  }
}

TEST_CASE("a dish that is off and other hands are said back") {
  RehearseOptions options = larkfold_options();
  options.nights = 2;
  options.helped = 0;
  options.without = {"pudding"};
  options.hands = {"garnish=3"};
  options.covers = 30;
  const Folder folder;
  options.json = folder.file("figures.json");
  options.page = folder.file("page.html");
  options.prompt = 0.25;
  options.bias = 1.5;
  options.scatter = 2;
  options.as_booked = true;
  const Said said = run(options);
  REQUIRE(said.code == 0);
  const auto figures = nlohmann::json::parse(tests::read_text(options.json));
  // Text and page name all that was asked for; the title does not speak of other covers than the answer.
  const std::string asked =
      "Seed 1, each table planned alone, fresh … prompt 0.25, everything takes 1.5 times as long as the files say, "
      "durations scatter 2 times as far, orders taken from the sheet where it has them; without "
      "pudding; "
      "Garnish: 3 pairs of hands instead of 2, counting 2.74 instead of 1.74.";
  const std::string title = "Larkfold, Friday, 48 covers: brought to 30 covers";
  CHECK(said.out.rfind(title + "\n" + asked + "\n30 covers, 2 nights: the line ", 0) == 0);
  const std::string page = tests::read_text(options.page);
  CHECK(page.find(asked.substr(0, asked.find(" ("))) != std::string::npos);
  CHECK(page.find("<h1>Rehearsal: " + title) != std::string::npos);
  CHECK(figures.at("changed") ==
        nlohmann::json({"without pudding", "Garnish: 3 pairs of hands instead of 2, counting 2.74 instead of 1.74"}));
  CHECK(figures.at("covers") == 30);
  CHECK(figures.at("changes").empty());
  for (const auto& component : figures.at("components")) CHECK(component.at("id") != "pudding");
}

TEST_CASE("hands as the house has them are said to change nothing") {
  RehearseOptions options = larkfold_options();
  options.nights = 1;
  options.helped = 0;
  options.hands = {"garnish=2", "larder=1"};
  const Said said = run(options);
  REQUIRE(said.code == 0);
  CHECK(said.out.find("; Garnish: 2 pairs of hands, as the house has them (counting 1.74); Larder: 1 pair of hands, as "
                      "the house has it (counting 1).\n48 covers, 1 night: the line ") != std::string::npos);
}

TEST_CASE("bad options get one sentence and no figures") {
  RehearseOptions options = larkfold_options();
  const auto refused = [&](const std::string& sentence) {
    const Said said = run(options);
    CHECK(said.code == 1);
    CHECK(said.out.empty());
    CHECK(said.err == sentence + "\n");
  };
  SECTION("hands without a number") {
    options.hands = {"garnish"};
    refused("--hands \"garnish\": write a station and its pairs of hands, such as garnish=2");
  }
  SECTION("hands where nothing is cooked") {
    options.hands = {"pass=0"};
    refused("nothing is cooked at The pass: pairs of hands there change no night");
  }
  SECTION("the hands of a station twice") {
    options.hands = {"garnish=1", "garnish=3"};
    refused("--hands names garnish twice: say once how many pairs");
  }
  SECTION("no covers") {
    options.covers = 0;
    refused("0 covers: give at least 1");
  }
  SECTION("a seed below nothing") {
    options.seed = "-1";
    refused("--seed -1: give a whole number from 0 to 18446744073709551615");
  }
  SECTION("a seed beyond all") {
    options.seed = "12345678901234567890123";
    refused("--seed 12345678901234567890123: give a whole number from 0 to 18446744073709551615");
  }
  SECTION("a folder for a sheet") {
    options.bookings = {options.folder};
    refused(options.folder + " is a folder: name a file in it");
  }
  SECTION("half a pair") {
    options.hands = {"garnish=1.5"};
    refused("--hands \"garnish=1.5\": write a station and its pairs of hands, such as garnish=2");
  }
  SECTION("no nights") {
    options.nights = 0;
    refused("--nights 0: give 1 to 100000");
  }
  SECTION("an unknown plan") {
    options.plan = "best";
    refused("--plan \"best\": choose planner, alone, fixed or at_fire");
  }
  SECTION("a bias of nothing") {
    options.bias = 0;
    refused("--bias 0: give a factor up to 10");
  }
  SECTION("a sheet given twice") {
    const std::string sheet = options.folder + "/bookings.json";
    options.bookings = {sheet, sheet};
    refused(sheet + ": booking \"t3-1830\" stands on another sheet too");
  }
  SECTION("a sheet that is not there") {
    options.bookings = {"nowhere.json"};
    refused("nowhere.json cannot be read: check its name");
  }
  SECTION("a folder without a kitchen") {
    const Folder empty;
    options.folder = empty.file("");
    refused(options.folder + " holds no kitchen file: name the folder that holds house.json");
  }
}

TEST_CASE("an answer that cannot be written is refused before a night is played") {
  const Folder folder;
  RehearseOptions options = larkfold_options();
  options.nights = 100000;  // An hour, were they played.
  const auto refused = [&](const std::string& sentence) {
    const Said said = run(options);
    CHECK(said.code == 1);
    CHECK(said.out.empty());
    CHECK(said.err == sentence + "\n");
  };
  SECTION("figures in a folder that is not there") {
    options.json = folder.file("nowhere/figures.json");
    refused(options.json + " cannot be written: check the folder and its rights");
  }
  SECTION("a page in place of a folder") {
    options.page = folder.file("");
    refused(options.page + " cannot be written: check the folder and its rights");
  }
  SECTION("both in one file, and what stood there is left") {
    options.json = folder.file("both");
    options.page =
        folder.file("../") + std::filesystem::path(folder.file("")).parent_path().filename().string() + "/both";
    std::ofstream(options.json) << "kept";
    refused("--json and --page both name " + options.page + ": give each its own file");
    CHECK(tests::read_text(options.json) == "kept");
  }
  SECTION("no file is left behind") {
    options.json = folder.file("figures.json");
    options.plan = "best";
    CHECK(run(options).code == 1);
    options.plan = "alone";
    options.hands = {"pass=1"};
    CHECK(run(options).code == 1);
    CHECK_FALSE(std::filesystem::exists(options.json));
  }
}

TEST_CASE("the curve from fresh to prompt is said, drawn and written") {
  const Folder folder;
  RehearseOptions options = larkfold_options();
  options.nights = 1;
  options.helped = 0;
  options.curve = true;
  options.json = folder.file("figures.json");
  options.page = folder.file("page.html");
  const Said said = run(options);
  REQUIRE(said.code == 0);
  CHECK(said.out.find("Fresh (0) … prompt (1) on the same nights:") != std::string::npos);
  CHECK(said.out.find("\neach table alone: ") != std::string::npos);
  const auto figures = nlohmann::json::parse(tests::read_text(options.json));
  REQUIRE(figures.at("curve").size() == 6);
  CHECK(figures.at("curve")[5].at("late").at("mean") == figures.at("late").at("mean"));
  CHECK(tests::read_text(options.page).find("prompt 1.00</span>") != std::string::npos);
}
