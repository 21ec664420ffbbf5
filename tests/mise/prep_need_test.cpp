// How much of everything: portions, stock, yields, batches, short-lived things.
#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>

#include "common/mise/prep_need.hpp"
#include "common/mise/prep_quantity.hpp"
#include "tests/mise/larkfold_prep.hpp"
#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::mise;
using nappe::tests::need_of;
using nappe::tests::PrepHouse;

namespace {

const PrepHouse& house() {
  static const PrepHouse loaded;
  return loaded;
}

std::vector<Need> friday(const kitchen::PrepSheet& sheet, const PrepTerms& terms = {}) {
  return needs_of(house().kitchen, sheet, house().friday, terms);
}

}  // namespace

TEST_CASE("48 covers, 40 %, ratio 0.85 and 6 usable portions in the fridge ask for 19 more") {
  const Need loin = need_of(friday(house().prep), "loin");
  CHECK(loin.mean == Approx(19.2));
  CHECK(loin.wanted == 25);
  CHECK(loin.usable == 6);
  CHECK(loin.more == 19);
  CHECK(loin.made_portions == 19);
}

TEST_CASE("portions wanted of the three mains at 0.85 are those the demo was written with: 25, 23 and 16") {
  const auto needs = friday(house().prep);
  CHECK(need_of(needs, "loin").wanted == 25);
  CHECK(need_of(needs, "pollack").wanted == 23);
  CHECK(need_of(needs, "mushrooms").wanted == 16);
  PrepTerms less;
  less.ratio = 0.70;
  CHECK(need_of(friday(house().prep, less), "loin").wanted == 22);
}

TEST_CASE("what is past its date is no stock: it is told to be thrown") {
  const Need mackerel = need_of(friday(house().prep), "mackerel_cured");
  CHECK(mackerel.usable == 0);
  CHECK(mackerel.past_date == 3);
  CHECK(mackerel.more == mackerel.wanted);
}

TEST_CASE("more stock than is wanted asks for nothing") {
  kitchen::PrepSheet sheet = house().prep;
  sheet.stock.push_back({"loin", 40, 0, ""});
  const Need loin = need_of(friday(sheet), "loin");
  CHECK(loin.more == 0);
  CHECK(loin.batches.empty());
  CHECK(loin.raw.at(0).grams == 0);
}

TEST_CASE("raw weight is portions times weight over what trimming and cooking leave") {
  // 25 portions of 120 g, a fifth cut away, a tenth lost: 3000 / (0.8 * 0.9) = 4167 g (worked out by hand).
  CHECK(raw_grams({"swede", 120, 0.2, 0.1}, 25) == Approx(4166.6667));
  CHECK(raw_grams({"salt", 6, 0, 0}, 20) == Approx(120));
}

TEST_CASE("batches are whole steps of the kit, as few as it allows, the larger first") {
  kitchen::PrepItem item;
  item.step = 300;
  item.most = 1200;
  double left = 0;
  CHECK(batches_of(item, 0, left).empty());
  CHECK(batches_of(item, 1, left) == std::vector<double>{300});
  CHECK(batches_of(item, 1200, left) == std::vector<double>{1200});
  CHECK(batches_of(item, 1201, left) == std::vector<double>{900, 600});
  CHECK(left == 0);
  item.batches_max = 2;
  CHECK(batches_of(item, 3000, left) == std::vector<double>{1200, 1200});
  CHECK(left == Approx(600));
}

