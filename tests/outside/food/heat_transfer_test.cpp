// Heat conduction, lumped cooling, water and reduction against published values.

#include <catch2/catch.hpp>
#include <cmath>

#include "common/food/conduction.hpp"
#include "common/food/cooling.hpp"
#include "common/food/reduction.hpp"

using namespace nappe;
using namespace nappe::food;

TEST_CASE("Cengel, Heat and Mass Transfer, table 4-2: first roots and coefficients") {
  // Table 4-2 as printed for Bi up to 10, except the two last digits the print has wrong: cylinder root at Bi 2 (print
  // 1.5995, exact 1.599449), slab coefficient at Bi 5 (print 1.2403, exact 1.240249). The rows 20, 50 and 100 were
  // computed independently from the same equations.
  struct Row {
    double biot, slab_root, slab_c, cylinder_root, cylinder_c, sphere_root, sphere_c;
  };
  const Row rows[] = {
      {0.01, 0.0998, 1.0017, 0.1412, 1.0025, 0.1730, 1.0030}, {0.1, 0.3111, 1.0161, 0.4417, 1.0246, 0.5423, 1.0298},
      {0.2, 0.4328, 1.0311, 0.6170, 1.0483, 0.7593, 1.0592},  {0.5, 0.6533, 1.0701, 0.9408, 1.1143, 1.1656, 1.1441},
      {1, 0.8603, 1.1191, 1.2558, 1.2071, 1.5708, 1.2732},    {2, 1.0769, 1.1785, 1.5994, 1.3384, 2.0288, 1.4793},
      {4, 1.2646, 1.2287, 1.9081, 1.4698, 2.4556, 1.7202},    {5, 1.3138, 1.2402, 1.9898, 1.5029, 2.5704, 1.7870},
      {10, 1.4289, 1.2620, 2.1795, 1.5677, 2.8363, 1.9249},   {20, 1.4961, 1.2699, 2.2880, 1.5919, 2.9857, 1.9781},
      {50, 1.5400, 1.2727, 2.3572, 1.6002, 3.0788, 1.9962},   {100, 1.5552, 1.2731, 2.3809, 1.6015, 3.1102, 1.9990},
  };
  const double last_digit = 0.5001e-4;
  for (const Row& row : rows) {
    INFO("Bi " << row.biot);
    const Term slab = series_term(Shape::slab, row.biot, 1);
    const Term cylinder = series_term(Shape::cylinder, row.biot, 1);
    const Term sphere = series_term(Shape::sphere, row.biot, 1);
    CHECK(slab.root == Approx(row.slab_root).margin(last_digit).epsilon(0));
    CHECK(slab.coefficient == Approx(row.slab_c).margin(last_digit).epsilon(0));
    CHECK(cylinder.root == Approx(row.cylinder_root).margin(last_digit).epsilon(0));
    CHECK(cylinder.coefficient == Approx(row.cylinder_c).margin(last_digit).epsilon(0));
    CHECK(sphere.root == Approx(row.sphere_root).margin(last_digit).epsilon(0));
    CHECK(sphere.coefficient == Approx(row.sphere_c).margin(last_digit).epsilon(0));
  }
  CHECK(series_term(Shape::cylinder, 2, 1).root == Approx(1.599449).margin(5e-7).epsilon(0));
  CHECK(series_term(Shape::slab, 5, 1).coefficient == Approx(1.240249).margin(5e-7).epsilon(0));
}

