// Reading rule sets, the house's own, and the JSON Schema that describes them.

#include "common/food/rules.hpp"
#include "tests/support/rule_files.hpp"

#include <catch2/catch.hpp>
#include <fstream>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validator.hpp>

using namespace nappe;
using namespace nappe::food;
using nappe::tests::rules_of;
using nappe::tests::rules_text;
using Json = nlohmann::json;

namespace {

const char* const shipped[] = {"england", "scotland", "eu-852-2004", "us-food-code-2022"};

std::string file_text(const std::string& name) {
  std::ifstream in(std::string(NAPPE_SOURCE_DIR "/config/") + name);
  REQUIRE(in.good());
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

class Schema {
 public:
  Schema() {
    const Json document = Json::parse(file_text("schema/rules.schema.json"));
    valijson::SchemaParser parser;
    parser.populateSchema(valijson::adapters::NlohmannJsonAdapter(document), schema_);
  }
  bool accepts(const Json& document) const {
    valijson::Validator validator;
    return validator.validate(schema_, valijson::adapters::NlohmannJsonAdapter(document), nullptr);
  }

 private:
  valijson::Schema schema_;
};

// Every place in a document, deepest first.
void pointers(const Json& value, const Json::json_pointer& at, std::vector<Json::json_pointer>& out) {
  if (value.is_object()) {
    for (const auto& item : value.items()) pointers(item.value(), at / item.key(), out);
  } else if (value.is_array()) {
    for (std::size_t i = 0; i < value.size(); ++i) pointers(value[i], at / i, out);
  }
  if (!at.empty()) out.push_back(at);
}

const char* const house_head = R"("id": "larkfold", "name": "Larkfold", "edition": "own", "as_of": "2026-11-01")";
const char* const own =
    R"("source": {"text": "food-safety plan of the house", "standing": "house", "verified": "own"})";

RuleSet house_of(const std::string& sections) {
  const auto house = parse_rule_set(std::string("{") + house_head + ", " + sections + "}");
  if (!house) FAIL(house.error().where << ": " << house.error().detail);
  return *house;
}

std::string with_source(std::string sections) {
  for (std::size_t at = sections.find('@'); at != std::string::npos; at = sections.find('@'))
    sections.replace(at, 1, own);
  return sections;
}

}  // namespace

TEST_CASE("every shipped rule set is read, accepted by its schema, and names its own file") {
  const Schema schema;
  for (const char* id : shipped) {
    INFO(id);
    const RuleSet rules = rules_of(id);
    CHECK(rules.id == id);
    CHECK(schema.accepts(Json::parse(rules_text(id))));
  }
}

TEST_CASE("every source of the shipped rule sets says where it is from and how far it was checked") {
  for (const char* id : shipped) {
    INFO(id);
    std::vector<Json::json_pointer> all;
    const Json document = Json::parse(rules_text(id));
    pointers(document, Json::json_pointer(), all);
    int sources = 0;
    for (const auto& at : all) {
      if (at.back() != "source") continue;
      ++sources;
      const Json& source = document.at(at);
      CHECK(source.at("standing") != "house");
      CHECK(source.at("verified") != "own");
      // What is not from the text itself must say what it is from.
      if (source.at("verified") != "primary") CHECK(source.contains("note"));
    }
    CHECK(sources >= 4);
  }
}

TEST_CASE("whatever the schema refuses the reader refuses too, with a place and a sentence") {
  const Schema schema;
  int refused = 0;
  for (const char* id : shipped) {
    const Json document = Json::parse(rules_text(id));
    std::vector<Json::json_pointer> all;
    pointers(document, Json::json_pointer(), all);
    for (const auto& at : all) {
      std::vector<Json> changes;
      const auto change = [&](auto alter) {
        changes.push_back(document);
        alter(changes.back());
      };
      if (document.at(at.parent_pointer()).is_object()) {
        change([&](Json& d) { d.at(at.parent_pointer()).erase(at.back()); });
      }
      change([&](Json& d) { d[at] = Json::array({Json::object()}); });
      if (document.at(at).is_string()) change([&](Json& d) { d[at] = ""; });
      if (document.at(at).is_number()) change([&](Json& d) { d[at] = 1e9; });
      if (document.at(at).is_object()) change([&](Json& d) { d[at]["colour"] = "red"; });
      for (const Json& changed : changes) {
        if (schema.accepts(changed)) continue;
        ++refused;
        const auto read = parse_rule_set(changed.dump());
        INFO(id << " changed at " << at.to_string());
        REQUIRE_FALSE(read);
        CHECK(read.error().code == Errc::invalid);
        CHECK_FALSE(read.error().detail.empty());
      }
    }
  }
  CHECK(refused > 700);
}

TEST_CASE("a fault is named by its place") {
  Json document = Json::parse(rules_text("england"));
  const auto place_of = [](const Json& changed) {
    const auto read = parse_rule_set(changed.dump());
    REQUIRE_FALSE(read);
    return read.error().where;
  };
  Json typo = document;
  typo["hot_holding"]["min_C"] = 63;
  CHECK(place_of(typo) == "/hot_holding/min_C");
  Json odd_key = document;
  odd_key["cooling"]["stages"][0]["a/b~c"] = 1;
  CHECK(place_of(odd_key) == "/cooling/stages/0/a~1b~0c");
  Json hot = document;
  hot["reheating"]["holds"][2]["min_c"] = 700;
  CHECK(place_of(hot) == "/reheating/holds/2/min_c");
  Json backwards = document;
  backwards["cooling"]["stages"][0]["from_c"] = 5;
  CHECK(place_of(backwards) == "/cooling/stages/0");
  Json day = document;
  day["as_of"] = "2026-02-30";
  CHECK(place_of(day) == "/as_of");
  Json standing = document;
  standing["chill_holding"]["source"]["standing"] = "opinion";
  CHECK(place_of(standing) == "/chill_holding/source/standing");
  Json both = document;
  both["hot_holding"]["no_number"] = true;
  CHECK(place_of(both) == "/hot_holding/min_c");
  Json half = Json::parse(rules_text("us-food-code-2022"));
  half["reheating"].erase("counted_from_c");
  CHECK(place_of(half) == "/reheating");
  Json gone = document;
  gone.erase("name");
  CHECK(place_of(gone).empty());
}

TEST_CASE("text that is no JSON, or says a key twice, is refused") {
  CHECK_FALSE(parse_rule_set(""));
  CHECK_FALSE(parse_rule_set("{"));
  CHECK_FALSE(parse_rule_set("[]"));
  CHECK_FALSE(parse_rule_set("null"));
  CHECK_FALSE(parse_rule_set(std::string("{") + house_head + "} x"));
  CHECK_FALSE(parse_rule_set(std::string(100'000, '[')));
  const auto twice = parse_rule_set(std::string("{") + house_head + R"(, "name": "Other"})");
  REQUIRE_FALSE(twice);
  CHECK(twice.error().detail.find("name") != std::string::npos);
  CHECK(parse_rule_set(std::string("{ // a comment\n") + house_head + "}"));
}

TEST_CASE("a house may be stricter") {
  const RuleSet england = rules_of("england");
  const RuleSet house = house_of(with_source(R"(
    "hot_holding": {"min_c": 65, @},
    "chill_holding": {"max_c": 5, "outside": {"minutes": 60, "periods": 1, @}, @},
    "cooling": {"stages": [{"to_c": 5, "minutes": 90}], @},
    "reheating": {"holds": [{"min_c": 75, "seconds": 30}], "times": 1, @},
    "keeping": [{"what": "vacuum packed", "days": 5, "max_c": 5, @}, {"what": "puree", "days": 3, @}])"));
  const auto both = with_house(england, house);
  if (!both) FAIL(both.error().where << ": " << both.error().detail);
  CHECK(both->id == "england");
  CHECK(both->hot_holding->min_c == 65.0);
  CHECK(both->hot_holding->source.rule == "Larkfold");
  CHECK(both->hot_holding->outside->shorter_than == minutes(120));  // the rule set's allowance stays
  CHECK(both->chill_holding->outside->shorter_than == minutes(60));
  CHECK(both->cooling->stages.front().to_c == 5);
  CHECK(both->reheating->holds.size() == 1);
  CHECK(both->keeping.size() == 2);
  CHECK(both->keeping.front().days == 5);
  CHECK(both->cooking.size() == england.cooking.size());
}

TEST_CASE("a house may declare more allergens than the rule set asks for, never fewer") {
  const RuleSet us = rules_of("us-food-code-2022");
  const auto both = with_house(us, house_of(with_source(R"("allergens": {"groups": ["celery", "milk"], @})")));
  REQUIRE(both);
  REQUIRE(both->allergens);
  CHECK(both->allergens->groups.size() == 10);
  CHECK(both->allergens->groups.back() == "celery");
  CHECK(both->allergens->source.text == us.allergens->source.text);
  CHECK_FALSE(parse_rule_set(std::string("{") + house_head + ", " +
                             with_source(R"("allergens": {"groups": ["milk", "milk"], @}})")));
}

TEST_CASE("a house that says the same, or nothing, changes nothing but the name on it") {
  for (const char* id : shipped) {
    INFO(id);
    const RuleSet rules = rules_of(id);
    const auto same = with_house(rules, rules);
    if (!same) FAIL(same.error().where << ": " << same.error().detail);
    const auto nothing = with_house(rules, RuleSet{});
    REQUIRE(nothing);
    CHECK(nothing->cooking.size() == rules.cooking.size());
    CHECK(nothing->hot_holding->min_c == rules.hot_holding->min_c);
  }
}

TEST_CASE("a house may not be looser, and is told which limit it loosens") {
  struct Case {
    const char* rules;
    const char* sections;
    const char* where;
  };
  const Case cases[] = {
      {"england", R"("hot_holding": {"min_c": 60, @})", "/hot_holding/min_c"},
      {"england", R"("hot_holding": {"min_c": 63, "outside": {"minutes": 180, "periods": 1, @}, @})",
       "/hot_holding/outside/minutes"},
      {"england", R"("hot_holding": {"min_c": 63, "outside": {"minutes": 60, @}, @})", "/hot_holding/outside/periods"},
      {"scotland", R"("hot_holding": {"min_c": 63, "outside": {"minutes": 60, @}, @})", "/hot_holding/outside"},
      {"england", R"("chill_holding": {"max_c": 10, @})", "/chill_holding/max_c"},
      {"us-food-code-2022", R"("chill_holding": {"max_c": 8, @})", "/chill_holding/max_c"},
      {"england", R"("cooling": {"stages": [{"to_c": 8, "minutes": 120}], @})", "/cooling/stages"},
      {"england", R"("cooling": {"stages": [{"to_c": 10, "minutes": 60}], @})", "/cooling/stages"},
      {"england", R"("cooling": {"stages": [{"from_c": 63, "to_c": 8, "minutes": 90}], @})", "/cooling/stages"},
      {"us-food-code-2022", R"("cooling": {"stages": [{"from_c": 57, "to_c": 5, "minutes": 360}], @})",
       "/cooling/stages"},
      {"england", R"("reheating": {"holds": [{"min_c": 75, "seconds": 29}], @})", "/reheating/holds/0"},
      {"scotland", R"("reheating": {"holds": [{"min_c": 82, "seconds": 0}, {"min_c": 75, "seconds": 30}], @})",
       "/reheating/holds/1"},
      {"us-food-code-2022",
       R"("reheating": {"holds": [{"min_c": 74, "seconds": 15}], "minutes": 180, "counted_from_c": 5, @})",
       "/reheating/minutes"},
      {"us-food-code-2022",
       R"("reheating": {"holds": [{"min_c": 74, "seconds": 15}], "minutes": 120, "counted_from_c": 8, @})",
       "/reheating/minutes"},
      {"england", R"("reheating": {"holds": [{"min_c": 75, "seconds": 30}], "times": 2, @})", "/reheating/times"},
      {"england", R"("reheating": {"holds": [{"min_c": 75, "seconds": 30}], "order_exempt": true, @})",
       "/reheating/order_exempt"},
      {"us-food-code-2022", R"("cooking": [{"food": "poultry", "holds": [{"min_c": 70, "seconds": 0}], @}])",
       "/cooking/0/holds/0"},
      {"england", R"("cooking": [{"food": "duck", "holds": [{"min_c": 57, "seconds": 60}], @}])", "/cooking/0/holds/0"},
      {"us-food-code-2022", R"("time_only": [{"name": "4 hours", "starts_max_c": 5, "minutes": 300, @}])",
       "/time_only/0"},
      {"us-food-code-2022", R"("time_only": [{"name": "4 hours", "starts_max_c": 8, "minutes": 60, @}])",
       "/time_only/0"},
      {"us-food-code-2022", R"("time_only": [{"name": "6 hours, cool", "starts_max_c": 5, "minutes": 60, @}])",
       "/time_only/0"},
      {"england", R"("time_only": [{"name": "4 hours", "starts_max_c": 5, "minutes": 60, @}])", "/time_only/0/name"},
      {"england", R"("keeping": [{"what": "vacuum packed", "days": 11, "max_c": 8, @}])", "/keeping/0"},
      {"england", R"("keeping": [{"what": "vacuum packed", "days": 9, @}])", "/keeping/0"},
      {"us-food-code-2022", R"("keeping": [{"what": "ready to eat, prepared here", "days": 7, "max_c": 5, @}])",
       "/keeping/0"},
  };
  for (const Case& c : cases) {
    INFO(c.rules << ": " << c.sections);
    const auto merged = with_house(rules_of(c.rules), house_of(with_source(c.sections)));
    REQUIRE_FALSE(merged);
    CHECK(merged.error().code == Errc::refused);
    CHECK(merged.error().where == c.where);
    CHECK_FALSE(merged.error().detail.empty());
  }
}

TEST_CASE("where the rule set sets no number the house may set its own") {
  const auto merged = with_house(rules_of("eu-852-2004"), house_of(with_source(R"(
    "hot_holding": {"min_c": 60, "outside": {"minutes": 90, @}, @},
    "cooling": {"stages": [{"from_c": 63, "to_c": 10, "minutes": 120}], @},
    "reheating": {"holds": [{"min_c": 70, "seconds": 120}], @})")));
  if (!merged) FAIL(merged.error().where << ": " << merged.error().detail);
  CHECK(merged->hot_holding->min_c == 60.0);
  CHECK(merged->cooling->stages.size() == 1);
  CHECK(merged->reheating->holds.size() == 1);
}

TEST_CASE("the Scottish above stays above when the house repeats the number") {
  const auto merged = with_house(rules_of("scotland"), house_of(with_source(R"("hot_holding": {"min_c": 63, @})")));
  REQUIRE(merged);
  CHECK(merged->hot_holding->above);
}
