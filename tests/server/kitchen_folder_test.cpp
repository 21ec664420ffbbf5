#include "server/kitchen_folder.hpp"

#include <catch2/catch.hpp>
#include <fstream>

#include "tests/server/temporary_folder.hpp"

using namespace nappe;
using namespace nappe::server;

namespace {

const std::filesystem::path source(NAPPE_SOURCE_DIR);

}  // namespace

TEST_CASE("the shipped house is read, and its document is the same each time") {
  const KitchenFolders folders{source / "config/larkfold", source / "config/rules"};
  const auto read = read_kitchen(folders);
  for (const std::string& fault : read.faults) UNSCOPED_INFO(fault);
  REQUIRE(read.kitchen);
  CHECK(read.kitchen->name == "Larkfold");
  CHECK(read_kitchen_document(folders).value() == read_kitchen_document(folders).value());
}

TEST_CASE("an empty folder, a missing one and a rule set that nobody has are said") {
  const tests::TemporaryFolder empty;
  const auto none = read_kitchen({empty.path(), source / "config/rules"});
  REQUIRE_FALSE(none.kitchen);
  CHECK(none.faults.front().find("no kitchen files") != std::string::npos);
  CHECK_FALSE(read_kitchen({empty.path() / "nowhere", source / "config/rules"}).kitchen);
  CHECK_FALSE(read_kitchen({source / "config/larkfold", empty.path()}).kitchen);  // "england" is in no list now
  const auto document = read_kitchen_document({empty.path(), source / "config/rules"});
  CHECK(document.error().code == Errc::invalid);
}

TEST_CASE("a rule set that cannot be read stops the house") {
  const tests::TemporaryFolder rules;
  std::ofstream(rules.file("england.json")) << R"({"id": "england"})";
  const auto read = read_kitchen({source / "config/larkfold", rules.path()});
  CHECK_FALSE(read.kitchen);
  CHECK(read.faults.front().find("england.json") != std::string::npos);
}
