// Every kind of fault: one thing broken in a shipped file, and where and how it is reported.

#include <catch2/catch.hpp>

#include "common/kitchen/near.hpp"
#include "tests/support/larkfold.hpp"

using namespace nappe;
using namespace nappe::kitchen;

namespace {

// The first `from` behind the first `after` becomes `to`; the fault is looked for on the line `line_of` first stands on
// behind `after` in the broken text.
struct Row {
  const char* file;
  const char* after;
  const char* from;
  const char* to;
  const char* pointer;
  const char* line_of;
  const char* words;
};

int line_at(const std::string& text, std::size_t offset) {
  return 1 + static_cast<int>(std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(offset), '\n'));
}

Loaded<Kitchen> load_with(const std::string& path, const std::string& text) {
  auto files = tests::larkfold_files();
  for (File& file : files) {
    if (file.path == path) file.text = text;
  }
  return load_kitchen(files, {"england", "scotland"});
}

std::string shipped(const std::string& path) {
  for (const File& file : tests::larkfold_files()) {
    if (file.path == path) return file.text;
  }
  throw std::runtime_error("no file " + path);
}

void check_row(const Row& row) {
  INFO(row.file << ": " << row.from << " -> " << row.to);
  std::string text = shipped(row.file);
  const std::size_t after = text.find(row.after);
  REQUIRE(after != std::string::npos);
  const std::size_t at = text.find(row.from, after);
  REQUIRE(at != std::string::npos);
  text.replace(at, std::string(row.from).size(), row.to);
  const auto loaded = load_with(row.file, text);
  REQUIRE_FALSE(loaded);
  REQUIRE_FALSE(loaded.faults.empty());
  // One thing broken may break others that name it: the fault itself must be among those found.
  std::string all;
  for (const Fault& one : loaded.faults) all += to_string(one) + "\n";
  INFO(all);
  const auto found = std::find_if(loaded.faults.begin(), loaded.faults.end(), [&](const Fault& one) {
    return one.file == row.file && one.pointer == row.pointer && to_string(one).find(row.words) != std::string::npos;
  });
  REQUIRE(found != loaded.faults.end());
  const std::size_t shown = text.find(row.line_of, after);
  REQUIRE(shown != std::string::npos);
  CHECK(found->line == line_at(text, shown));
}

const char* const house = "house.json";
const char* const stations = "stations.json";
const char* const dishes = "dishes.json";
const char* const garnish = "components/garnish.json";
const char* const pastry = "components/pastry.json";

}  // namespace

TEST_CASE("faults of the text") {
  const std::vector<Row> rows{
      {house, "", "\"name\": \"Larkfold\",", "\"name\": \"Larkfold\"", "", "\"rules\"",
       "is a comma or a colon missing"},
      {house, "\"rooms\"", "\"walk_s\": 45 }", "\"walk_s\": 45, }", "", "\"walk_s\": 45", "is there a comma too many"},
      {house, "", "\"name\"", "// the name\n  \"name\"", "", "// the name", "comments are not allowed"},
      {house, "", "\"spread_s\": 30,", "\"spread_s\": 30, \"spread_s\": 31,", "/settings/spread_s", "\"spread_s\"",
       "the key \"spread_s\" is given twice; keep one of them"},
      {house, "", "\"prompt\": 0.5", "\"prompt\": 1e999", "", "\"prompt\"", "a number is too large"},
      {house, "", "Larkfold is", "Larkfold \xFF is", "", "\"description\"", "this is not JSON"},
      {house, "", "\"$schema\": \"../schema/house.schema.json\",", "", "", "{", "does not say what it holds"},
      {house, "", "house.schema.json", "hose.schema.json", "/$schema", "$schema", "did you mean \"house\"?"},
      {house, "", "\"../schema/house.schema.json\"", "7", "/$schema", "$schema", "should be a text"},
  };
  for (const Row& row : rows) check_row(row);
}

