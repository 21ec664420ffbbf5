// `nappe check`: the shipped house is fine; a broken copy of it is told line by line.

#include "client/check.hpp"

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <sstream>

#include "common/kitchen/origin.hpp"
#include "common/kitchen/worth.hpp"
#include "tests/support/larkfold.hpp"

using namespace nappe;
namespace fs = std::filesystem;

namespace {

const std::string config = std::string(NAPPE_SOURCE_DIR) + "/config";

// A copy of the shipped house that goes away by itself.
class Copy {
 public:
  explicit Copy(const std::string& name) : root_(fs::path(NAPPE_BINARY_DIR) / ("check-" + name)) {
    fs::remove_all(root_);
    fs::create_directories(root_);
    fs::copy(config + "/larkfold", root_ / "larkfold", fs::copy_options::recursive);
    fs::copy(config + "/rules", root_ / "rules", fs::copy_options::recursive);
  }
  ~Copy() { fs::remove_all(root_); }
  Copy(const Copy&) = delete;
  Copy& operator=(const Copy&) = delete;

  [[nodiscard]] std::string house() const { return (root_ / "larkfold").string(); }
  void change(const std::string& file, const std::string& from, const std::string& to) const {
    std::string text = tests::read_text(root_ / file);
    REQUIRE(text.find(from) != std::string::npos);
    text.replace(text.find(from), from.size(), to);
    std::ofstream(root_ / file, std::ios::binary) << text;
  }
  void remove(const std::string& file) const { fs::remove(root_ / file); }

 private:
  fs::path root_;
};

std::string check(const std::string& dir, int expected) {
  std::ostringstream out;
  CHECK(client::check_command(dir, out) == expected);
  return out.str();
}

}  // namespace

TEST_CASE("the shipped house is checked and summed up") {
  const std::string said = check(config + "/larkfold", 0);
  CHECK_THAT(said, Catch::StartsWith("ok: Larkfold, version ") && Catch::Contains("7 stations, 9 people, 15 tables") &&
                       Catch::Contains("8 dishes, 18 components, ") && Catch::Contains("rule set England") &&
                       Catch::Contains("14 batches, 20 bookings for 60 covers, 12 events") &&
                       Catch::Contains("of the minutes of the card "));
}

TEST_CASE("every check prints the share of the card's minutes that stand on what somebody said, were timed or learnt") {
  const std::string said = check(config + "/larkfold", 0);
  const kitchen::OriginTimes times = kitchen::origin_times(tests::larkfold());
  CHECK_THAT(said, Catch::Contains(fmt::format("{:.0f} % stand on what somebody said, {:.0f} % were timed, {:.0f} % "
                                               "learnt",
                                               100 * in_seconds(times.said) / in_seconds(times.all()),
                                               100 * in_seconds(times.timed) / in_seconds(times.all()),
                                               100 * in_seconds(times.learnt) / in_seconds(times.all()))));
}

TEST_CASE("the card lists emmer last among the dishes that use garnish, and pollack first, by worth of a minute") {
  // Worked out once by a separate program from the demo's invented times and prices: pounds per garnish minute, two
  // portions a pan.
  const std::string said = check(config + "/larkfold", 0);
  CHECK_THAT(said, Catch::Contains("garnish is the tightest station; for each of its minutes (two portions a pan): "
                                   "pollack 35.85, hogget 24.40, mushroom 16.25, leek 11.48, emmer 4.74\n"));
  const auto worth = kitchen::worth_of(tests::larkfold(), "garnish");
  REQUIRE(worth.size() == 5);
  const std::vector<std::pair<std::string, double>> figures{
      {"pollack", 35.8}, {"hogget", 24.4}, {"mushroom", 16.2}, {"leek", 11.5}, {"emmer", 4.7}};
  for (std::size_t i = 0; i < figures.size(); ++i) {
    CHECK(worth[i].dish == figures[i].first);
    CHECK(worth[i].pence_per_minute / 100 == Approx(figures[i].second).margin(0.051));
  }
}

TEST_CASE("the pudding's three clocks come from temperatures and are told") {
  const std::string said = check(config + "/larkfold", 0);
  CHECK_THAT(said, Catch::Contains("pudding: rests 4:30 to 6:00 after \"unmould\" (at 52 C after 4:26, at 43 C after "
                                   "7:00, 0:32 of plating)\n"));
  CHECK_THAT(said, Catch::Contains("pudding, frozen buttermilk: keeps 1:40 once plated (-14 C to -5.4 C in 23 C)\n"));
}

