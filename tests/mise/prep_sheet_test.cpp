// The prep file: what it holds when it is right, and where and how each fault is told.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "tests/mise/larkfold_prep.hpp"

using namespace nappe;
using namespace nappe::kitchen;
using Json = nlohmann::json;
using nappe::tests::PrepHouse;

namespace {

const PrepHouse& house() {
  static const PrepHouse loaded;
  return loaded;
}

// One thing broken in the shipped file; an empty value takes the key away.
struct Broken {
  const char* pointer;
  const char* value;
  const char* where;
  const char* words;
};

void check_row(const Broken& row) {
  INFO(row.pointer << " -> " << row.value);
  Json document = Json::parse(tests::larkfold_file("prep.json").text);
  const Json::json_pointer place(row.pointer);
  if (std::string(row.value).empty()) {
    document.at(place.parent_pointer()).erase(place.back());
  } else {
    document[place] = Json::parse(row.value);
  }
  const auto loaded = load_prep({"prep.json", document.dump()}, house().kitchen, house().batches);
  REQUIRE_FALSE(loaded);
  std::string all;
  for (const Fault& fault : loaded.faults) all += to_string(fault) + "\n";
  INFO(all);
  const bool found = std::any_of(loaded.faults.begin(), loaded.faults.end(), [&](const Fault& fault) {
    return fault.pointer == row.where && to_string(fault).find(row.words) != std::string::npos;
  });
  CHECK(found);
}

}  // namespace

TEST_CASE("the shipped prep sheet holds what the day needs") {
  const PrepSheet& sheet = house().prep;
  CHECK(sheet.items.size() == 23);
  CHECK(sheet.ratio == Approx(0.85));
  CHECK(sheet.mix.at("mains").at("hogget") == Approx(0.40));
  const PrepItem& puree = *sheet.find("swede_puree");
  CHECK(puree.name == "swede puree");
  CHECK(puree.kept_in == "walk-in");  // from its batch
  CHECK(puree.steps.size() == 4);
  CHECK(sheet.find("emulsion")->life == minutes(120));
  // Every component of the card that something is made ready for.
  for (const Component& component : house().kitchen.components) {
    const bool fed = std::any_of(sheet.items.begin(), sheet.items.end(), [&](const PrepItem& item) {
      return std::find(item.feeds.begin(), item.feeds.end(), component.id) != item.feeds.end();
    });
    if (component.id != "caramel") CHECK(fed);
  }
}

TEST_CASE("broken prep sheets are pointed at") {
  const std::vector<Broken> rows{
      {"/mix/mains/hogget", "0.7", "/mix/mains", "the shares of mains add up to 1.3; they add up to at most 1"},
      {"/mix/mains/hoget", "0.1", "/mix/mains/hoget", "did you mean \"hogget\"?"},
      {"/mix/mians", "{}", "/mix/mians", "did you mean \"mains\"?"},
      {"/mix/desserts", "", "/mix", "nothing says what the guests take of the desserts"},
      {"/line_check_at", "\"07:00\"", "/line_check_at", "the line check is before the day begins"},
      {"/begins_at", "\"7:30\"", "/begins_at", "begins_at"},
      {"/ratio", "1", "/ratio", "from 0.01 to 0.999"},
      {"/breaks/0/to", "\"15:00\"", "/breaks/0", "a break that ends before it begins"},
      {"/items/0/station", "\"garnsh\"", "/items/0/station", "did you mean \"garnish\"?"},
      {"/items/0/feeds", "[\"emer\"]", "/items/0/feeds/0", "did you mean \"emmer\"?"},
      {"/items/0/feeds", "", "/items/0", "\"yeast_broth\" goes into nothing"},
      {"/items/0/into", "[\"loin\"]", "/items/0/into", "no item in front of this one is called \"loin\""},
      {"/items/0/batch", "\"yeast_brth\"", "/items/0/batch", "did you mean \"yeast_broth\"?"},
      {"/items/1/id", "\"yeast_broth\"", "/items/1", "the prep item \"yeast_broth\" is there twice"},
      {"/items/0/portion_g", "", "/items/0", "a step of \"yeast_broth\" goes by weight, but a portion has none"},
      {"/items/0/make/most", "100", "/items/0/make/most", "the largest batch 100 is below one step of 1500"},
      {"/items/0/raw/0/trim", "1", "/items/0/raw/0/trim", "from 0 to 0.99"},
      {"/items/0/steps/0/kind", "\"mve\"", "/items/0/steps/0/kind", "\"mve\" is none of the words for \"kind\""},
      {"/items/0/steps/0/minutes", "", "/items/0/steps/0", "a prep step that takes no time"},
      {"/items/0/steps/3/minutes", "5", "/items/0/steps/3", "how long a chill takes is worked out"},
      {"/items/0/steps/3/chill", "", "/items/0/steps/3", "a chill has no \"chill\""},
      {"/items/0/steps/0/chill", "{}", "/items/0/steps/0/chill", "a move has no \"chill\""},
      {"/items/0/steps/3/chill/air_c", "9", "/items/0/steps/3/chill", "it must be from_c > to_c > air_c"},
      {"/items/0/steps/3/chill/equipment", "\"chiller\"", "/items/0/steps/3", "there is no equipment \"chiller\""},
      {"/items/0/steps/1/uses/0/equipment", "\"rings\"", "/items/0/steps/1", "there is no equipment \"rings\""},
      {"/items/13/steps/1/soak/bath_c", "60", "/items/13/steps/1/soak", "a bath never brings the core to its own"},
      {"/items/9/only_for", "\"mlk\"", "/items/9/only_for", "did you mean \"milk\"?"},
      {"/items/0/spare", "3", "/items/0/spare", "\"spare\" without \"only_for\""},
      {"/items/0/first_at", "\"18:00\"", "/items/0/first_at", "has no batch with a \"life_min\""},
      {"/stock/0/item", "\"lion\"", "/stock/0/item", "did you mean \"loin\"?"},
      {"/stock/0/portions", "2.5", "/stock/0/portions", "whole number"},
      {"/itms", "[]", "/itms", "the file knows no key \"itms\""},
  };
  for (const Broken& row : rows) check_row(row);
}