TEST_CASE("faults of the house and its stations") {
  const std::vector<Row> rows{
      {house, "", "\"name\": \"Larkfold\"", "\"nme\": \"Larkfold\"", "", "{", "the house has no \"name\""},
      {house, "", "\"spread_s\"", "\"spread\"", "/settings/spread", "\"spread\"", "did you mean \"spread_s\"?"},
      {house, "", "\"spread_s\": 30", "\"spread_s\": \"30\"", "/settings/spread_s", "\"spread_s\"",
       "\"spread_s\" should be a number, this is a text"},
      {house, "", "\"prompt\": 0.5", "\"prompt\": 1.5", "/settings/prompt", "\"prompt\"", "it must be from 0 to 1"},
      {house, "", "\"rules\": \"england\"", "\"rules\": \"englnd\"", "/rules", "\"rules\"",
       "there is no rule set \"englnd\"; did you mean \"england\"?"},
      {house, "\"tables\"", "\"room\": \"garden\"", "\"room\": \"gardn\"", "/tables/6/room", "gardn",
       "did you mean \"garden\"?"},
      {house, "\"tables\"", "\"id\": \"2\"", "\"id\": \"1\"", "/tables/1/id",
       "\"id\": \"1\", \"room\": \"room\", \"seats\": 2 },\n    { \"id\": \"3\"", "the table \"1\" is there twice"},
      {house, "\"tables\"", "\"seats\": 2", "\"seats\": 2.5", "/tables/0/seats", "2.5", "should be a whole number"},
      {house, "", "\"courses\": [", "\"courses\": [ 3, ", "/courses/0", "\"courses\"", "a course should be an object"},
      {stations, "\"tom\"", "\"counts\": 0.74", "\"counts\": 0", "/stations/2/people/1/counts", "\"counts\": 0",
       "more than 0 and at most 2"},
      {stations, "\"garnish\"", "\"ines\"", "\"yuki\"", "/stations/2/people/0/id", "yuki",
       "the person \"yuki\" is there twice"},
      {stations, "\"pastry\"", "\"pastry_rings\"", "\"fish_rings\"", "/stations/4/equipment/1/id", "fish_rings",
       "the piece of equipment \"fish_rings\" is there twice"},
      {stations, "", "\"id\": \"fish\"", "\"id\": \"sauce\"", "/stations/1/id",
       "\"id\": \"sauce\",\n      \"name\": \"Fish\"", "the station \"sauce\" is there twice"},
      {stations, "", "\"id\": \"fish\"", "\"id\": \"Fish Section\"", "/stations/1/id", "Fish Section", "is no id"},
  };
  for (const Row& row : rows) check_row(row);
}

