// A byte or a key of a shipped file deleted, doubled or garbled: the loader never crashes, and either the house still
// loads or every fault has a place inside its file.

#include <algorithm>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "common/kitchen/batches.hpp"
#include "common/kitchen/bookings.hpp"
#include "common/kitchen/events.hpp"
#include "tests/property/kitchen/garble.hpp"
#include "tests/support/larkfold.hpp"
#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::kitchen;
using Json = nlohmann::json;

namespace {

void garble_bytes(tests::Random& random, std::string& text) {
  for (std::int64_t n = random.between(1, 2); n > 0 && !text.empty(); --n) {
    const auto at = static_cast<std::size_t>(random.between(0, static_cast<std::int64_t>(text.size()) - 1));
    switch (random.between(0, 2)) {
      case 0:
        text.erase(at, static_cast<std::size_t>(random.between(1, 4)));
        break;
      case 1:
        text.insert(at, 1, text[at]);
        break;
      default:
        text[at] = random.chance(0.5) ? static_cast<char>(random.between(0, 255)) : "{}[]\",:0-e"[random.between(0, 9)];
    }
  }
}

void check_faults(const std::vector<Fault>& faults, const std::vector<File>& files) {
  REQUIRE_FALSE(faults.empty());
  for (const Fault& fault : faults) {
    INFO(to_string(fault));
    REQUIRE_FALSE(fault.what.empty());
    if (fault.file.empty()) continue;  // a file that is missing has no place
    const auto file = std::find_if(files.begin(), files.end(), [&](const File& f) { return f.path == fault.file; });
    REQUIRE(file != files.end());
    const auto lines = 1 + std::count(file->text.begin(), file->text.end(), '\n');
    REQUIRE(fault.line >= 1);
    REQUIRE(fault.line <= lines);
    std::size_t from = 0;
    for (int line = 1; line < fault.line; ++line) from = file->text.find('\n', from) + 1;
    const std::size_t end = std::min(file->text.find('\n', from), file->text.size());
    REQUIRE(fault.column >= 1);
    REQUIRE(fault.column <= static_cast<int>(end - from) + 1);
    // The pointer leads somewhere, or to the place in its parent where a key is missing.
    const auto document = Json::parse(file->text, nullptr, false);
    if (document.is_discarded()) {
      continue;
    }
    REQUIRE(document.contains(Json::json_pointer(fault.pointer)));
  }
}

}  // namespace

TEST_CASE("no broken house crashes the loader, and every fault has a place") {
  const auto shipped = tests::larkfold_files();
  int loaded_anyway = 0;
  int broken = 0;
  for (std::uint64_t seed = 0; seed < 500; ++seed) {
    tests::Random random(seed);
    auto files = shipped;
    File& file = files[static_cast<std::size_t>(random.between(0, static_cast<std::int64_t>(files.size()) - 1))];
    if (random.chance(0.4)) {
      garble_bytes(random, file.text);
    } else {
      Json document = Json::parse(file.text);
      tests::garble_value(random, document);
      file.text = document.dump(random.chance(0.5) ? 2 : -1);
    }
    INFO("SEED=" << seed << " " << file.path);
    const auto loaded = load_kitchen(files, {"england"});
    REQUIRE(loaded.value.has_value() == loaded.faults.empty());
    if (!loaded) {
      ++broken;
      check_faults(loaded.faults, files);
      continue;
    }
    ++loaded_anyway;
    const std::string text = to_document(*loaded.value);
    const auto again = from_document(text);
    REQUIRE(again);
    REQUIRE(*again.value == *loaded.value);
    REQUIRE(to_document(*again.value) == text);
  }
  CHECK(loaded_anyway > 30);
  CHECK(broken > 200);
}

TEST_CASE("no broken sheet crashes its loader, and every fault has a place") {
  const Kitchen house = tests::larkfold();
  const auto shipped = tests::larkfold_files();
  const auto file_of = [&](const std::string& path) {
    return *std::find_if(shipped.begin(), shipped.end(), [&](const File& f) { return f.path == path; });
  };
  const auto friday = load_bookings(file_of("bookings.json"), house);
  REQUIRE(friday);
  int broken = 0;
  for (std::uint64_t seed = 0; seed < 1500; ++seed) {
    tests::Random random(seed);
    const std::vector<std::string> paths{"bookings.json", "batches.json", "events.json"};
    File file = file_of(random.pick(paths));
    if (random.chance(0.4)) {
      garble_bytes(random, file.text);
    } else {
      Json document = Json::parse(file.text);
      tests::garble_value(random, document);
      file.text = document.dump(2);
    }
    INFO("SEED=" << seed << " " << file.path);
    std::vector<Fault> faults;
    bool value = false;
    const auto keep = [&](auto loaded) {
      faults = std::move(loaded.faults);
      value = loaded.value.has_value();
    };
    if (file.path == "bookings.json") keep(load_bookings(file, house));
    if (file.path == "batches.json") keep(load_batches(file, house));
    if (file.path == "events.json") keep(load_events(file, house, *friday.value));
    REQUIRE(value == faults.empty());
    if (value) continue;
    ++broken;
    check_faults(faults, {file});
  }
  CHECK(broken > 200);
}
