#include "common/food/conduction.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::food;

namespace {

// The demo's blast chiller: air at -5 C, surface coefficient 30 W/(m2 K), puree at 90 C. The tray is taken as a slab
// chilled from both faces with k = 0.55 W/(m K) and diffusivity 1.4e-7 m2/s: the assumptions with which the demo's
// independent check values come out.
Body tray(double thickness_m) {
  return {.shape = Shape::slab, .radius_m = thickness_m / 2, .material = wet_puree, .film = 30};
}
constexpr Immersion chiller{.start_c = 90, .around_c = -5};

Body random_body(tests::Random& random) {
  const double biot = std::pow(10.0, -2.5 + 5 * random.unit());
  const double radius = 0.002 + 0.06 * random.unit();
  const double k = 0.3 + 0.4 * random.unit();
  const auto shape = static_cast<Shape>(random.between(0, 2));
  return {.shape = shape,
          .radius_m = radius,
          .material = {.conductivity = k, .diffusivity = (1 + 0.8 * random.unit()) * 1e-7},
          .film = biot * k / radius};
}

}  // namespace

TEST_CASE("depth decides how long a tray takes: 20, 30, 40, 50 mm") {
  // Invented demo data, computed once independently of this code: 53, 88, 127 and 172 min from 90 to 8 C.
  const std::pair<double, double> trays[] = {{0.020, 53}, {0.030, 88}, {0.040, 127}, {0.050, 172}};
  for (const auto& [thickness, expected] : trays) {
    const auto time = time_to_core(tray(thickness), chiller, 8);
    REQUIRE(time);
    CHECK(in_seconds(*time) / 60 == Approx(expected).margin(0.6));
  }
}

TEST_CASE("twenty minutes in, the core of 40 mm reads 72 C and of 30 mm 60 C") {
  // Invented demo data, computed once independently.
  const auto deep = Conduction::of(tray(0.040));
  const auto flat = Conduction::of(tray(0.030));
  REQUIRE(deep);
  REQUIRE(flat);
  CHECK(std::round(deep->core_c(chiller, 1200)) == 72);
  CHECK(std::round(flat->core_c(chiller, 1200)) == 60);
}

TEST_CASE("the deepest tray that makes 90 minutes lies just above 30 mm") {
  // Invented demo data: 30 mm take 88 min, 40 mm take 127.
  const auto deepest = deepest_tray_m(wet_puree, 30, chiller, 8, minutes(90));
  REQUIRE(deepest);
  CHECK(*deepest > 0.030);
  CHECK(*deepest < 0.032);
  const auto time = time_to_core(tray(*deepest), chiller, 8);
  REQUIRE(time);
  CHECK(in_seconds(*time) == Approx(90 * 60).margin(0.01));
  CHECK_FALSE(deepest_tray_m(wet_puree, 30, chiller, -5, minutes(90)));
  CHECK_FALSE(deepest_tray_m(wet_puree, 30, chiller, 8, minutes(0)));
  CHECK_FALSE(deepest_tray_m(wet_puree, 30, chiller, 8, Duration(1)));
  CHECK_FALSE(deepest_tray_m({}, 30, chiller, 8, minutes(90)));
  CHECK(*deepest_tray_m(wet_puree, 30, chiller, 89.9, std::chrono::hours(10000)) == 2);
}

TEST_CASE("a tray chilled from one face alone takes as long as one twice as thick") {
  Body one_face = tray(0.040);
  one_face.radius_m = 0.040;
  CHECK(*time_to_core(one_face, chiller, 8) == *time_to_core(tray(0.080), chiller, 8));
}

TEST_CASE("a pre-soaked potato slice is lifted after its core has been at 60 C for half an hour") {
  // 15 mm slices in a bath of 62 C, stirred: h = 400 W/(m2 K) (common practice, no source).
  const Body slice{.shape = Shape::slab, .radius_m = 0.0075, .material = potato, .film = 400};
  const auto plan = soak(slice, {.start_c = 15, .around_c = 62}, 60, minutes(30));
  REQUIRE(plan);
  CHECK(plan->lift - plan->core_there == minutes(30));
  // Bi 5.47, Fo from the one-term solution with roots tabulated for Bi 5 and 10 (1.3138, 1.4289): between these two.
  const double left = 2.0 / 47;
  const double scale = 0.0075 * 0.0075 / 1.3984e-7;
  CHECK(in_seconds(plan->core_there) < scale * std::log(1.2403 / left) / (1.3138 * 1.3138));
  CHECK(in_seconds(plan->core_there) > scale * std::log(1.2620 / left) / (1.4289 * 1.4289));
}

TEST_CASE("a bath cannot bring the core to its own temperature") {
  const Body slice{.shape = Shape::slab, .radius_m = 0.0075, .material = potato, .film = 400};
  CHECK_FALSE(time_to_core(slice, {.start_c = 15, .around_c = 60}, 60));
  CHECK_FALSE(time_to_core(slice, {.start_c = 15, .around_c = 60}, 75));
  CHECK(*time_to_core(slice, {.start_c = 15, .around_c = 60}, 10) == Duration::zero());
  CHECK(*time_to_core(slice, {.start_c = 20, .around_c = 20}, 20) == Duration::zero());
  CHECK_FALSE(time_to_core(slice, {.start_c = 20, .around_c = 20}, 21));
  CHECK_FALSE(soak(slice, {.start_c = 15, .around_c = 62}, 60, minutes(-1)));
}