TEST_CASE("faults of components") {
  const std::vector<Row> rows{
      {garnish, "", "\"cap\": 4", "\"cap\": 0", "/components/0/cap", "\"cap\"", "it must be from 1"},
      {garnish, "", "\"keep_s\": 90", "\"keep_s\": 0", "/components/0/keep_s", "\"keep_s\"", "more than 0"},
      {garnish, "", "\"keep_s\": 90", "\"keep\": 90", "/components/0", "{\n      \"id\": \"emmer\"", "add \"keep_s\""},
      {garnish, "", "\"station\": \"garnish\"", "\"station\": \"garnich\"", "/components/0/station", "garnich",
       "there is no station \"garnich\"; did you mean \"garnish\"?"},
      {garnish, "", "\"min_s\": 90, \"max_s\": 180", "\"min_s\": 190, \"max_s\": 180", "/components/0/steps/4/min_s",
       "\"min_s\": 190", "the rest's minimum 190 s is above its maximum 180 s"},
      {garnish, "", "\"min_s\": 90, ", "", "/components/0/steps/4", "\"settle\"", "a rest has no \"min_s\""},
      {garnish, "", "\"min_s\": 90, ", "\"min_s\": 90, \"fixed_s\": 9, ", "/components/0/steps/4/fixed_s", "\"settle\"",
       "a rest has no \"fixed_s\""},
      {garnish, "", "\"fixed_s\": 45, \"each_s\": 5, ", "", "/components/0/steps/0", "\"toast\"",
       "a step that takes no time"},
      {garnish, "", "\"each_s\": 5, ", "\"each_s\": 5, \"max_s\": 5, ", "/components/0/steps/0/max_s", "\"toast\"",
       "a step that is not a rest has no \"max_s\""},
      {garnish, "", "\"usual\": 7", "\"usual\": 10", "/components/0/steps/2/rounds/usual", "\"usual\"",
       "rounds from 6 to 9, usually 10; it must be min <= usual <= max"},
      {garnish, "", "\"7\": 0.45", "\"7\": 0.40", "/components/0/steps/2/rounds/odds", "\"odds\"",
       "the odds add up to 0.95; they must add up to 1"},
      {garnish, "", "\"7\": 0.45", "\"5\": 0.45", "/components/0/steps/2/rounds/odds/5", "\"odds\"",
       "\"5\" is no number of rounds from 6 to 9"},
      {garnish, "", "\"join_before\": 3", "\"join_before\": 12", "/components/0/steps/2/rounds/join_before",
       "\"join_before\"", "there are at most 9"},
      {garnish, "\"id\": \"bowl\"", "\"kind\": \"plate\"", "\"kind\": \"move\"", "/components/0/steps/6", "\"bowl\"",
       "no step finishes \"emmer\"; make the last step a plate step"},
      {garnish, "\"id\": \"mount\"", "\"kind\": \"move\"", "\"kind\": \"plate\"", "/components/0/steps/5", "\"mount\"",
       "a plate step before the last"},
      {garnish, "\"id\": \"toast\"", "\"kind\": \"move\"", "\"kind\": \"wait\"", "/components/0/steps/0", "\"toast\"",
       "the first step is a wait: nobody puts it on"},
      {garnish, "\"id\": \"first_heat\"", "\"fixed_s\": 30", "\"fixed_s\": 30, \"pause_s\": 5",
       "/components/0/steps/1/pause_s", "\"first_heat\"", "cannot be put off"},
      {garnish, "", "\"id\": \"mount\"", "\"id\": \"toast\"", "/components/0/steps/5/id",
       "\"id\": \"toast\", \"kind\": \"move\", \"word\": \"mount\"", "the step \"toast\" is there twice"},
      {garnish, "\"id\": \"toast\"", "\"origin\": \"timed\"", "\"origin\": \"guessed\"", "/components/0/steps/0/origin",
       "guessed", "it is one of said, timed, learnt"},
      {garnish, "\"id\": \"toast\"", ", \"origin\": \"timed\"", "", "/components/0/steps/0", "\"toast\"",
       "a step has no \"origin\""},
      {garnish, "\"id\": \"char\"",
       "\"look\": \"black and blistered, juice at the root end\", \"sound\": \"it begins to whistle\", \"taste\": "
       "\"sweet at the heart\", ",
       "", "/components/1/steps/1/cue", "\"too_far\"", "a cue that says nothing"},
      {garnish, "\"id\": \"toast\"", "garnish_rings", "garnish_ring", "/components/0/steps/0/uses/0/equipment",
       "garnish_ring", "garnish has no equipment \"garnish_ring\"; did you mean \"garnish_rings\"?"},
      {garnish, "\"id\": \"toast\"", "garnish_rings", "fish_rings", "/components/0/steps/0/uses/0/equipment",
       "fish_rings", "\"fish_rings\" stands at fish, not at garnish"},
      {garnish, "\"id\": \"mushroom\"", "\"cap\": 3", "\"cap\": 4", "/components/6/steps/0/uses/0",
       "\"equipment\": \"press\"", "a full pan of 4 takes 4 places of \"press\", which has 3"},
      {garnish, "", "\"wheat\", \"milk\", \"celery\"", "\"wheat\", \"milk\", \"selery\"", "/components/0/allergens/2",
       "selery", "\"selery\" is none of the fourteen allergen groups nor a kind within one; did you mean \"celery\"?"},
      {garnish, "", "\"wheat\", \"milk\", \"celery\"", "\"wheat\", \"milk\", \"milk\"", "/components/0/allergens/2",
       "allergens", "\"milk\" is listed twice"},
      {garnish, "", "\"without\": { \"milk\"", "\"without\": { \"egg\"", "/components/0/without/egg", "without",
       "\"egg\" is left out of a component that does not list it; it holds wheat, milk, celery"},
      {garnish, "", "\"without\": { \"milk\"", "\"without\": { \"mlik\"", "/components/0/without/mlik", "without",
       "did you mean \"milk\"?"},
      {garnish, "", "\"join_before_step\": \"turn\"", "\"join_before_step\": \"trun\"",
       "/components/1/join_before_step", "trun", "did you mean \"turn\"?"},
      {garnish, "", "\"join_before_step\": \"turn\"", "\"join_before_step\": \"grill\"",
       "/components/1/join_before_step", "join_before_step", "nothing can join before the first step"},
      {garnish, "", "\"id\": \"beet\"", "\"id\": \"leek\"", "/components/5/id",
       "\"id\": \"leek\",\n      \"name\": \"beet\"", "the component \"leek\" is there twice"},
      {garnish, "\"id\": \"first_heat\"", "\"fixed_s\": 30", "\"fixed_s\": 30, \"most\": { \"fixed_s\": 20 }",
       "/components/0/steps/1/most", "\"first_heat\"", "less than the usual 30 s"},
  };
  for (const Row& row : rows) check_row(row);
}

