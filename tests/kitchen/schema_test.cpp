// The JSON Schemas an editor uses: the shipped files fit them, broken ones do not. valijson is the judge here; the
// schemas keep to words that mean the same in the drafts it knows and in 2020-12.

#include <catch2/catch.hpp>
#include <map>
#include <nlohmann/json.hpp>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validation_results.hpp>
#include <valijson/validator.hpp>

#include "tests/support/larkfold.hpp"

using namespace nappe;
using Json = nlohmann::json;

namespace {

Json schema_json(const std::string& leaf) {
  return Json::parse(tests::read_text(std::string(NAPPE_SOURCE_DIR) + "/config/schema/" + leaf));
}

const valijson::Schema& schema_of(const std::string& kind) {
  static std::map<std::string, valijson::Schema> known;
  const auto [at, fresh] = known.try_emplace(kind);
  if (!fresh) return at->second;
  const auto fetch = [](const std::string& uri) -> const Json* {
    return new Json(schema_json(uri.substr(uri.rfind('/') + 1)));
  };
  const auto release = [](const Json* json) { delete json; };
  const Json text = schema_json(kind + ".schema.json");
  valijson::SchemaParser parser;
  parser.populateSchema(valijson::adapters::NlohmannJsonAdapter(text), at->second, fetch, release);
  return at->second;
}

bool fits(const std::string& kind, const Json& document, std::string* why = nullptr) {
  valijson::Validator validator;
  valijson::ValidationResults results;
  const bool fine = validator.validate(schema_of(kind), valijson::adapters::NlohmannJsonAdapter(document), &results);
  valijson::ValidationResults::Error error;
  while (why != nullptr && results.popError(error)) {
    for (const std::string& step : error.context) *why += step;
    *why += ": " + error.description + "\n";
  }
  return fine;
}

std::string kind_of(const Json& document) {
  const std::string name = document.at("$schema");
  const std::string leaf = name.substr(name.rfind('/') + 1);
  return leaf.substr(0, leaf.find('.'));
}

Json shipped(const std::string& path) {
  for (const kitchen::File& file : tests::larkfold_files()) {
    if (file.path == path) return Json::parse(file.text);
  }
  throw std::runtime_error("no file " + path);
}

}  // namespace

TEST_CASE("every shipped kitchen file fits the schema it names") {
  std::set<std::string> kinds;
  for (const kitchen::File& file : tests::larkfold_files()) {
    const Json document = Json::parse(file.text);
    const std::string kind = kind_of(document);
    kinds.insert(kind);
    if (kind == "rules") continue;  // held by the tests of the food rules
    std::string why;
    INFO(file.path);
    const bool fine = fits(kind, document, &why);
    INFO(why);
    CHECK(fine);
  }
  CHECK(kinds.size() == 9);
}

TEST_CASE("a kitchen in one document fits the schema of a kitchen") {
  const Json document = Json::parse(kitchen::to_document(tests::larkfold()));
  std::string why;
  const bool fine = fits("kitchen", document, &why);
  INFO(why);
  CHECK(fine);
  Json broken = document;
  broken["components"][0]["keep_s"] = 0;
  CHECK_FALSE(fits("kitchen", broken));
  broken = document;
  broken.erase("dishes");
  CHECK_FALSE(fits("kitchen", broken));
}

TEST_CASE("broken files do not fit") {
  struct Row {
    const char* file;
    const char* pointer;  // where the value goes
    const char* value;    // JSON; empty: the key is taken away
  };
  const std::vector<Row> rows{
      {"house.json", "/name", ""},
      {"house.json", "/rooms", "[]"},
      {"house.json", "/tables/0/seats", "0"},
      {"house.json", "/tables/0/seats", "\"2\""},
      {"house.json", "/settings/prompt", "1.5"},
      {"house.json", "/settings/spread", "30"},
      {"stations.json", "/stations/2/people/1/counts", "0"},
      {"stations.json", "/stations/0/equipment/0/places", "0"},
      {"stations.json", "/stations/0/id", "\"Sauce Station\""},
      {"components/garnish.json", "/components/0/cap", "0"},
      {"components/garnish.json", "/components/0/keep_s", "0"},
      {"components/garnish.json", "/components/0/keep", "90"},
      {"components/garnish.json", "/components/0/steps/0/kind", "\"mov\""},
      {"components/garnish.json", "/components/0/steps/0/origin", ""},
      {"components/garnish.json", "/components/0/steps/0/fixed_s", "-1"},
      {"components/garnish.json", "/components/0/steps/0/min_s", "10"},
      {"components/garnish.json", "/components/0/steps/4/max_s", ""},
      {"components/garnish.json", "/components/0/steps/4/fixed_s", "10"},
      {"components/garnish.json", "/components/0/steps/2/rounds/odds/seven", "0.2"},
      {"components/garnish.json", "/components/0/steps/2/rounds/steps", "[]"},
      {"components/garnish.json", "/components/0/steps/2/rounds/cue", "{\"too_far\": \"burnt\"}"},
      {"components/garnish.json", "/components/0/without/milk", "7"},
      {"components/pastry.json", "/components/0/plated_c/max_c", "\"52\""},
      {"dishes.json", "/dishes/0/letter", "\"em\""},
      {"dishes.json", "/dishes/0/price_pence", "16.5"},
      {"dishes.json", "/dishes/0/parts", "[]"},
      {"batches.json", "/batches/0/use_by_days", ""},
      {"batches.json", "/batches/0/life_min", "10"},
      {"batches.json", "/batches/0/made_at", "\"25.00\""},
      {"batches.json", "/batches/0/from/0/batch", "\"swede_puree\""},
      {"bookings.json", "/bookings/0/at", "\"half past six\""},
      {"bookings.json", "/bookings/0/orders/starters/0", "1"},
      {"bookings.json", "/bookings/3/guests/0/allergies", ""},
      {"events.json", "/events/0/kind", "\"cancelled\""},
      {"events.json", "/events/0/booking", ""},
      {"events.json", "/events/0/station", "\"garnish\""},
  };
  for (const Row& row : rows) {
    INFO(row.file << row.pointer << " = " << row.value);
    Json document = shipped(row.file);
    const std::string kind = kind_of(document);
    REQUIRE(fits(kind, document));
    const Json::json_pointer at(row.pointer);
    if (std::string(row.value).empty()) {
      document[at.parent_pointer()].erase(at.back());
    } else {
      document[at] = Json::parse(row.value);
    }
    CHECK_FALSE(fits(kind, document));
  }
}