TEST_CASE("a body without size or properties is refused") {
  CHECK_FALSE(Conduction::of({.shape = Shape::slab, .radius_m = 0, .material = potato, .film = 30}));
  CHECK_FALSE(Conduction::of({.shape = Shape::slab, .radius_m = 0.01, .material = {}, .film = 30}));
  CHECK_FALSE(Conduction::of({.shape = Shape::sphere, .radius_m = 0.01, .material = potato, .film = -1}));
  CHECK_FALSE(Conduction::of({.shape = Shape::sphere, .radius_m = NAN, .material = potato, .film = 30}));
}

TEST_CASE("one term and the whole series agree from Fo = 0.2 on") {
  for (std::uint64_t seed = 0; seed < 120; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    const Body body = random_body(random);
    const auto series = Conduction::of(body);
    REQUIRE(series);
    const double per_fourier = body.radius_m * body.radius_m / body.material.diffusivity;
    for (double fo = 0.2; fo < 3; fo *= 1.3) {
      const double whole = series->core_left(fo * per_fourier);
      const double one = series->core_left_one_term(fo * per_fourier);
      // Cengel: the error is under 2 % for Fo > 0.2; the sphere with a perfect film is the worst case.
      CHECK(std::abs(one - whole) <= 0.02 * whole);
      // The core's first term bounds the whole series from above (the bound the chiller's verdict rests on).
      CHECK(one >= whole - 1e-12);
    }
  }
}

TEST_CASE("the core only falls, the mean is ahead of it, both stay between start and surroundings") {
  for (std::uint64_t seed = 0; seed < 120; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    const Body body = random_body(random);
    const auto series = Conduction::of(body);
    REQUIRE(series);
    const double per_fourier = body.radius_m * body.radius_m / body.material.diffusivity;
    double core_before = 1 + 1e-9;
    double mean_before = 1 + 1e-9;
    for (double fo = 1e-4; fo < 20; fo *= 1.25) {
      const double core = series->core_left(fo * per_fourier);
      const double mean = series->mean_left(fo * per_fourier);
      CHECK(core <= core_before + 1e-9);
      CHECK(mean <= mean_before + 1e-9);
      CHECK(mean <= core + 1e-9);
      CHECK(mean >= 0);
      core_before = core;
      mean_before = mean;
    }
  }
}

TEST_CASE("heat leaves no faster than a body of one temperature would lose it, and no faster than the film allows") {
  for (std::uint64_t seed = 0; seed < 60; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    const Body body = random_body(random);
    const auto series = Conduction::of(body);
    REQUIRE(series);
    const double faces = body.shape == Shape::slab ? 1 : body.shape == Shape::cylinder ? 2 : 3;  // surface * R / volume
    const double rho_c = body.material.conductivity / body.material.diffusivity;
    for (const double fo : {0.01, 0.1, 0.5, 2.0}) {
      const double t = fo * body.radius_m * body.radius_m / body.material.diffusivity;
      const double lost = 1 - series->mean_left(t);
      const double rate = faces * body.film / (rho_c * body.radius_m);
      CHECK(lost <= 1 - std::exp(-rate * t) + 1e-6);
      CHECK(lost <= rate * t + 1e-6);
      CHECK(lost >= 0);
    }
  }
}

TEST_CASE("a thicker body, a poorer film, a farther target all take longer") {
  for (std::uint64_t seed = 0; seed < 80; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    const Body body = random_body(random);
    const Immersion in{.start_c = 5, .around_c = 60};
    const double target = 20 + 35 * random.unit();
    const auto base = time_to_core(body, in, target);
    REQUIRE(base);
    Body thick = body;
    thick.radius_m *= 1.1;
    Body poor = body;
    poor.film *= 0.8;
    CHECK(*time_to_core(thick, in, target) > *base);
    CHECK(*time_to_core(poor, in, target) > *base);
    CHECK(*time_to_core(body, in, target + 1) > *base);
    const auto series = Conduction::of(body);
    REQUIRE(series);
    CHECK(series->core_c(in, in_seconds(*base)) == Approx(target).margin(0.01 + 55e-3 / in_seconds(*base)));
  }
}

TEST_CASE("with a small Biot number the series becomes Newton's law") {
  for (const Shape shape : {Shape::slab, Shape::cylinder, Shape::sphere}) {
    const double faces = shape == Shape::slab ? 1 : shape == Shape::cylinder ? 2 : 3;
    const double biot = 1e-4;
    const Body body{.shape = shape, .radius_m = 0.01, .material = potato, .film = biot * potato.conductivity / 0.01};
    const auto series = Conduction::of(body);
    REQUIRE(series);
    const double t = 1.0 / (faces * biot) * 0.01 * 0.01 / potato.diffusivity;  // one time constant
    CHECK(series->core_left(t) == Approx(std::exp(-1.0)).epsilon(1e-4));
    CHECK(series->mean_left(t) == Approx(std::exp(-1.0)).epsilon(1e-4));
  }
}
