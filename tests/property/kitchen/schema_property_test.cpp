// Schema and loader agree: whatever the schema of a file refuses, its loader refuses too. (The loader knows more: what
// a file refers to.)

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validator.hpp>

#include "common/kitchen/batches.hpp"
#include "common/kitchen/bookings.hpp"
#include "common/kitchen/events.hpp"
#include "common/kitchen/prep.hpp"
#include "tests/property/kitchen/garble.hpp"
#include "tests/support/larkfold.hpp"

using namespace nappe;
using namespace nappe::kitchen;
using Json = nlohmann::json;

namespace {

bool loads(const std::string& path, const std::string& text, const Kitchen& house, const BookingSheet& friday) {
  if (path == "bookings.json") return load_bookings({path, text}, house).value.has_value();
  if (path == "batches.json") return load_batches({path, text}, house).value.has_value();
  if (path == "events.json") return load_events({path, text}, house, friday).value.has_value();
  auto files = tests::larkfold_files();
  if (path == "prep.json") {
    const auto sheet = std::find_if(files.begin(), files.end(), [](const File& f) { return f.path == "batches.json"; });
    return load_prep({path, text}, house, *load_batches(*sheet, house).value).value.has_value();
  }
  for (File& file : files) {
    if (file.path == path) file.text = text;
  }
  return load_kitchen(files, {"england"}).value.has_value();
}

}  // namespace

TEST_CASE("what a schema refuses no loader takes") {
  const Kitchen house = tests::larkfold();
  const auto shipped = tests::larkfold_files();
  const auto text_of = [&](const std::string& path) {
    return std::find_if(shipped.begin(), shipped.end(), [&](const File& f) { return f.path == path; })->text;
  };
  const auto friday = load_bookings({"bookings.json", text_of("bookings.json")}, house);
  REQUIRE(friday);
  const std::vector<std::pair<std::string, std::string>> rows{
      {"house.json", "house"},   {"stations.json", "stations"}, {"components/pastry.json", "components"},
      {"dishes.json", "dishes"}, {"batches.json", "batches"},   {"bookings.json", "bookings"},
      {"events.json", "events"}, {"prep.json", "prep"},         {"components/garnish.json", "components"}};
  int refused = 0;
  int both = 0;
  for (const auto& [path, kind] : rows) {
    const Json schema_text =
        Json::parse(tests::read_text(std::string(NAPPE_SOURCE_DIR) + "/config/schema/" + kind + ".schema.json"));
    valijson::Schema schema;
    valijson::SchemaParser().populateSchema(valijson::adapters::NlohmannJsonAdapter(schema_text), schema);
    const Json document = Json::parse(text_of(path));
    for (std::uint64_t seed = 0; seed < 150; ++seed) {
      tests::Random random(seed);
      Json broken = document;
      tests::garble_value(random, broken);
      const bool fits =
          valijson::Validator().validate(schema, valijson::adapters::NlohmannJsonAdapter(broken), nullptr);
      if (fits) {
        ++both;
        continue;
      }
      ++refused;
      INFO("SEED=" << seed << " " << path << "\n" << Json::diff(document, broken).dump());
      REQUIRE_FALSE(loads(path, broken.dump(), house, *friday.value));
    }
  }
  CHECK(refused > 300);
  CHECK(both > 50);
}
