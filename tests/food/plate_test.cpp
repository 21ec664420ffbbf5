// Windows of plates, sheets on hot parts, gels and doses.

#include <catch2/catch.hpp>

#include "common/food/cooling.hpp"
#include "common/food/dose.hpp"
#include "common/food/gels.hpp"
#include "common/food/window.hpp"
#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::food;

namespace {

// The demo's frozen-on-hot plate, counted from the unmoulding: the pudding may take the sheet from 52 C on (266 s) and
// is too cold for a warm pudding at 43 C (420 s); the frozen buttermilk lives 100 s from when it goes on.
std::vector<PartClock> pudding_plate(Duration frozen_on) {
  const auto tau = time_constant({.first_c = 78.0, .second_c = 70.6, .between = seconds(60), .surround_c = 23});
  REQUIRE(tau);
  const Cooling hot{.from_c = 78, .surround_c = 23, .time_constant = *tau};
  return {{"pudding", {}, *keep_from_cooling(hot, 52), *keep_from_cooling(hot, 43)},
          {"frozen buttermilk", frozen_on, {}, seconds(100)}};
}

}  // namespace

TEST_CASE("a pudding plate is too early at 4:00, within at 6:00 and too late at 7:10") {
  const auto window = plate_window(pudding_plate(seconds(300)), Duration::zero());
  REQUIRE(window);
  CHECK(moment(*window, seconds(240)) == Moment::too_early);
  CHECK(moment(*window, seconds(360)) == Moment::within);
  CHECK(moment(*window, seconds(430)) == Moment::too_late);
  CHECK(window->opens_with == "frozen buttermilk");  // it has to be on the plate
}

TEST_CASE("three clocks on one plate: the hot part opens it, the cold or the frozen side closes it") {
  const auto at_once = plate_window(pudding_plate(seconds(267)), Duration::zero());
  REQUIRE(at_once);
  CHECK(in_seconds(at_once->earliest) == Approx(266).margin(2));
  CHECK(at_once->latest == seconds(367));
  CHECK(at_once->closes_with == "frozen buttermilk");

  const auto late = plate_window(pudding_plate(seconds(350)), Duration::zero());
  REQUIRE(late);
  CHECK(in_seconds(*late->latest) == Approx(420).margin(2));
  CHECK(late->closes_with == "pudding");
}

TEST_CASE("the walk comes off the latest: 100 s for a table 45 s away are 55 s at the pass") {
  const auto garden = plate_window({{"frozen buttermilk", {}, {}, seconds(100)}}, seconds(45));
  REQUIRE(garden);
  CHECK(garden->latest == seconds(55));
}

TEST_CASE("a plate without a moment names the two parts that exclude each other") {
  auto parts = pudding_plate(seconds(100));  // the frozen part put on long before the pudding is cool enough
  const auto window = plate_window(parts, seconds(15));
  REQUIRE_FALSE(window);
  CHECK(window.error().code == Errc::refused);
  CHECK(window.error().detail.find("pudding") != std::string::npos);
  CHECK(window.error().detail.find("frozen buttermilk") != std::string::npos);
}

TEST_CASE("a plate of nothing, a part dead before it is ready and a negative walk are refused") {
  CHECK_FALSE(plate_window({}, {}));
  CHECK_FALSE(plate_window({{"leek", {}, seconds(60), seconds(30)}}, {}));
  CHECK_FALSE(plate_window({{"leek", {}, {}, seconds(30)}}, seconds(-1)));
  const auto open = plate_window({{"crumb", {}, seconds(10), {}}}, seconds(45));
  REQUIRE(open);
  CHECK_FALSE(open->latest);
  CHECK(open->closes_with.empty());
  CHECK(moment(*open, minutes(600)) == Moment::within);
}

TEST_CASE("adding a part never opens a window earlier nor closes it later") {
  for (std::uint64_t seed = 0; seed < 300; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    std::vector<PartClock> parts;
    std::optional<PlateWindow> before;
    for (int i = 0; i < 5; ++i) {
      const Duration earliest = seconds(random.between(0, 300));
      parts.push_back({"part", seconds(random.between(0, 60)), earliest, {}});
      if (random.chance(0.8)) parts.back().latest = earliest + seconds(random.between(0, 600));
      const auto window = plate_window(parts, seconds(15));
      if (!window) break;
      if (before) {
        CHECK(window->earliest >= before->earliest);
        if (before->latest) CHECK(*window->latest <= *before->latest);
      }
      before = *window;
    }
  }
}