// A sheet that fails at 58 C, house limit 52, on a part plated at 60 C is a fault; so is one on a part nobody measured.
TEST_CASE("faults of temperature") {
  const std::vector<Row> rows{
      {pastry, "", "\"max_c\": 52", "\"max_c\": 60", "/components/0/layers/0", "\"whey_sheet\"",
       "\"whey_sheet\" lies on \"pudding\", which is plated at up to 60 C; the house limit is 52 C, it fails at 58 C"},
      {pastry, "", "\"limit_c\": 52", "\"limit_c\": 51", "/components/0/layers/0", "\"whey_sheet\"",
       "the house limit is 51 C"},
      {pastry, "", "\"limit_c\": 52", "\"limit_c\": 59", "/components/0/layers/0/limit_c", "\"limit_c\": 59",
       "the house limit 59 C is above 58 C, where it fails"},
      {pastry, "", "\"plated_c\": { \"min_c\": 43, \"max_c\": 52 },", "", "/components/0/layers/0", "\"whey_sheet\"",
       "nothing says how hot \"pudding\" is when plated; give \"pudding\" a \"plated_c\""},
      {pastry, "", "\"min_c\": 43, \"max_c\": 52", "\"min_c\": 53, \"max_c\": 52", "/components/0/plated_c/min_c",
       "\"min_c\": 53", "\"min_c\" 53 is above \"max_c\" 52"},
  };
  for (const Row& row : rows) check_row(row);
}

TEST_CASE("faults of times that come from temperatures") {
  const char* const c = "/components/0/steps/3/cools";
  const char* const k = "/components/0/layers/1/keeps";
  const std::vector<Row> rows{
      {pastry, "", "\"then_c\": 70.6", "\"then_c\": 78.5", c, "\"cools\"", "read the same spot twice"},
      {pastry, "", "\"from_c\": 78,", "", c, "\"cools\"", "has no \"from_c\""},
      {pastry, "", "\"around_c\": 23, \"round_s\"", "\"around_c\": 45, \"round_s\"", c, "\"cools\"",
       "correct the readings or the temperature it is to reach"},
      {pastry, "", "\"plated_c\": { \"min_c\": 43, \"max_c\": 52 },", "", c, "\"cools\"",
       "\"cool\" cools, but nothing says to what; give \"pudding\" a \"plated_c\""},
      {pastry, "", "\"min_c\": 43", "\"min_c\": 50", c, "\"cools\"", "there is no moment to plate it"},
      {pastry, "", "\"cools\": {", "\"min_s\": 270, \"cools\": {", "/components/0/steps/3/min_s", "\"min_s\"",
       "a rest with \"cools\" has no \"min_s\""},
      {pastry, "", "\"kind\": \"wait\", \"word\": \"steaming\"",
       "\"kind\": \"wait\", \"cools\": {}, \"word\": \"steaming\"", "/components/0/steps/1/cools", "\"cools\"",
       "a step that is not a rest has no \"cools\""},
      {pastry, "", "\"round_s\": 30", "\"round_s\": 0.5", "/components/0/steps/3/cools/round_s", "\"round_s\"",
       "from 1 to 3600"},
      {pastry, "", "\"until_c\": -5.4", "\"until_c\": 23", k, "\"keeps\"",
       "correct the readings or the temperature it is to reach"},
      {pastry, "", "\"until_c\": -5.4", "\"until_c\": -14", k, "\"keeps\"", "past -14 C at once"},
      {pastry, "", ",\n          \"keeps\"", ", \"kept\": 1,\n          \"keeps\"", "/components/0/layers/1/kept",
       "\"kept\"", "a layer knows no key \"kept\""},
      {pastry, "", "\"keep_s\": 360,", "", "/components/1", "{\n      \"id\": \"pear\"",
       "nothing says how long it keeps"},
  };
  for (const Row& row : rows) check_row(row);
}