TEST_CASE("batches always hold what is wanted unless the kit does not allow it") {
  tests::Random random(7);
  for (int i = 0; i < 2000; ++i) {
    kitchen::PrepItem item;
    item.step = static_cast<double>(random.between(1, 700));
    item.most = random.chance(0.3) ? 0 : item.step * static_cast<double>(random.between(1, 9));
    item.batches_max = random.chance(0.5) ? 0 : static_cast<int>(random.between(1, 4));
    const auto amount = static_cast<double>(random.between(0, 20'000));
    double left = 0;
    const auto batches = batches_of(item, amount, left);
    const double made = std::accumulate(batches.begin(), batches.end(), 0.0);
    CHECK(made + left >= amount - 1e-6);
    if (left == 0) CHECK(made - amount < item.step + 1e-6);
    for (const double batch : batches) {
      CHECK(std::abs(batch / item.step - std::round(batch / item.step)) < 1e-9);
      if (item.most > 0) CHECK(batch <= item.most + 1e-6);
    }
    if (item.batches_max > 0) CHECK(static_cast<int>(batches.size()) <= item.batches_max);
  }
}

TEST_CASE("guests who must not have milk get their own puree: those booked and the spare ones") {
  // Two guests of the Friday have told of a milk allergy; five spare: 7 portions of 120 g, rounded up to 900 g.
  const Need free = need_of(friday(house().prep), "swede_no_butter");
  CHECK(free.wanted == 7);
  REQUIRE(free.batches.size() == 1);
  CHECK(free.batches[0] == Approx(900));
}

TEST_CASE("pre-orders are certain, the rest is drawn; a party that may stay away takes both with it") {
  const auto known = orders({{0, 3, 1.0}, {2, 1, 1.0}}, {0.5, 0});
  REQUIRE(known);
  REQUIRE(known->size() == 7);
  CHECK((*known)[3] == Approx(0));
  CHECK((*known)[4] == Approx(0.25));
  CHECK((*known)[5] == Approx(0.5));
  CHECK((*known)[6] == Approx(0.25));
  const auto perhaps = orders({{0, 3, 0.9}}, {0.5, 0});
  REQUIRE(perhaps);
  CHECK((*perhaps)[0] == Approx(0.1));
  CHECK((*perhaps)[3] == Approx(0.9));
  CHECK_FALSE(orders({{1, 0, 1.2}}, {0.5, 0}));
  CHECK_FALSE(orders({{1, 0, 1}}, {1.5, 0}));
}

TEST_CASE("without no-shows and pre-orders the parties do not matter: the beta-binomial of all covers") {
  const Taste taste{0.4, 0.03};
  const auto all = beta_binomial(48, taste);
  const auto parties = orders({{2, 0, 1}, {6, 0, 1}, {40, 0, 1}}, taste);
  REQUIRE(parties);
  REQUIRE(parties->size() == all.size());
  for (std::size_t k = 0; k < all.size(); ++k) CHECK((*parties)[k] == Approx(all[k]).margin(1e-14));
}

TEST_CASE("chances add up to one and the mean is that of the guests who come") {
  tests::Random random(11);
  for (int i = 0; i < 200; ++i) {
    std::vector<Party> parties;
    double covers = 0;
    double certain = 0;
    for (int p = 0; p < 12; ++p) {
      const Party party{static_cast<int>(random.between(0, 6)), static_cast<int>(random.between(0, 3)),
                        static_cast<double>(random.between(0, 100)) / 100};
      covers += party.open * party.comes;
      certain += party.certain * party.comes;
      parties.push_back(party);
    }
    const Taste taste{static_cast<double>(random.between(0, 100)) / 100,
                      static_cast<double>(random.between(0, 50)) / 100};
    const auto chances = orders(parties, taste);
    REQUIRE(chances);
    CHECK(std::accumulate(chances->begin(), chances->end(), 0.0) == Approx(1).epsilon(1e-9));
    CHECK(mean_of(*chances) == Approx(covers * taste.share + certain).margin(1e-9));
    CHECK(quantile(*chances, 0.5) <= quantile(*chances, 0.9));
  }
}

TEST_CASE("with the orders taken as pre-orders the list asks for exactly what was ordered") {
  PrepTerms known;
  known.as_booked = true;
  // The Friday sheet holds an order for every guest: 21 hogget are ordered (counted on the sheet).
  int hogget = 0;
  for (const kitchen::Booking& booking : house().friday.bookings)
    for (const auto& dish : booking.orders.at("mains")) hogget += dish == "hogget" ? 1 : 0;
  CHECK(need_of(friday(house().prep, known), "loin").wanted == hogget);
}

TEST_CASE("a short-lived thing is born as late as the first plate allows, and again before it dies") {
  const auto clock = [](int h, int m) { return std::chrono::hours(h) + Duration(std::chrono::minutes(m)); };
  // Two hours to live, a quarter of an hour to make: every 1:45.
  const auto births = births_of(clock(17, 50), clock(21, 40), minutes(120), minutes(15));
  REQUIRE(births.size() == 3);
  CHECK(births[0].at == clock(17, 50));
  CHECK(births[0].dies == clock(19, 50));
  CHECK(births[1].at == clock(19, 35));
  CHECK(births[2].at == clock(21, 20));
  // n = ceil(service length / (life - making)): 230 / 105 -> 3; a later first plate needs fewer.
  CHECK(births_of(clock(18, 45), clock(21, 40), minutes(120), minutes(15)).size() == 2);
  CHECK(births_of(clock(18, 45), clock(19, 0), minutes(120), minutes(15)).size() == 1);
  CHECK(births_of(clock(18, 45), clock(19, 0), minutes(10), minutes(15)).empty());
}

TEST_CASE("the emulsion of the Friday: at every plate's time one batch is alive, and together they are enough") {
  const Need emulsion = need_of(friday(house().prep), "emulsion");
  REQUIRE(emulsion.births.size() >= 2);
  double mean = 0;
  for (std::size_t i = 0; i < emulsion.births.size(); ++i) {
    mean += emulsion.births[i].mean;
    CHECK(emulsion.births[i].dies - emulsion.births[i].at == minutes(120));
    if (i > 0) CHECK(emulsion.births[i].at <= emulsion.births[i - 1].dies - minutes(15));
    CHECK(emulsion.batches[i] >= emulsion.births[i].portions * 40);
  }
  CHECK(mean == Approx(48 * 0.28).margin(0.2));
  // What goes into it is made for all of its batches.
  CHECK(need_of(friday(house().prep), "brown_butter").wanted == emulsion.made_portions);
}
