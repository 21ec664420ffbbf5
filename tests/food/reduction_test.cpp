#include "common/food/reduction.hpp"

#include <catch2/catch.hpp>

#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::food;

TEST_CASE("damson stock on induction and on gas") {
  // Invented demo data, computed once independently: 6.0 to 1.2 kg in 61 min on 3.5 kW induction after 11 min of
  // heating, 67 min on the 6 kW gas ring. Reproduced with efficiencies 0.85 and 0.45, 2.26 MJ/kg, from 20 C, 4190
  // J/(kg K), full power to the end.
  const Reduction stock{.from_kg = 6.0, .to_kg = 1.2, .start_c = 20};
  const auto induction = reduction_time(stock, {.watts = 3500, .efficiency = 0.85});
  const auto gas = reduction_time(stock, {.watts = 6000, .efficiency = 0.45});
  REQUIRE(induction);
  REQUIRE(gas);
  CHECK(in_seconds(induction->boiling) / 60 == Approx(61).margin(0.5));
  CHECK(in_seconds(induction->heating) / 60 == Approx(11).margin(0.5));
  CHECK(in_seconds(gas->boiling) / 60 == Approx(67).margin(0.5));
  CHECK(induction->full() == induction->heating + induction->boiling);
}

TEST_CASE("a sauce reduces in proportion to its portions") {
  // Invented demo data, computed once independently: 25 g a portion at 1.6 kW and 0.8: 44 s for one, 176 s for four.
  const auto for_portions = [](double n) {
    const auto time = reduction_time({.from_kg = 0.060 * n, .to_kg = 0.035 * n}, {.watts = 1600, .efficiency = 0.8});
    REQUIRE(time);
    CHECK(time->heating == Duration::zero());
    return in_seconds(time->boiling);
  };
  CHECK(for_portions(1) == Approx(44).margin(0.5));
  CHECK(for_portions(4) == Approx(176).margin(0.7));
}

TEST_CASE("the last tenth at half power takes twice as long") {
  const auto time = reduction_time({.from_kg = 2, .to_kg = 1}, {.watts = 2000, .efficiency = 1});
  REQUIRE(time);
  CHECK(in_seconds(time->gentle()) == Approx(1.1 * in_seconds(time->full())).epsilon(1e-6));
}

TEST_CASE("two weighings tell when it is there") {
  // 6.00 and 5.20 kg ten minutes apart predict 1.20 kg after 50 more minutes (arithmetic of the demo).
  const auto left = reduction_left({.before_kg = 6.00, .now_kg = 5.20, .between = minutes(10), .target_kg = 1.20});
  REQUIRE(left);
  CHECK(left->at_this_rate == minutes(50));
  CHECK(left->kg_per_minute == Approx(0.08));
  CHECK(left->gentle_extra == minutes(6));  // a tenth of 4.80 kg at 0.08 kg/min again
}

TEST_CASE("close to the end only what is left can be slowed") {
  const auto left = reduction_left({.before_kg = 1.40, .now_kg = 1.21, .between = minutes(2), .target_kg = 1.20});
  REQUIRE(left);
  CHECK(left->gentle_extra == left->at_this_rate);
}

TEST_CASE("weighings that show no loss, or a target already passed, are refused in words") {
  CHECK_FALSE(reduction_left({.before_kg = 5.2, .now_kg = 5.2, .between = minutes(10), .target_kg = 1.2}));
  CHECK_FALSE(reduction_left({.before_kg = 5.2, .now_kg = 6.0, .between = minutes(10), .target_kg = 1.2}));
  CHECK_FALSE(reduction_left({.before_kg = 6.0, .now_kg = 5.2, .between = minutes(0), .target_kg = 1.2}));
  CHECK_FALSE(reduction_left({.before_kg = 6.0, .now_kg = 5.2, .between = minutes(10), .target_kg = 5.2}));
  CHECK_FALSE(reduction_left({.before_kg = 6.0, .now_kg = 5.2, .between = minutes(10), .target_kg = 0}));
  CHECK_FALSE(reduction_time({.from_kg = 1.2, .to_kg = 6.0}, {.watts = 3500, .efficiency = 0.85}));
  CHECK_FALSE(reduction_time({.from_kg = 6.0, .to_kg = 1.2}, {.watts = 0, .efficiency = 0.85}));
  CHECK_FALSE(reduction_time({.from_kg = 6.0, .to_kg = 1.2}, {.watts = 3500, .efficiency = 1.2}));
  CHECK_FALSE(reduction_time({.from_kg = 6.0, .to_kg = 1.2, .start_c = 110}, {.watts = 3500, .efficiency = 0.85}));
}

TEST_CASE("power and weighing agree: boiled at steady power, the scales foretell the end") {
  for (std::uint64_t seed = 0; seed < 200; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    const double from = 2 + 6 * random.unit();
    const double to = from * (0.1 + 0.5 * random.unit());
    const Heat heat{.watts = 1000 + 5000 * random.unit(), .efficiency = 0.3 + 0.6 * random.unit()};
    const auto whole = reduction_time({.from_kg = from, .to_kg = to}, heat);
    REQUIRE(whole);
    const double share = 0.05 + 0.8 * random.unit();
    const auto left = reduction_left({.before_kg = from,
                                      .now_kg = from - share * (from - to),
                                      .between = from_seconds(share * in_seconds(whole->boiling)),
                                      .target_kg = to});
    REQUIRE(left);
    CHECK(in_seconds(left->at_this_rate) == Approx((1 - share) * in_seconds(whole->boiling)).epsilon(1e-4));
  }
}