TEST_CASE("limits for a perfect film: pi/2 and 4/pi, 2.4048 and 1.6020, pi and 2") {
  // Roots: Ostrogorsky, ASME J. Heat Transfer; coefficients follow from the series.
  const Term slab = series_term(Shape::slab, 1e7, 1);
  const Term cylinder = series_term(Shape::cylinder, 1e7, 1);
  const Term sphere = series_term(Shape::sphere, 1e7, 1);
  CHECK(slab.root == Approx(std::acos(-1.0) / 2).epsilon(1e-6));
  CHECK(slab.coefficient == Approx(4 / std::acos(-1.0)).epsilon(1e-6));
  CHECK(cylinder.root == Approx(2.4048).margin(5e-5));
  // Cengel prints 1.6021 in the row for infinity; exactly it is 2 / (2.404826 J1(2.404826)) = 1.601975.
  CHECK(cylinder.coefficient == Approx(1.601975).margin(1e-6));
  CHECK(cylinder.coefficient == Approx(1.6021).margin(1.5e-4));
  CHECK(sphere.root == Approx(std::acos(-1.0)).epsilon(1e-6));
  CHECK(sphere.coefficient == Approx(2).epsilon(1e-6));
}

TEST_CASE("short times: the core against the solutions by images") {
  // Slab: theta = 1 - 2 sum (-1)^n erfc((2n+1) / (2 sqrt Fo)) (Carslaw and Jaeger 1959, 3.3); sphere, centre:
  // theta = 1 - 2 / sqrt(pi Fo) sum exp(-(2n+1)^2 / (4 Fo)) (Crank, The Mathematics of Diffusion 1975, 6.20). Both for
  // a perfect film, and quick to converge just where the series of exponentials is slow.
  const auto core = [](Shape shape, double fourier) {
    const auto series = Conduction::of(
        {.shape = shape, .radius_m = 0.01, .material = {.conductivity = 0.5, .diffusivity = 1e-7}, .film = 5e8});
    REQUIRE(series);
    return series->core_left(fourier * 0.01 * 0.01 / 1e-7);
  };
  for (const double fo : {0.0005, 0.002, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5}) {
    INFO("Fo " << fo);
    double slab = 1;
    double sphere = 1;
    for (int n = 0; n < 20; ++n) {
      const double odd = 2 * n + 1;
      slab -= 2 * (n % 2 == 0 ? 1 : -1) * std::erfc(odd / (2 * std::sqrt(fo)));
      sphere -= 2 / std::sqrt(std::acos(-1.0) * fo) * std::exp(-odd * odd / (4 * fo));
    }
    CHECK(core(Shape::slab, fo) == Approx(slab).margin(1e-6).epsilon(0));
    CHECK(core(Shape::sphere, fo) == Approx(sphere).margin(1e-6).epsilon(0));
  }
}

TEST_CASE("boiled eggs: one term and full series") {
  // Problem data: Cengel, Heat and Mass Transfer, ch. 4 (and a variant set as course work); answers computed
  // independently. Published solution sheets interpolate the root and miss by up to 0.4 %.
  struct Egg {
    Body body;
    Immersion in;
    double target_c, biot, root, coefficient, one_term_s, full_s;
  };
  const Egg eggs[] = {
      {{.shape = Shape::sphere,
        .radius_m = 0.0275,
        .material = {.conductivity = 0.6, .diffusivity = 1.4e-7},
        .film = 1400},
       {.start_c = 8, .around_c = 97},
       70,
       64.167,
       3.09267,
       1.99768,
       1064.5,
       1062.5},
      {{.shape = Shape::sphere,
        .radius_m = 0.0275,
        .material = {.conductivity = 0.607, .diffusivity = 1.46e-7},
        .film = 800},
       {.start_c = 4.3, .around_c = 100},
       74,
       36.244,
       3.05512,
       1.99294,
       1105.9,
       1104.5},
  };
  for (const Egg& egg : eggs) {
    const auto series = Conduction::of(egg.body);
    REQUIRE(series);
    CHECK(series->biot() == Approx(egg.biot).margin(0.0005));
    CHECK(series->terms().front().root == Approx(egg.root).margin(5e-6));
    CHECK(series->terms().front().coefficient == Approx(egg.coefficient).margin(5e-6));
    CHECK(*series->time_to_core_one_term_s(egg.in, egg.target_c) == Approx(egg.one_term_s).margin(0.06));
    CHECK(*series->time_to_core_s(egg.in, egg.target_c) == Approx(egg.full_s).margin(0.06));
  }
}