TEST_CASE("a sheet that would melt on the part beneath it is a fault") {
  const Sheet whey{.name = "whey sheet", .fails_c = 58, .house_c = 52};
  const auto melts = sheet_on(whey, "pudding", 60);
  REQUIRE_FALSE(melts);
  CHECK(melts.error().detail.find("whey sheet") != std::string::npos);
  CHECK(melts.error().detail.find("pudding") != std::string::npos);
  CHECK_FALSE(sheet_on(whey, "pudding", 58));  // at its limit it fails
  CHECK_FALSE(sheet_on(whey, "pudding", 55));  // holds, but the house wants less
  CHECK(sheet_on(whey, "pudding", 52));
  CHECK(sheet_on({.name = "agar sheet", .fails_c = 80, .house_c = {}}, "pudding", 79));
  CHECK_FALSE(sheet_on({.name = "agar sheet", .fails_c = 80, .house_c = {}}, "pudding", 80));
}

TEST_CASE("gels say what they do at a temperature, and only what their band says") {
  const Gel* gelatine = find_gel("gelatine");
  const Gel* agar = find_gel("agar");
  const Gel* methyl = find_gel("methylcellulose");
  REQUIRE(gelatine);
  REQUIRE(agar);
  REQUIRE(methyl);
  CHECK_FALSE(find_gel("jelly"));
  // A set agar cream may be warmed where a gelatine one runs.
  CHECK(held_at_temperature(*gelatine, 8) == GelState::set);
  CHECK(held_at_temperature(*gelatine, 30) == GelState::either);
  CHECK(held_at_temperature(*gelatine, 55) == GelState::melted);
  CHECK(held_at_temperature(*agar, 55) == GelState::set);
  CHECK(held_at_temperature(*agar, 95) == GelState::melted);
  CHECK(held_at_temperature(*methyl, 70) == GelState::set);
  CHECK(held_at_temperature(*methyl, 20) == GelState::either);
  for (const Gel& gel : gels()) {
    CHECK_FALSE(gel.source.empty());
    if (gel.sets.low_c && gel.sets.high_c) CHECK(*gel.sets.low_c < *gel.sets.high_c);
    if (gel.melts.low_c && gel.melts.high_c) CHECK(*gel.melts.low_c < *gel.melts.high_c);
  }
}

TEST_CASE("butter and gelling agents are weighed against the base") {
  CHECK(dose_kg(2.0, butter_rich_percent) == Approx(1.0));
  CHECK(dose_kg(2.0, butter_usual_percent) == Approx(0.6));
  CHECK(bakers_percent(0.3, 1.0) == Approx(30));
  const auto agar = hydrocolloid("agar", 1.0, 0.4);
  REQUIRE(agar);
  CHECK(agar->grams == Approx(4.0));
  CHECK(agar->remark.empty());
  const auto slipped = hydrocolloid("agar", 1.0, 4);
  REQUIRE(slipped);
  CHECK(slipped->remark.find("decimal point") != std::string::npos);
  CHECK(hydrocolloid("sawdust", 1, 1).error().code == Errc::unknown);
  CHECK_FALSE(hydrocolloid("agar", 0, 0.4));
}

TEST_CASE("what is weighed out adds up to the total and keeps the percentages") {
  for (std::uint64_t seed = 0; seed < 100; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    std::vector<Ingredient> recipe = {{"base", 100}};
    for (int i = 0; i < 4; ++i) recipe.push_back({"more", 120 * random.unit()});
    const double total = 0.1 + 20 * random.unit();
    const auto weighed = weigh_out(recipe, total);
    REQUIRE(weighed);
    double sum = 0;
    for (std::size_t i = 0; i < recipe.size(); ++i) {
      sum += (*weighed)[i].kg;
      CHECK(bakers_percent((*weighed)[i].kg, (*weighed)[0].kg) == Approx(recipe[i].percent));
    }
    CHECK(sum == Approx(total));
  }
  CHECK_FALSE(weigh_out({{"water", 60}}, 1));
  CHECK_FALSE(weigh_out({{"flour", 100}, {"salt", -1}}, 1));
  CHECK_FALSE(weigh_out({{"flour", 100}}, 0));
}
