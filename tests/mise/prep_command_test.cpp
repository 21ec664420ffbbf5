// `nappe prep`: what it prints and writes, and what is crossed out.
#include <unistd.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <sstream>

#include "client/crossings.hpp"
#include "client/grid.hpp"
#include "client/prep.hpp"
#include "tests/support/larkfold.hpp"

using namespace nappe;
using client::Crossings;
using client::CrossingsFile;
using client::PrepOptions;

namespace {

const std::string larkfold = std::string(NAPPE_SOURCE_DIR) + "/config/larkfold";

// A folder of this process's own, gone at the end: ctest runs the cases of this program side by side.
class Folder {
 public:
  Folder() : path_(std::filesystem::path(NAPPE_BINARY_DIR) / ("prep_test_" + std::to_string(getpid()))) {
    std::filesystem::create_directories(path_);
  }
  ~Folder() { std::filesystem::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  [[nodiscard]] std::string file(const std::string& name) const { return (path_ / name).string(); }

 private:
  std::filesystem::path path_;
};

struct Said {
  int code = 0;
  std::string out;
  std::string err;
};

Said run(const PrepOptions& options) {
  std::ostringstream out;
  std::ostringstream err;
  const int code = client::prep_command(options, out, err);
  return {code, out.str(), err.str()};
}

PrepOptions options_in(const Folder& folder) {
  PrepOptions options;
  options.folder = larkfold;
  options.crossings = folder.file("list.crossed");
  options.columns = 400;  // so that a line of the list is a line here
  return options;
}

}  // namespace

TEST_CASE("the prep list of the demo Friday is printed, with its page and its figures") {
  const Folder folder;
  PrepOptions options = options_in(folder);
  options.page = folder.file("prep.html");
  options.json = folder.file("prep.json");
  const Said said = run(options);
  CHECK(said.code == 0);
  CHECK(said.err.empty());
  CHECK_THAT(said.out, Catch::StartsWith("Larkfold: Friday, 48 covers\n48 covers, 16 parties"));
  CHECK_THAT(said.out, Catch::Contains("hogget loins, trimmed and tied: 25 wanted (mean 19.2), 6 there, 19 more; make "
                                       "19 portions\n"));
  CHECK_THAT(said.out, Catch::Contains("responsible person decide"));
  CHECK(tests::read_text(options.page).find("<h1>Larkfold: Friday, 48 covers</h1>") != std::string::npos);
  CHECK(nlohmann::json::parse(tests::read_text(options.json)).at("covers") == 48);
}

TEST_CASE("against other bookings only the difference is printed") {
  const Folder folder;
  PrepOptions options = options_in(folder);
  options.against = {larkfold + "/bookings.json"};
  CHECK(run(options).out == "nothing changes\n");
  options.bookings = {larkfold + "/bookings.json", larkfold + "/saturday.json"};
  const Said said = run(options);
  CHECK(said.code == 0);
  CHECK_THAT(said.out, Catch::StartsWith("+12 covers: 60 instead of 48\n") &&
                           Catch::Contains(" pollack, portioned: ") && !Catch::Contains("how much"));
}

TEST_CASE("a line is crossed out, stays so in the next run, and the last crossing is taken back") {
  const Folder folder;
  PrepOptions options = options_in(folder);
  CHECK_THAT(run(options).out, Catch::Contains("  1 [ ] ") && Catch::Contains("  2 [ ] "));
  options.cross = {"1", "check/loin"};
  CHECK(run(options).out == "crossed out: throw/mackerel_cured\ncrossed out: check/loin\n");
  options.cross.clear();
  CHECK_THAT(run(options).out, Catch::Contains("  1 [x] ") && Catch::Contains("[x]       sauce    hogget loins"));
  options.undo = true;
  CHECK(run(options).out == "taken back: check/loin\n");
  options.undo = false;
  CHECK_THAT(run(options).out, Catch::Contains("  1 [x] ") && Catch::Contains("[ ]       sauce    hogget loins"));
  options.cross = {"1"};
  CHECK(run(options).out == "no longer crossed out: throw/mackerel_cured\n");
  options.cross.clear();
  options.undo = true;
  CHECK(run(options).out == "taken back: throw/mackerel_cured\n");
  CHECK(run(options).out == "taken back: throw/mackerel_cured\n");
  CHECK(run(options).out == "nothing was crossed out\n");
}

TEST_CASE("a wrong wish is told in one sentence and changes nothing") {
  const Folder folder;
  PrepOptions options = options_in(folder);
  options.cross = {"1", "4711"};
  Said said = run(options);
  CHECK(said.code == 1);
  CHECK_THAT(said.err, Catch::StartsWith("there is no line 4711 on the list: its lines are 1 to "));
  options.cross.clear();
  CHECK_THAT(run(options).out, Catch::Contains("  1 [ ] "));
  options.ratio = 1.5;
  CHECK(run(options).err == "--ratio 1.5: give 0.01 to 0.999\n");
  options.ratio.reset();
  options.folder = folder.file("nowhere");
  CHECK(run(options).code == 1);
  options.folder = larkfold;
  options.bookings = {folder.file("none.json")};
  CHECK_THAT(run(options).err, Catch::Contains("none.json cannot be read"));
  options.bookings.clear();
  options.page = folder.file("no/such/folder.html");
  CHECK_THAT(run(options).err, Catch::Contains("cannot be written"));
}

TEST_CASE("a folder without a prep file says what to add") {
  const Folder folder;
  const std::string copy = folder.file("house");
  std::filesystem::copy(larkfold, copy, std::filesystem::copy_options::recursive);
  std::filesystem::remove(copy + "/prep.json");
  PrepOptions options = options_in(folder);
  options.folder = copy;
  CHECK_THAT(run(options).err, Catch::Contains("holds no prep file: add one whose \"$schema\" is"));
}

TEST_CASE("what is crossed out follows from the acts, a torn file loses only its last one") {
  Crossings crossings;
  crossings.toggle("a");
  crossings.toggle("b");
  crossings.toggle("a");
  CHECK(crossings.all() == std::vector<std::string>{"b"});
  CHECK(Crossings::read(crossings.write()).all() == crossings.all());
  CHECK(crossings.undo() == "a");
  CHECK(crossings.all() == std::vector<std::string>{"a", "b"});
  CHECK(Crossings::read("+a\n+b\n?").all() == std::vector<std::string>{"a", "b"});
  CHECK(Crossings::read("\n\n+\n").all().empty());
}

TEST_CASE("one list is crossed out by one process at a time") {
  const Folder folder;
  const auto first = CrossingsFile::open(folder.file("list.crossed"));
  REQUIRE(first);
  CHECK(run(options_in(folder)).err ==
        "another screen of this machine has this prep list: close it, or cross out there\n");
}

TEST_CASE("the list is folded to the width it is given: no line is wider, and no word is lost") {
  const Folder folder;
  PrepOptions options = options_in(folder);
  const std::string wide = run(options).out;
  const auto words = [](const std::string& text) {
    std::istringstream in(text);
    return std::vector<std::string>{std::istream_iterator<std::string>(in), std::istream_iterator<std::string>()};
  };
  for (const int columns : {80, 60}) {
    options.columns = columns;
    const std::string narrow = run(options).out;
    CHECK(words(narrow) == words(wide));
    std::istringstream lines(narrow);
    for (std::string line; std::getline(lines, line);) {
      INFO(line);
      CHECK(client::columns_of(line) <= columns);
    }
  }
}

TEST_CASE(
    "row 12: with the record's batches the fridge holds what is fit and lasts to the last plates, each by its name") {
  const Folder folder;
  PrepOptions options = options_in(folder);
  const Instant morning = *from_rfc3339("2026-11-20T09:00:00Z");
  client::LiveRecord record{{}, morning, {}};
  const auto add = [&](const char* id, std::optional<int> portions, std::optional<int> grams, Duration lasts,
                       const char* unfit, const char* kind) {
    record.batches.push_back({id, kind, portions, grams, "walk-in", morning + lasts, unfit});
  };
  add("loin-20261119", 4, {}, minutes(24 * 60), "", "loin");
  add("loin-20261120", 2, {}, minutes(48 * 60), "", "loin");
  add("loin-20261120-2", 9, {}, minutes(4 * 60), "", "loin");  // not tonight
  add("loin-20261120-3", 9, {}, minutes(48 * 60), "it has no label", "loin");
  add("loin-20261120-4", {}, {}, minutes(48 * 60), "", "loin");
  add("loin-20261117", 3, {}, minutes(-9 * 60), "past its use-by", "loin");
  add("damson_stock-20261119", {}, 359, minutes(48 * 60), "", "damson_stock");
  options.live = [&] { return Result<client::LiveRecord>(record); };
  const Said said = run(options);
  CHECK(said.code == 0);
  CHECK_THAT(said.out, Catch::Contains("hogget loins, trimmed and tied: 25 wanted (mean 19.2), 6 there, 19 more"));
  CHECK_THAT(said.out, Catch::Contains("[4 of loin-20261119 (walk-in, use by 2026-11-21 09:00); 2 of loin-20261120"));
  CHECK_THAT(said.out, Catch::Contains("none of loin-20261120-2: it ends 2026-11-20 13:00, before the last plates"));
  CHECK_THAT(said.out, Catch::Contains("none of loin-20261120-3: it has no label"));
  CHECK_THAT(said.out, Catch::Contains("none of loin-20261120-4: nobody has counted it"));
  CHECK_THAT(said.out, Catch::Contains("3 portions of loin-20261117, use by 2026-11-20 00:00"));
  // What was weighed is whole portions: 359 g in portions of 60 g are five.
  CHECK_THAT(said.out, Catch::Contains("5 of damson_stock-20261119"));

  options.live = [] { return Result<client::LiveRecord>(Error{Errc::unavailable, "no server at 127.0.0.1:1", {}}); };
  const Said none = run(options);
  CHECK(none.code == 1);
  CHECK(none.err == "no server at 127.0.0.1:1\n");
}
