#include "common/food/heat.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::food;

namespace {

Curve line(double from_c, double to_c, Duration time, int pieces) {
  Curve out;
  for (int i = 0; i <= pieces; ++i) {
    out.push_back({Instant{} + time * i / pieces, from_c + (to_c - from_c) * i / pieces});
  }
  return out;
}

}  // namespace

TEST_CASE("z of 7.4 C gives the demo's equivalents of two minutes at 70 C") {
  // Invented demo rounding, computed once independently: 60 C 45 min, 65 C 9.5 min, 75 C 25 s, 80 C 5 s.
  const auto at = [](double c) { return in_seconds(equivalent_time(equivalents, c, seconds(120))); };
  CHECK(at(60) / 60 == Approx(45).margin(0.5));
  CHECK(at(65) / 60 == Approx(9.5).margin(0.05));
  CHECK(at(75) == Approx(25).margin(0.5));
  CHECK(at(80) == Approx(5).margin(0.5));
}

TEST_CASE("heat received does not depend on how often the probe was read") {
  for (std::uint64_t seed = 0; seed < 100; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    const double a = 40 + 45 * random.unit();
    const double b = 40 + 45 * random.unit();
    const auto once = heat_received(listeria, line(a, b, minutes(30), 1));
    const auto often = heat_received(listeria, line(a, b, minutes(30), 300));
    REQUIRE(once);
    REQUIRE(often);
    CHECK(in_seconds(*once) == Approx(in_seconds(*often)).epsilon(1e-6).margin(0.002));
  }
}

TEST_CASE("a curve held at the reference temperature is worth its own length, and hotter is worth more") {
  CHECK(*heat_received(listeria, held_at(70, seconds(120))) == seconds(120));
  Duration before{};
  for (double c = 55; c <= 80; c += 0.5) {
    const auto worth = heat_received(listeria, held_at(c, minutes(5)));
    REQUIRE(worth);
    CHECK(*worth > before);
    before = *worth;
  }
}

TEST_CASE("heat below the floor can be left out") {
  const Curve curve = line(50, 70, minutes(20), 1);
  const auto all = heat_received(listeria, curve);
  const auto warm = heat_received(listeria, curve, 60.0);
  const auto upper_half = heat_received(listeria, line(60, 70, minutes(10), 1));
  REQUIRE(all);
  REQUIRE(warm);
  REQUIRE(upper_half);
  CHECK(*warm == *upper_half);
  CHECK(*all > *warm);
  CHECK(*heat_received(listeria, line(70, 50, minutes(20), 1), 60.0) == *warm);
  CHECK(*heat_received(listeria, curve, 71.0) == Duration::zero());
}

TEST_CASE("log reduction is heat over D") {
  // D at 70 C of 0.3 min makes two minutes 6.7 decimal reductions (arithmetic; the D value is from memory).
  CHECK(log_reduction(minutes(2), from_seconds(18)) == Approx(6.667).epsilon(1e-3));
}

TEST_CASE("a curve out of order or without numbers is refused") {
  CHECK_FALSE(heat_received(listeria, {{Instant{}, 60}, {Instant{}, 70}}));
  CHECK_FALSE(heat_received(listeria, {{Instant{} + seconds(60), 60}, {Instant{}, 70}}));
  CHECK_FALSE(heat_received(listeria, {{Instant{}, NAN}}));
  CHECK_FALSE(heat_received(listeria, {{Instant{}, -300}}));
  CHECK_FALSE(heat_received({.reference_c = 70, .z = 0}, held_at(70, seconds(60))));
  CHECK(*heat_received(listeria, {}) == Duration::zero());
}

TEST_CASE("time at or above a temperature counts between readings and only uninterrupted") {
  const Curve curve = {
      {Instant{}, 60}, {Instant{} + minutes(10), 80}, {Instant{} + minutes(12), 60}, {Instant{} + minutes(15), 75}};
  CHECK(longest_at_or_above(curve, 70) == minutes(6));
  CHECK(time_above(curve, 70) == minutes(7));
  CHECK(time_below(curve, 70) == minutes(8));
  CHECK(longest_at_or_above(held_at(70, seconds(120)), 70) == seconds(120));
  CHECK(longest_at_or_above({}, 70) == Duration::zero());
  CHECK(time_above(held_at(8, minutes(60)), 8) == Duration::zero());
  CHECK(*warmest(curve) == 80);
  CHECK_FALSE(warmest({}));
}

TEST_CASE("a limit is said in whole hours or minutes where it is one") {
  CHECK(limit_text(minutes(120)) == "2 h");
  CHECK(limit_text(minutes(90)) == "90 min");
  CHECK(limit_text(seconds(5480)) == "1:31:20");
  CHECK(limit_text(Duration::zero()) == "0 min");
}
