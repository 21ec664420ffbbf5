// Whole documents of the made-up evening, compared with the files in tests/wire/golden. To see what changed, read the
// merge patch that the failure prints; NAPPE_WRITE_GOLDEN=1 writes the files anew, for reading the difference in git.

#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

#include "common/wire/merge_patch.hpp"
#include "common/wire/screens.hpp"
#include "tests/wire/evening.hpp"

using namespace nappe;
using nlohmann::json;

namespace {

json read_file(const std::string& path) {
  std::ifstream file(std::string(NAPPE_SOURCE_DIR) + "/" + path);
  REQUIRE(file);
  return json::parse(file);
}

}  // namespace

TEST_CASE("screens: the made-up evening gives the golden documents") {
  const line::State state = tests::evening();
  const auto screens = wire::build_screens(state, tests::evening_plan(state), tests::at(0));
  const std::pair<const char*, const char*> files[] = {{"pass", "pass.json"},
                                                       {"floor", "floor.json"},
                                                       {"station:garnish", "garnish.json"},
                                                       {"station:sauce", "sauce.json"},
                                                       {"station:larder", "larder.json"}};
  for (const auto& [screen, file] : files) {
    const std::string path = std::string("tests/wire/golden/") + file;
    if (std::getenv("NAPPE_WRITE_GOLDEN") != nullptr)
      std::ofstream(std::string(NAPPE_SOURCE_DIR) + "/" + path) << screens.documents.at(screen).dump(1) << "\n";
    const json golden = read_file(path);
    CAPTURE(screen, wire::merge_patch_diff(golden, screens.documents.at(screen)).dump(2));
    CHECK(screens.documents.at(screen) == golden);
  }
}