TEST_CASE("faults are told one a line with file, line, column and pointer") {
  const Copy copy("faults");
  copy.change("larkfold/dishes.json", "\"component\": \"swede\"", "\"component\": \"sweed\"");
  const std::string said = check(copy.house(), 1);
  CHECK_THAT(said, Catch::Contains("/larkfold/dishes.json:20:") &&
                       Catch::Contains(": /dishes/3/parts/2/component: there is no component \"sweed\"; did you mean "
                                       "\"swede\"?\n"));
}

TEST_CASE("a sheet that fails at 58 C on a component plated at 60 C is told with file and line") {
  const Copy copy("melts");
  copy.change("larkfold/components/pastry.json", "\"max_c\": 52", "\"max_c\": 60");
  CHECK_THAT(check(copy.house(), 1),
             Catch::Contains("/larkfold/components/pastry.json:14:9: /components/0/layers/0: \"whey_sheet\" lies on "
                             "\"pudding\", which is plated at up to 60 C; the house limit is 52 C, it fails at 58 C; "
                             "let it cool longer before it is plated, or change what lies on it\n"));
}

TEST_CASE("sheets, batches and rules are held against the house") {
  const Copy copy("sheets");
  copy.change("larkfold/bookings.json", "\"table\": \"3\"", "\"table\": \"33\"");
  copy.change("larkfold/events.json", "\"tom\"", "\"tim\"");
  copy.change("larkfold/rules.json", "\"max_c\": 5", "\"max_c\": 9");
  const std::string said = check(copy.house(), 1);
  CHECK_THAT(said, Catch::Contains("bookings.json:6:") && Catch::Contains("there is no table \"33\""));
  CHECK_THAT(said, Catch::Contains("there is no person \"tim\""));
  CHECK_THAT(said, Catch::Contains("rules.json:12:") && Catch::Contains("/chill_holding/max_c") &&
                       Catch::Contains("A house may be stricter, not looser"));
  const Copy bare("bare");
  bare.remove("larkfold/batches.json");
  CHECK_THAT(check(bare.house(), 1), Catch::Contains("is drawn from batches, but no file holds batches"));
}

TEST_CASE("the card's allergens are held against what the rule set in force wants declared") {
  CHECK_THAT(
      check(config + "/larkfold", 0),
      Catch::Contains("of the 14 groups to be declared (Regulation (EU) No 1169/2011, Annex II, as retained; Food "
                      "Information Regulations 2014) the card holds: wheat, rye, barley, oats, egg, fish, milk, "
                      "walnut, celery, sulphites, molluscs\n"));
  const Copy copy("american");
  copy.change("larkfold/house.json", "\"england\"", "\"us-food-code-2022\"");
  copy.remove("larkfold/rules.json");
  CHECK_THAT(check(copy.house(), 0),
             Catch::Contains("of the 9 groups to be declared") &&
                 Catch::Contains("the card holds: wheat, egg, fish, milk, walnut; besides: rye, "
                                 "barley, oats, celery, sulphites, molluscs\n"));
  copy.change("rules/us-food-code-2022.json", "\"sesame\"", "\"seasme\"");
  CHECK_THAT(check(copy.house(), 1),
             Catch::Contains("/allergens/groups/8: \"seasme\" is none of the allergens known; did "
                             "you mean \"sesame\"?"));
}

TEST_CASE("a prep sheet that chills slower than the rule set in force allows is a fault") {
  const Copy copy("slow");
  copy.change("larkfold/prep.json", "\"within_min\": 90", "\"within_min\": 100");
  CHECK_THAT(check(copy.house(), 1),
             Catch::Contains("yeast_broth: chilling to 8 C within 1:40:00, but the limit is 8 C within 1:30:00 "
                             "(food-safety plan of Larkfold (invented))"));
  const Copy loose("loose");
  loose.change("larkfold/prep.json", "\"to_c\": 8", "\"to_c\": 10");
  CHECK_THAT(check(loose.house(), 1), Catch::Contains("chilling to 10 C within 1:30:00, but the limit is 8 C within"));
}

TEST_CASE("a folder that is not there or empty is told") {
  CHECK_THAT(check(config + "/nowhere", 1), Catch::Contains("the folder cannot be read"));
  const Copy copy("norules");
  fs::remove_all(fs::path(copy.house()) / ".." / "rules");
  CHECK_THAT(check(copy.house(), 1), Catch::Contains("there is no such folder of rule sets"));
}
