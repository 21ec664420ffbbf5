#include "common/food/cooling.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::food;

TEST_CASE("two probe readings give the keep of the pudding") {
  // Invented demo data, computed once independently of this code: 78.0 C, 60 s later 70.6 C, in 23 C: tau 415 s,
  // 52 C after 266 s (within 2 s), 43 C after 7:00.
  const auto tau = time_constant({.first_c = 78.0, .second_c = 70.6, .between = seconds(60), .surround_c = 23});
  REQUIRE(tau);
  CHECK(in_seconds(*tau) == Approx(415).margin(0.5));
  const Cooling pudding{.from_c = 78.0, .surround_c = 23, .time_constant = *tau};
  const auto to_52 = keep_from_cooling(pudding, 52);
  const auto to_43 = keep_from_cooling(pudding, 43);
  REQUIRE(to_52);
  REQUIRE(to_43);
  CHECK(in_seconds(*to_52) == Approx(266).margin(2));
  CHECK(in_seconds(*to_43) == Approx(420).margin(2));
}

TEST_CASE("a second pair of readings gives its keep") {
  // Invented demo data, computed once independently: 68 to 61 C in 120 s in 24 C: tau 693 s, 55 C at 243 s.
  const auto tau = time_constant({.first_c = 68, .second_c = 61, .between = seconds(120), .surround_c = 24});
  REQUIRE(tau);
  CHECK(in_seconds(*tau) == Approx(693).margin(0.5));
  const auto keep = keep_from_cooling({.from_c = 68, .surround_c = 24, .time_constant = *tau}, 55);
  REQUIRE(keep);
  CHECK(in_seconds(*keep) == Approx(243).margin(0.5));
}

TEST_CASE("cold china takes its share at once") {
  // Invented demo data: 180 g at 68 C on 700 g of china ends near 45, 57, 67 C from plates at 20, 45, 65 C. Reproduced
  // with 3600 J/(kg K) for the food and 850 J/(kg K) for the china, both of the plausible size and neither published.
  const Lump food{.kg = 0.180, .specific_heat = 3600, .celsius = 68};
  const auto on = [&](double plate_c) {
    const auto met = plated_temperature(food, {.kg = 0.700, .specific_heat = 850, .celsius = plate_c});
    REQUIRE(met);
    return std::round(*met);
  };
  CHECK(on(20) == 45);
  CHECK(on(45) == 57);
  CHECK(on(65) == 67);
}

TEST_CASE("a warm plate keeps food longer than a cold one") {
  const Lump food{.kg = 0.180, .specific_heat = 3600, .celsius = 68};
  const auto keep = [&](double plate_c) {
    return keep_on_plate(food, {.kg = 0.7, .specific_heat = 850, .celsius = plate_c}, 24, seconds(693), 50);
  };
  REQUIRE(keep(20));
  CHECK(*keep(20) == Duration::zero());  // 45 C already: below the limit before it leaves
  REQUIRE(keep(45));
  REQUIRE(keep(65));
  CHECK(*keep(45) > Duration::zero());
  CHECK(*keep(65) > *keep(45));
}

TEST_CASE("a frozen part on its way up uses the same law") {
  const auto tau = time_constant({.first_c = -14, .second_c = -9, .between = seconds(60), .surround_c = 23});
  REQUIRE(tau);
  const Cooling frozen{.from_c = -14, .surround_c = 23, .time_constant = *tau};
  CHECK(temperature_after(frozen, seconds(60)) == Approx(-9).margin(0.001));
  const auto keep = keep_from_cooling(frozen, -5);
  REQUIRE(keep);
  CHECK(temperature_after(frozen, *keep) == Approx(-5).margin(0.001));
  CHECK(*keep_from_cooling(frozen, -14) == Duration::zero());
}

TEST_CASE("readings that do not approach the surroundings are refused in words") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const TwoReadings bad[] = {
      {.first_c = 61, .second_c = 68, .between = seconds(120), .surround_c = 24},   // away from the room
      {.first_c = 61, .second_c = 61, .between = seconds(120), .surround_c = 24},   // no change
      {.first_c = 30, .second_c = 20, .between = seconds(120), .surround_c = 24},   // through the room's temperature
      {.first_c = 30, .second_c = 24, .between = seconds(120), .surround_c = 24},   // exactly there
      {.first_c = 68, .second_c = 61, .between = seconds(0), .surround_c = 24},     // no time
      {.first_c = 68, .second_c = 61, .between = seconds(-60), .surround_c = 24},   // backwards
      {.first_c = nan, .second_c = 61, .between = seconds(120), .surround_c = 24},  // no number
  };
  for (const auto& readings : bad) {
    const auto tau = time_constant(readings);
    REQUIRE_FALSE(tau);
    CHECK(tau.error().code == Errc::invalid);
    CHECK_FALSE(tau.error().detail.empty());
  }
}

TEST_CASE("a limit at or beyond the surroundings is never reached and says so") {
  const Cooling hot{.from_c = 68, .surround_c = 24, .time_constant = seconds(693)};
  CHECK_FALSE(keep_from_cooling(hot, 24));
  CHECK_FALSE(keep_from_cooling(hot, 20));
  CHECK_FALSE(keep_from_cooling({.from_c = 68, .surround_c = 24, .time_constant = seconds(0)}, 55));
  CHECK(*keep_from_cooling(hot, 70) == Duration::zero());
}

TEST_CASE("keep and temperature are each other's inverse, and a lower limit keeps longer") {
  for (std::uint64_t seed = 0; seed < 300; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    const double room = 15 + 15 * random.unit();
    const double from = 60 + 35 * random.unit();
    const double limit = room + 2 + (from - room - 4) * random.unit();
    const Cooling c{.from_c = from, .surround_c = room, .time_constant = seconds(random.between(30, 4000))};
    const auto keep = keep_from_cooling(c, limit);
    REQUIRE(keep);
    CHECK(temperature_after(c, *keep) == Approx(limit).margin(0.005));
    const auto longer = keep_from_cooling(c, limit - 1);
    REQUIRE(longer);
    CHECK(*longer > *keep);
    const TwoReadings two{
        .first_c = from, .second_c = temperature_after(c, seconds(60)), .between = seconds(60), .surround_c = room};
    const auto tau = time_constant(two);
    REQUIRE(tau);
    CHECK(in_seconds(*tau) == Approx(in_seconds(c.time_constant)).epsilon(1e-4));
  }
}
