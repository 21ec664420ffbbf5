// `nappe check`: the shipped house is fine; a broken copy of it is told line by line.

#include "client/check.hpp"

#include <catch2/catch.hpp>
#include <sstream>

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
                       Catch::Contains("% of the minutes of the card stand on what somebody said"));
}

TEST_CASE("faults are told one a line with file, line, column and pointer") {
  const Copy copy("faults");
  copy.change("larkfold/dishes.json", "\"component\": \"swede\"", "\"component\": \"sweed\"");
  const std::string said = check(copy.house(), 1);
  CHECK_THAT(said, Catch::Contains("/larkfold/dishes.json:20:") &&
                       Catch::Contains(": /dishes/3/parts/2/component: there is no component \"sweed\"; did you mean "
                                       "\"swede\"?\n"));
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

TEST_CASE("a folder that is not there or empty is told") {
  CHECK_THAT(check(config + "/nowhere", 1), Catch::Contains("the folder cannot be read"));
  const Copy copy("norules");
  fs::remove_all(fs::path(copy.house()) / ".." / "rules");
  CHECK_THAT(check(copy.house(), 1), Catch::Contains("there is no such folder of rule sets"));
}