TEST_CASE("the least of all keeps counts, typed or from readings") {
  const auto keep_of = [](const std::string& text) {
    const auto loaded = load_with(pastry, text);
    for (const Fault& fault : loaded.faults) FAIL_CHECK(to_string(fault));
    REQUIRE(loaded);
    return loaded.value->find_component("pudding")->keep;
  };
  const std::string text = shipped(pastry);
  CHECK(keep_of(text) == seconds(100));
  const auto with = [&](const std::string& more) {
    std::string changed = text;
    changed.insert(changed.find("\"vessel\": \"tray\""), more);
    return changed;
  };
  CHECK(keep_of(with("\"keep_s\": 90, ")) == seconds(90));
  CHECK(keep_of(with("\"keep_s\": 110, ")) == seconds(100));
  // 68 C then 61 C after 120 s in 24 C: 55 C at 243 s (the second pair of readings of the cooling tests).
  const std::string own =
      "\"keeps\": { \"from_c\": 68, \"then_c\": 61, \"after_s\": 120, \"around_c\": 24, \"until_c\": ";
  CHECK(keep_of(with(own + "55 }, ")) == seconds(100));
  CHECK(keep_of(with(own + "65 }, ")) < seconds(60));
}

TEST_CASE("the pudding's rest is worked out from 78.0 C, 70.6 C after 60 s and 23 C around it") {
  // 52 C at 266 s and 43 C at 7:00 (worked out once by hand from Newton's law), rounded inwards to half minutes after
  // 32 s of plating: 4:30 to 6:00.
  const auto loaded = load_with(pastry, shipped(pastry));
  REQUIRE(loaded);
  const Step* rest = loaded.value->find_component("pudding")->find_step("cool");
  REQUIRE(rest != nullptr);
  CHECK(rest->takes == Growth{seconds(270), {}});
  CHECK(rest->rest_max == seconds(360));
  std::string exact = shipped(pastry);
  exact.replace(exact.find(", \"round_s\": 30"), 15, "");
  const auto unrounded = load_with(pastry, exact);
  REQUIRE(unrounded);
  const Step* fine = unrounded.value->find_component("pudding")->find_step("cool");
  CHECK(std::abs(in_seconds(fine->takes.fixed) - 266) <= 2);
  CHECK(std::abs(in_seconds(fine->rest_max) - (420 - 32)) <= 2);
}

TEST_CASE("a part that lies on a hotter part of its dish is a fault") {
  std::string text = shipped(dishes);
  const auto put = [&](const std::string& from, const std::string& to) {
    REQUIRE(text.find(from) != std::string::npos);
    text.replace(text.find(from), from.size(), to);
  };
  put("{ \"component\": \"turnips\", \"can_be_left_off\": true }",
      "{ \"component\": \"turnips\", \"can_be_left_off\": true }, { \"component\": \"emulsion\", \"on\": \"swede\" }");
  CHECK(load_with(dishes, text));  // the emulsion has no limit of its own
  auto files = tests::larkfold_files();
  for (File& file : files) {
    if (file.path == dishes) file.text = text;
    if (file.path != "components/sauce.json") continue;
    const std::string from = "\"plated_c\": { \"min_c\": 48";
    file.text.replace(file.text.find(from), from.size(), "\"fails_c\": 58, \"limit_c\": 56, " + from);
  }
  const auto loaded = load_kitchen(files, {"england"});
  REQUIRE(loaded.faults.size() == 1);
  CHECK(loaded.faults[0].pointer == "/dishes/3/parts/4/on");
  CHECK_THAT(to_string(loaded.faults[0]),
             Catch::Contains("\"emulsion\" lies on \"swede\", which is plated at up to 75 C; "
                             "the house limit is 56 C, it fails at 58 C"));
}

