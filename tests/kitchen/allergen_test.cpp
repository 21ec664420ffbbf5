// The fourteen groups of Annex II of Regulation (EU) No 1169/2011, and who meets what.

#include "common/kitchen/allergen.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <set>

#include "common/kitchen/menu.hpp"
#include "tests/support/larkfold.hpp"

using namespace nappe::kitchen;

// Annex II, points 1 to 14: cereals containing gluten (wheat, rye, barley, oats), crustaceans, eggs, fish, peanuts,
// soybeans, milk, nuts (almonds, hazelnuts, walnuts, cashews, pecan, Brazil, pistachio, macadamia nuts), celery,
// mustard, sesame, sulphur dioxide and sulphites, lupin, molluscs.
TEST_CASE("the groups and kinds are those of Annex II, in its order") {
  std::vector<std::string> groups;
  std::set<std::string> cereals;
  std::set<std::string> nuts;
  for (const Allergen& one : allergens()) {
    if (one.name == one.group) groups.emplace_back(one.name);
    if (one.name != one.group && one.group == "gluten") cereals.emplace(one.name);
    if (one.name != one.group && one.group == "nuts") nuts.emplace(one.name);
    CHECK(find_allergen(one.name) == &one);
    CHECK(find_allergen(one.text) == &one);
  }
  CHECK(groups == std::vector<std::string>{"gluten", "crustaceans", "egg", "fish", "peanuts", "soya", "milk", "nuts",
                                           "celery", "mustard", "sesame", "sulphites", "lupin", "molluscs"});
  CHECK(cereals == std::set<std::string>{"wheat", "rye", "barley", "oats"});
  CHECK(nuts == std::set<std::string>{"almond", "hazelnut", "walnut", "cashew", "pecan", "brazil nut", "pistachio",
                                      "macadamia"});
  CHECK(allergens().size() == 14 + 4 + 8);
}

TEST_CASE("names are found in the forms people use") {
  const std::vector<std::pair<std::string, std::string>> rows{{"Gluten", "gluten"},
                                                              {"coeliac", "gluten"},
                                                              {"WALNUTS", "walnut"},
                                                              {"eggs", "egg"},
                                                              {"peanut", "peanuts"},
                                                              {"mollusc", "molluscs"},
                                                              {" brazil_nuts ", "brazil nut"},
                                                              {"brazil-nut", "brazil nut"},
                                                              {"spelt", "wheat"},
                                                              {"dairy", "milk"},
                                                              {"sulphur dioxide", "sulphites"},
                                                              {"soybeans", "soya"},
                                                              {"tree nuts", "nuts"},
                                                              {"oat", "oats"},
                                                              {"pecan nuts", "pecan"},
                                                              {"fish", "fish"},
                                                              {"celeriac", "celery"},
                                                              {"cashew nuts", "cashew"}};
  for (const auto& [said, name] : rows) {
    INFO(said);
    REQUIRE(find_allergen(said) != nullptr);
    CHECK(find_allergen(said)->name == name);
  }
  for (const std::string said : {"", " ", "buckwheat", "garlic", "s", "gluton", "fis", "millk"}) {
    INFO(said);
    CHECK(find_allergen(said) == nullptr);
  }
  CHECK(nearest_allergen("gluton") == "gluten");
  CHECK(nearest_allergen("wallnut") == "walnut");
  CHECK(nearest_allergen("selery") == "celery");
  CHECK(nearest_allergen("coeliak") == "gluten");
  CHECK_FALSE(nearest_allergen("garlic").has_value());
  CHECK_FALSE(nearest_allergen("").has_value());
}

TEST_CASE("a group meets its kinds and a kind its group, kinds do not meet each other") {
  CHECK(meets("gluten", "wheat"));
  CHECK(meets("wheat", "gluten"));
  CHECK(meets("wheat", "wheat"));
  CHECK(meets("walnut", "nuts"));
  CHECK(meets("Walnuts", "nuts"));
  CHECK_FALSE(meets("wheat", "rye"));
  CHECK_FALSE(meets("walnut", "hazelnut"));
  CHECK_FALSE(meets("milk", "egg"));
  CHECK_FALSE(meets("peanuts", "nuts"));  // peanuts are a group of their own
  CHECK(meets("garlic", "milk"));         // unknown: asking is the better error
  for (const Allergen& a : allergens()) {
    for (const Allergen& b : allergens()) {
      INFO(a.name << " and " << b.name);
      CHECK(meets(a.name, b.name) == meets(b.name, a.name));
      const bool expected = a.group == b.group && (a.name == b.name || a.name == a.group || b.name == b.group);
      CHECK(meets(a.name, b.name) == expected);
    }
  }
}

