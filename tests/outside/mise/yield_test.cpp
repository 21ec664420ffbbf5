// Yields as kitchen handbooks work them out.
#include <catch2/catch.hpp>

#include "common/mise/prep_need.hpp"

using nappe::mise::raw_grams;

TEST_CASE("as purchased from edible portion: the worked examples of the handbooks") {
  // AP = EP x factor, factor = 1 / yield (military-style conversion list, franksrecipes.net): 3 lb of pared cucumber at
  // 1.19 are 3.57 lb. Yield chart (openwa.pressbooks.pub): 32 oz of pears at 78 % are 41.03 oz.
  CHECK(raw_grams({"cucumber", 3, 1 - 1 / 1.19, 0}, 1) == Approx(3.57).margin(0.005));
  CHECK(raw_grams({"pears", 32, 0.22, 0}, 1) == Approx(41.03).margin(0.005));
  // The other way round: 3 lb of zucchini at 95 % leave 2.85 lb, 5000 g of strawberries at 87 % leave 4350 g.
  CHECK(raw_grams({"zucchini", 2.85, 0.05, 0}, 1) == Approx(3).margin(0.005));
  CHECK(raw_grams({"strawberries", 4350, 0.13, 0}, 1) == Approx(5000).margin(0.5));
}

TEST_CASE("trim and loss in cooking follow each other") {
  // 350 g of roast on the bone against 225 g off it (Leiths, catering quantities): 36 % of bone and trim.
  CHECK(raw_grams({"roast", 225, 1 - 225.0 / 350, 0}, 1) == Approx(350));
  CHECK(raw_grams({"swede", 120, 0.2, 0.1}, 10) == Approx(10 * 120 / 0.8 / 0.9));
}

TEST_CASE("yields of vegetables: what has to be bought for a kilogram, row by row") {
  // Military-style conversion list (franksrecipes.net), AP = EP x factor, yield % = 100 / factor; beside it the
  // percentages of a yield chart (openwa.pressbooks.pub, christianchefs.org) where it has the same trim: two sources a
  // point apart.
  struct Row {
    const char* what;
    double factor, yield, chart;
  };
  const Row rows[] = {
      {"asparagus", 1.89, 52.9, 56},       {"green beans", 1.14, 87.7, 88}, {"broccoli", 1.64, 61.0, 61},
      {"brussels sprouts", 1.11, 90.1, 0}, {"cabbage", 1.25, 80.0, 79},     {"carrots", 1.22, 82.0, 82},
      {"cauliflower", 1.20, 83.3, 0},      {"celery", 1.37, 73.0, 75},      {"cucumber", 1.19, 84.0, 0},
      {"aubergine", 1.23, 81.3, 81},       {"garlic", 1.06, 94.3, 0},       {"kale", 1.41, 70.9, 0},
      {"lettuce", 1.08, 92.6, 0},          {"mushrooms", 1.10, 90.9, 0},    {"onions", 1.11, 90.1, 0},
      {"parsnips", 1.18, 84.7, 0},         {"peppers", 1.22, 82.0, 0},      {"potatoes", 1.23, 81.3, 0}};
  for (const Row& row : rows) {
    INFO(row.what);
    CHECK(raw_grams({row.what, 1000, 1 - row.yield / 100, 0}, 1) == Approx(1000 * row.factor).epsilon(0.001));
    if (row.chart > 0)
      CHECK(raw_grams({row.what, 1000, 1 - row.chart / 100, 0}, 1) == Approx(1000 * row.factor).epsilon(0.06));
  }
}