TEST_CASE("faults of dishes") {
  const std::vector<Row> rows{
      {dishes, "", "\"letter\": \"m\"", "\"letter\": \"e\"", "/dishes/1/letter", "\"id\": \"mackerel\"",
       "the letter e of starters belongs to \"emmer\""},
      {dishes, "", "\"letter\": \"m\"", "\"letter\": \"ma\"", "/dishes/1/letter", "\"ma\"",
       "one lower-case letter from a to z"},
      {dishes, "", "\"course\": \"mains\"", "\"course\": \"mians\"", "/dishes/3/course", "mians",
       "did you mean \"mains\"?"},
      {dishes, "", "\"component\": \"swede\"", "\"component\": \"swde\"", "/dishes/3/parts/2/component", "swde",
       "there is no component \"swde\"; did you mean \"swede\"?"},
      {dishes, "", "\"component\": \"swede\"", "\"component\": \"loin\"", "/dishes/3/parts/2/component",
       "\"component\": \"loin\"", "the part \"loin\" is there twice"},
      {dishes, "", "[{ \"component\": \"emmer\" }]", "[]", "/dishes/0/parts", "\"parts\": []", "\"parts\" is empty"},
      {dishes, "", "{ \"component\": \"emmer\" }", "{ \"component\": \"emmer\", \"can_be_left_off\": true }",
       "/dishes/0/parts", "\"can_be_left_off\"", "every part of the dish may be left off"},
      {dishes, "", "{ \"component\": \"emmer\" }", "{ \"component\": \"emmer\", \"can_be_left_off\": 1 }",
       "/dishes/0/parts/0/can_be_left_off", "\"can_be_left_off\"", "should be true or false, this is a whole number"},
      {dishes, "", "\"price_pence\": 1600", "\"price_pence\": 16.0", "/dishes/0/price_pence", "16.0",
       "should be a whole number"},
      {dishes, "", "\"price_pence\": 1600", "\"price\": 1600", "/dishes/0", "\"id\": \"emmer\"", "add \"price_pence\""},
      {dishes, "", "\"id\": \"leek\"", "\"id\": \"emmer\"", "/dishes/2/id", "\"id\": \"emmer\", \"letter\": \"k\"",
       "the dish \"emmer\" is there twice"},
      {dishes, "", "{ \"component\": \"leek\" }", "{ \"component\": \"leek\", \"on\": \"leek\" }",
       "/dishes/2/parts/0/on", "\"on\"", "\"leek\" comes to lie on itself"},
      {dishes, "", "{ \"component\": \"leek\" }", "{ \"component\": \"leek\", \"on\": \"loin\" }",
       "/dishes/2/parts/0/on", "\"on\"", "lies on \"loin\", which is no part of this dish"},
  };
  for (const Row& row : rows) check_row(row);
}

TEST_CASE("parts that lie on each other are both told") {
  std::string text = shipped(dishes);
  const std::string from = "{ \"component\": \"leek\" }, { \"component\": \"emulsion\",";
  REQUIRE(text.find(from) != std::string::npos);
  text.replace(text.find(from), from.size(),
               "{ \"component\": \"leek\", \"on\": \"emulsion\" }, { \"component\": \"emulsion\", \"on\": \"leek\",");
  const auto loaded = load_with(dishes, text);
  REQUIRE(loaded.faults.size() == 2);
  CHECK(loaded.faults[0].pointer == "/dishes/2/parts/0/on");
  CHECK_THAT(loaded.faults[0].what, Catch::Contains("\"leek\" comes to lie on itself"));
  CHECK(loaded.faults[1].pointer == "/dishes/2/parts/1/on");
}

TEST_CASE("a station where nobody stands can cook nothing") {
  std::string text = shipped(stations);
  const std::string from = "\"people\": [{ \"id\": \"yuki\", \"name\": \"Yuki\" }],";
  text.replace(text.find(from), from.size(), "");
  const auto loaded = load_with(stations, text);
  REQUIRE(loaded.faults.size() == 2);
  CHECK(loaded.faults[0].file == "components/fish.json");
  CHECK(loaded.faults[0].pointer == "/components/0/station");
  CHECK_THAT(loaded.faults[0].what, Catch::Contains("nobody stands at \"fish\", so nobody can cook \"pollack\""));
}

TEST_CASE("files that are missing or there twice") {
  auto files = tests::larkfold_files();
  const auto without = [&](const std::string& path) {
    std::vector<File> rest;
    for (const File& file : files) {
      if (file.path != path) rest.push_back(file);
    }
    return load_kitchen(rest, {"england"});
  };
  CHECK_THAT(to_string(without(house).faults.at(0)), Catch::Contains("no file holds the house"));
  CHECK_THAT(to_string(without(dishes).faults.at(0)), Catch::Contains("no file holds dishes"));
  // The dishes name what only that file held.
  CHECK_THAT(to_string(without("components/larder.json").faults.at(0)),
             Catch::Contains("there is no component \"mackerel\""));
  files.push_back({"zweites/house.json", shipped(house)});
  const auto twice = load_kitchen(files, {"england"});
  REQUIRE(twice.faults.size() == 1);
  CHECK(twice.faults[0].file == "zweites/house.json");
  CHECK_THAT(to_string(twice.faults[0]), Catch::Contains("a second house; the first is house.json"));
  CHECK_FALSE(load_kitchen({}, {"england"}));
}