namespace {

// Allergens of the demo card by group, as its author listed them dish by dish, apart from the parts' own lists.
const std::map<std::string, std::set<std::string>> listed{{"emmer", {"gluten", "milk", "celery"}},
                                                          {"mackerel", {"fish", "gluten", "milk"}},
                                                          {"leek", {"milk", "fish", "sulphites"}},
                                                          {"hogget", {"milk", "celery", "sulphites"}},
                                                          {"pollack", {"fish", "molluscs", "milk", "sulphites"}},
                                                          {"mushroom", {"milk", "nuts", "sulphites"}},
                                                          {"pudding", {"gluten", "milk", "egg"}},
                                                          {"pear", {"milk", "gluten", "sulphites"}}};

// Independent of menu.cpp: works on the dish's list of parts with sets of group names and plain loops.
Answer expected_answer(const Kitchen& house, const Dish& dish, const Allergen& allergy) {
  bool change = false;
  for (const Part& part : dish.parts) {
    for (const Component& component : house.components) {
      if (component.id != part.component) continue;
      bool trouble = false;
      for (const std::string& name : component.allergens) {
        std::string_view group;
        for (const Allergen& one : allergens()) {
          if (one.name == name) group = one.group;
        }
        if (group != allergy.group) continue;
        if (name != allergy.name && name != group && allergy.name != group) continue;
        change = true;
        if (component.without.count(name) == 0) trouble = true;
      }
      if (trouble && !part.can_be_left_off) return Answer::no;
    }
  }
  return change ? Answer::with_changes : Answer::yes;
}

}  // namespace

TEST_CASE("allergens of the card, computed from the parts, are those its author listed") {
  const Kitchen house = nappe::tests::larkfold();
  for (const Dish& dish : house.dishes) {
    std::set<std::string> groups;
    for (const std::string& name : allergens_of(house, dish)) groups.emplace(find_allergen(name)->group);
    INFO(dish.id);
    CHECK(groups == listed.at(dish.id));
  }
}

TEST_CASE("every dish against every allergen answers as a plain walk through the parts does") {
  const Kitchen house = nappe::tests::larkfold();
  int no = 0;
  int changed = 0;
  for (const Dish& dish : house.dishes) {
    for (const Allergen& allergy : allergens()) {
      INFO(dish.id << " and " << allergy.name);
      const CanHave how = can_have(house, dish, {std::string(allergy.name)});
      CHECK(how.answer == expected_answer(house, dish, allergy));
      CHECK(how.in_the_way.empty() == (how.answer != Answer::no));
      no += how.answer == Answer::no ? 1 : 0;
      changed += how.answer == Answer::with_changes ? 1 : 0;
      // What is left off and made differently leaves nothing behind that the allergy meets.
      if (how.answer == Answer::no) continue;
      for (const Part& part : dish.parts) {
        const Component& component = *house.find_component(part.component);
        const auto& off = how.left_off;
        if (std::find(off.begin(), off.end(), component.id) != off.end()) continue;
        CHECK(clashes_left(component, {std::string(allergy.name)}).empty());
      }
    }
  }
  CHECK(no > 10);
  CHECK(changed > 10);
}

// Removing the smoked curd from the mushroom dish removes milk from it only if no other part holds it.
TEST_CASE("a part left off takes its allergens with it only if no other part holds them") {
  Kitchen house = nappe::tests::larkfold();
  const auto holds_milk = [&](const std::vector<std::string>& off) {
    const auto all = allergens_of(house, *house.find_dish("mushroom"), off);
    return std::find(all.begin(), all.end(), "milk") != all.end();
  };
  CHECK(holds_milk({}));
  CHECK_FALSE(holds_milk({"curd"}));
  for (Component& component : house.components) {
    if (component.id == "mushroom") component.allergens.emplace_back("milk");
  }
  CHECK(holds_milk({"curd"}));
}

TEST_CASE("a coeliac guest's card reads as the floor needs it") {
  const Kitchen house = nappe::tests::larkfold();
  CHECK(card_for(house, {"gluten"}) ==
        "not emmer (wheat), mackerel (oats), pudding (rye); leek yes; hogget yes; pollack yes; mushroom yes; "
        "pear without crumb");
  const auto desserts = alternatives(house, "desserts", {"gluten"});
  REQUIRE(desserts.size() == 1);
  CHECK(in_words(*desserts[0].dish, desserts[0].how) == "pear without crumb");
}

TEST_CASE("a component that holds two kinds of a group must be made without both") {
  Kitchen house = nappe::tests::larkfold();
  for (Component& component : house.components) {
    if (component.id == "curd") component.allergens.emplace_back("hazelnut");
  }
  const Component& curd = *house.find_component("curd");
  REQUIRE(curd.without.count("walnut") == 1);
  REQUIRE(clashes_left(curd, {"nuts"}).size() == 1);
  CHECK(clashes_left(curd, {"nuts"})[0].allergen == "hazelnut");
  CHECK(clashes_left(curd, {"walnut"}).empty());
}