TEST_CASE("a 25 mm slab in a bath of 56 C, minute by minute") {
  // Computed independently from the one-term solution: k 0.48, rho 1060, cp 3500, h 300, from 5 C.
  const double alpha = 0.48 / (1060.0 * 3500.0);
  CHECK(alpha == Approx(1.2938e-7).epsilon(1e-4));
  const auto slab = Conduction::of({.shape = Shape::slab,
                                    .radius_m = 0.0125,
                                    .material = {.conductivity = 0.48, .diffusivity = alpha},
                                    .film = 300});
  REQUIRE(slab);
  CHECK(slab->biot() == Approx(7.8125));
  CHECK(slab->terms().front().root == Approx(1.394198).margin(5e-7));
  CHECK(slab->terms().front().coefficient == Approx(1.256355).margin(5e-7));
  const std::pair<double, double> centre[] = {{10, 31.61}, {15, 40.95}, {20, 46.71}, {30, 52.46}, {40, 54.65}};
  for (const auto& [minute, celsius] : centre) {
    CHECK(slab->core_c({.start_c = 5, .around_c = 56}, minute * 60) == Approx(celsius).margin(0.0051).epsilon(0));
  }
}

TEST_CASE("Cengel example 4-1: a thermocouple bead reads 99 % in ten seconds") {
  // D 1 mm, k 35, rho 8500, cp 320, h 210; book: Lc 1.67e-4 m, Bi 0.001, b 0.462 /s, 10 s.
  const LumpedBody bead{.film = 210, .density = 8500, .specific_heat = 320, .length = 0.001 / 6, .conductivity = 35};
  CHECK(lumped_biot(bead) == Approx(0.001).epsilon(1e-9));
  CHECK(1 / lumped_time_constant_s(bead) == Approx(0.46324).margin(5e-6));
  const Cooling probe{.from_c = 0, .surround_c = 100, .time_constant = from_seconds(lumped_time_constant_s(bead))};
  const auto to_99 = keep_from_cooling(probe, 99);
  REQUIRE(to_99);
  CHECK(in_seconds(*to_99) == Approx(9.941).margin(0.005));
  CHECK(std::round(in_seconds(*to_99)) == 10);
}

TEST_CASE("the exact boundary of the two-stage cooling rule: 21 C after 2 h and 5 C after 6 h in 3 C air") {
  // Arithmetic: (21 - 3)/(57 - 3) = 1/3, so tau = 120/ln 3 = 109.229 min and T(360 min) = 3 + 54/27 = 5 C exactly.
  const auto tau = time_constant({.first_c = 57, .second_c = 21, .between = minutes(120), .surround_c = 3});
  REQUIRE(tau);
  CHECK(in_seconds(*tau) / 60 == Approx(109.229).margin(0.0005));
  const Cooling pot{.from_c = 57, .surround_c = 3, .time_constant = *tau};
  CHECK(temperature_after(pot, minutes(120)) == Approx(21).margin(1e-5));
  CHECK(temperature_after(pot, minutes(360)) == Approx(5).margin(1e-5));
}

