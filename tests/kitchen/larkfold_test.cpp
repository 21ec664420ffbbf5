// The shipped demo restaurant: it loads, and its chains give the latest starts worked out for it beforehand.

#include <catch2/catch.hpp>

#include "tests/support/larkfold.hpp"

using namespace nappe;
using namespace nappe::kitchen;

namespace {

// Usual times, usual number of rounds, rests at their minimum, nothing waited for.
Duration chain(const Component& component, int portions) {
  Duration sum{};
  for (const Step& step : component.steps) {
    const int times = step.group < 0 ? 1 : component.groups[static_cast<std::size_t>(step.group)].usual;
    sum += step.usual(portions) * times;
  }
  return sum;
}

Duration clock(int h, int m, int s) {
  return std::chrono::hours(h) + std::chrono::minutes(m) + std::chrono::seconds(s);
}

struct Row {
  const char* component;
  int portions;
  Duration meet;
  Duration starts;
};

}  // namespace

TEST_CASE("larkfold loads without a fault and is a whole house") {
  const Kitchen house = tests::larkfold();
  CHECK(house.name == "Larkfold");
  CHECK(house.rules == "england");
  CHECK(house.version.size() == 16);
  CHECK(house.tables.size() == 15);
  CHECK(house.stations.size() == 7);
  CHECK(house.dishes.size() == 8);
  CHECK(house.components.size() == 18);
  CHECK(house.find_dish("mains", "p")->id == "pollack");
  CHECK(house.find_dish("mains", "p")->card == "pollack, perry and mussel sauce, potatoes held firm, sea beet");
  CHECK(house.walk_to("7") == seconds(45));
  CHECK(house.walk_to("8") == seconds(15));
  CHECK(house.find_station("garnish")->people.at(1).counts == Approx(0.74));
}

// The expected starts were computed by hand calculation from the demo's table of times, apart from this program: the
// loin for two is 100+120+40+240+15+480+60 = 1055 s before 20:00:00, that is 19:42:25.
TEST_CASE("the latest starts of the demo night come out to the second") {
  const Kitchen house = tests::larkfold();
  const Duration t5 = clock(20, 0, 0);
  const Duration t8 = clock(20, 2, 0);
  const Duration t7 = clock(20, 23, 0);
  const std::vector<Row> rows{
      {"loin", 2, t5, clock(19, 42, 25)},
      {"mushroom", 1, t5, clock(19, 51, 47)},
      {"pollack", 1, t5, clock(19, 55, 11)},
      {"turnips", 2, t5, clock(19, 55, 47)},
      {"swede", 2, t5, clock(19, 56, 14)},
      {"perry", 1, t5, clock(19, 56, 56)},
      {"potatoes", 1, t5, clock(19, 56, 58)},
      {"damson", 2, t5, clock(19, 57, 55)},
      {"curd", 1, t5, clock(19, 58, 19)},
      {"beet", 1, t5, clock(19, 59, 34)},
      {"emmer", 3, t8, clock(19, 47, 42)},
      {"leek", 1, t8, clock(19, 56, 17)},
      {"mackerel", 2, t8, clock(19, 58, 30)},
      {"emulsion", 1, t8, clock(20, 1, 37)},
      {"pudding", 3, t7, clock(20, 6, 5)},
      {"pear", 1, t7, clock(20, 19, 28)},
      {"caramel", 1, t7, clock(20, 22, 6)},
      {"loin", 3, clock(20, 30, 0), clock(20, 11, 35)},
      {"emmer", 4, clock(20, 32, 0), clock(20, 16, 53)},
      {"emmer", 1, clock(20, 37, 0), clock(20, 24, 20)},
  };
  for (const Row& row : rows) {
    INFO(row.component << " for " << row.portions);
    const Component* component = house.find_component(row.component);
    REQUIRE(component != nullptr);
    CHECK(in_seconds(row.meet - chain(*component, row.portions)) == in_seconds(row.starts));
  }
}

TEST_CASE("the emmer reads back as it was written") {
  const Kitchen house = tests::larkfold();
  const Component& emmer = *house.find_component("emmer");
  CHECK(emmer.cap == 4);
  CHECK(emmer.keep == seconds(90));
  REQUIRE(emmer.groups.size() == 1);
  const Rounds& ladles = emmer.groups[0];
  CHECK(ladles.word == "ladle");
  CHECK(ladles.min == 6);
  CHECK(ladles.usual == 7);
  CHECK(ladles.max == 9);
  CHECK(ladles.join_before == 3);
  CHECK(ladles.seen == std::map<int, double>{{6, 0.20}, {7, 0.45}, {8, 0.25}, {9, 0.10}});
  REQUIRE(ladles.cue);
  CHECK_FALSE(ladles.cue->too_far.empty());
  CHECK(emmer.steps[static_cast<std::size_t>(ladles.first)].id == "ladle");
  CHECK(emmer.steps[static_cast<std::size_t>(ladles.last)].id == "absorb");
  const Step* settle = emmer.find_step("settle");
  REQUIRE(settle != nullptr);
  CHECK(settle->kind == StepKind::rest);
  CHECK(settle->usual(4) == seconds(90));
  CHECK(settle->rest_max == seconds(180));
  CHECK_FALSE(settle->rest_past.empty());
  CHECK(emmer.without.at("milk") == "no curd, mount with leek oil");
  CHECK(house.find_component("pollack")->find_step("turn")->pause == seconds(90));
}

// The plan of the sauce for one and for four differs by 132 s of waiting and 9 + 9 s of hands; of the loin's rest by 0.
TEST_CASE("times grow with the portions, step by step") {
  const Kitchen house = tests::larkfold();
  const Component& damson = *house.find_component("damson");
  const auto growth = [&](const char* step) {
    return damson.find_step(step)->usual(4) - damson.find_step(step)->usual(1);
  };
  CHECK(growth("boil_down") == seconds(132));
  CHECK(growth("reduce") == seconds(9));
  CHECK(growth("finish") == seconds(9));
  const Step* rest = house.find_component("loin")->find_step("rest");
  CHECK(rest->usual(4) == rest->usual(1));
}

TEST_CASE("a kitchen written as a document is read back exactly") {
  const Kitchen house = tests::larkfold();
  const std::string text = to_document(house);
  const auto again = from_document(text);
  for (const Fault& fault : again.faults) FAIL_CHECK(to_string(fault));
  REQUIRE(again);
  CHECK(*again.value == house);
  CHECK(again.value->version == house.version);
  CHECK(to_document(*again.value) == text);
}

// Test values of FNV-1a 64 as its authors publish them (draft-eastlake-fnv, test vectors for "", "a", "foobar").
TEST_CASE("the version's hash is FNV-1a") {
  CHECK(fnv1a_hex("") == "cbf29ce484222325");
  CHECK(fnv1a_hex("a") == "af63dc4c8601ec8c");
  CHECK(fnv1a_hex("foobar") == "85944171f73967e8");
}
