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