TEST_CASE("water at saturation against IAPWS") {
  // Values of IAPWS-IF97 at 60 to 100 C; at 100 C also IAPWS-95 2256.404 and NISTIR 5078 2256.4 kJ/kg.
  struct Row {
    double celsius, kpa, kj_per_kg, density;
  };
  const Row rows[] = {{60, 19.946, 2357.691, 983.18},
                      {70, 31.201, 2333.081, 977.75},
                      {80, 47.415, 2308.066, 971.78},
                      {90, 70.182, 2282.560, 965.30},
                      {100, 101.418, 2256.473, 958.35}};
  for (const Row& row : rows) {
    const SaturatedWater water = saturated_water(row.celsius);
    CHECK(water.pressure / 1e3 == Approx(row.kpa).epsilon(1e-4));
    CHECK(water.latent_heat / 1e3 == Approx(row.kj_per_kg).epsilon(1e-4));
    CHECK(water.liquid_density == Approx(row.density).epsilon(3e-5));
  }
  CHECK(saturated_water(100).latent_heat / 1e3 == Approx(2256.404).epsilon(1e-4));
  // The kitchen's round figure is that, to three digits.
  CHECK(latent_heat_rounded == Approx(saturated_water(100).latent_heat).epsilon(0.002));
  // The engineering fit 2500 - 2.42 t kJ/kg is the coarser one: within 0.15 %.
  CHECK(saturated_water(100).latent_heat / 1e3 == Approx(2500 - 242.0).epsilon(0.0015));
}

TEST_CASE("two kilowatts boil away 53.18 g a minute") {
  // Computed independently with 2256.473 kJ/kg: 1.000 kg to 0.500 kg takes 9.402 min.
  const double latent = saturated_water(100).latent_heat;
  const auto time =
      reduction_time({.from_kg = 1, .to_kg = 0.5, .latent_heat = latent}, {.watts = 2000, .efficiency = 1});
  REQUIRE(time);
  CHECK(in_seconds(time->boiling) / 60 == Approx(9.402).margin(0.0011));
  CHECK(500 / (in_seconds(time->boiling) / 60) == Approx(53.180).margin(0.006));
  // 1 kg of water from 20 to 100 C takes about 335.2 kJ.
  const auto heating = reduction_time({.from_kg = 1, .to_kg = 0.5, .start_c = 20}, {.watts = 1000, .efficiency = 1});
  REQUIRE(heating);
  CHECK(in_seconds(heating->heating) == Approx(335.2).margin(0.05));
}

TEST_CASE("water by the equations of Choi and Okos") {
  // Equations: Ibarz' copy of Choi and Okos 1986; at 20 C computed independently.
  const WaterProperties w = choi_okos_water(20);
  CHECK(w.conductivity == Approx(0.60366).margin(5e-6));
  CHECK(w.specific_heat / 1e3 == Approx(4.17657).margin(5e-6));
  CHECK(w.density == Approx(995.740).margin(5e-4));
  // IAPWS at 20 C: k 0.5980, rho 998.21, cp 4.1848, diffusivity 1.4316e-7; at 60 C diffusivity 1.5830e-7.
  CHECK(w.conductivity == Approx(0.5980).epsilon(0.01));
  CHECK(w.density == Approx(998.21).epsilon(0.003));
  CHECK(w.specific_heat / 1e3 == Approx(4.1848).epsilon(0.003));
  CHECK(w.diffusivity == Approx(1.4316e-7).epsilon(0.015));
  CHECK(choi_okos_water(60).diffusivity == Approx(1.5830e-7).epsilon(0.02));
  // And the equations hang together: k / (rho cp) is the diffusivity.
  CHECK(w.conductivity / (w.density * w.specific_heat) == Approx(w.diffusivity).epsilon(0.015));
}

TEST_CASE("the materials used lie where measured diffusivities lie") {
  // Measured, Engineering ToolBox: potato flesh 1.70e-7 at 25 C, mashed 78 % water 1.23e-7 at 5 C; beef round 71 %
  // water 1.33e-7; squash 1.71e-7 at 47 C. The scatter of the source is the tolerance.
  CHECK(potato.diffusivity > 1.23e-7);
  CHECK(potato.diffusivity < 1.70e-7);
  CHECK(lean_meat.diffusivity == Approx(1.33e-7).epsilon(0.03));
  CHECK(wet_puree.diffusivity > 1.23e-7);
  CHECK(wet_puree.diffusivity < 1.71e-7);
}