TEST_CASE("all faults are found at once, in the order of the files and lines") {
  auto files = tests::larkfold_files();
  for (File& file : files) {
    const auto put = [&](const std::string& from, const std::string& to) {
      file.text.replace(file.text.find(from), from.size(), to);
    };
    if (file.path == garnish) put("\"cap\": 4", "\"cap\": 0");
    if (file.path == garnish) put("\"keep_s\": 150", "\"keep_s\": -1");
    if (file.path == dishes) put("\"course\": \"mains\"", "\"course\": \"main\"");
    if (file.path == stations) put("\"id\": \"tom\"", "\"id\": \"ines\"");
  }
  const auto loaded = load_kitchen(files, {"england"});
  std::vector<std::string> seen;
  for (const Fault& fault : loaded.faults) seen.push_back(fault.file + fault.pointer);
  CHECK(seen == std::vector<std::string>{"components/garnish.json/components/0/cap",
                                         "components/garnish.json/components/1/keep_s", "dishes.json/dishes/3/course",
                                         "stations.json/stations/2/people/1/id"});
}

TEST_CASE("lines and columns count characters, whatever the line ends and whatever the letters") {
  struct Place {
    const char* text;
    int line;
    int column;
    const char* pointer;
  };
  // The number 7 is the node looked for.
  const std::vector<Place> rows{
      {"7", 1, 1, ""},
      {"{\"a\":7}", 1, 6, "/a"},
      {"{\n  \"a\": 7\n}", 2, 8, "/a"},
      {"{\r\n  \"a\": 7\r\n}", 2, 8, "/a"},
      {"{\n\t\"a\":\t7\n}", 2, 7, "/a"},
      {"{\"caf\xC3\xA9\": [\"\xE2\x82\xAC\", 7]}", 1, 16, "/caf\xC3\xA9/1"},
      {"{\"\xF0\x9F\x8D\xB2\": 7}", 1, 7, "/\xF0\x9F\x8D\xB2"},
      {"\xEF\xBB\xBF{\"a\":7}", 1, 6, "/a"},
      {"{\"a\\\"}{\": {\"b/c~\": [[], {}, 7]}}", 1, 29, "/a\"}{/b~1c~0/2"},
      {"[true, null, -1.5e3, \"]\", 7]", 1, 27, "/4"},
  };
  for (const Place& row : rows) {
    INFO(row.text);
    const auto read = read_document({"x.json", row.text});
    REQUIRE(read);
    const Node* found = nullptr;
    std::vector<const Node*> open{&*read.value};
    while (!open.empty()) {
      const Node* node = open.back();
      open.pop_back();
      if (node->kind == Node::Kind::whole && node->whole == 7) found = node;
      for (const Node& item : node->items) open.push_back(&item);
    }
    REQUIRE(found != nullptr);
    CHECK(found->line == row.line);
    CHECK(found->column == row.column);
    CHECK(found->pointer == row.pointer);
  }
  const auto broken = read_document({"x.json", "{\r\n  \"\xC3\xA9\xC3\xA9\": tru\r\n}"});
  REQUIRE(broken.faults.size() == 1);
  CHECK(broken.faults[0].line == 2);
  CHECK_FALSE(read_document({"x.json", ""}));
  CHECK_FALSE(read_document({"x.json", "{} {}"}));
  const auto deep = read_document({"x.json", std::string(100'000, '[')});
  REQUIRE(deep.faults.size() == 1);
  CHECK(deep.faults[0].column == 65);
  CHECK_THAT(deep.faults[0].what, Catch::Contains("nested deeper than 64"));
}

// Distances by hand; "ca" to "abc" is 3 in the variant that touches each letter once.
TEST_CASE("the nearest word is found for a slip of the finger") {
  CHECK(edit_distance("", "abc") == 3);
  CHECK(edit_distance("kitten", "sitting") == 3);
  CHECK(edit_distance("teh", "the") == 1);
  CHECK(edit_distance("ca", "abc") == 3);
  CHECK(nearest("garnich", {"sauce", "garnish"}) == "garnish");
  CHECK(nearest("fixed", {"fixed_s", "each_s"}) == "fixed_s");
  CHECK_FALSE(nearest("fish", {"larder"}).has_value());
  CHECK(suggest("fish", {"larder", "sauce"}) == "known are larder, sauce");
}
