#include <catch2/catch.hpp>
#include <set>

#include "tests/rehearse/larkfold_night.hpp"

using namespace nappe;
using namespace nappe::rehearse;

TEST_CASE("a sheet is fitted to the covers asked for") {
  const auto kitchen = tests::larkfold();
  const auto friday = tests::larkfold_friday(kitchen);
  const int covers = GENERATE(1, 2, 7, 30, 47, 48, 49, 55, 60);
  const auto fitted = fit_covers(friday, kitchen, covers);
  REQUIRE(fitted);
  CHECK(covers_of(*fitted) == covers);
  std::set<std::string> ids;
  for (const auto& booking : fitted->bookings) {
    CHECK(booking.covers >= 1);
    CHECK(ids.insert(booking.id).second);
    CHECK(booking.covers <= kitchen.find_table(booking.table)->seats);
    for (const auto& other : fitted->bookings)
      if (&other != &booking && other.table == booking.table && (other.id.rfind("more", 0) == 0))
        CHECK(std::chrono::abs(other.at - booking.at) >= std::chrono::hours(2));
  }
  if (covers == 48) CHECK(*fitted == friday);
}

TEST_CASE("what cannot be rehearsed is refused in one sentence") {
  const auto kitchen = tests::larkfold();
  const auto friday = tests::larkfold_friday(kitchen);
  const auto refusal = [&](const Variant& variant) {
    const auto stage = make_stage(kitchen, friday, variant);
    REQUIRE_FALSE(stage);
    return stage.error().detail;
  };
  Variant one;
  SECTION("an unknown station") {
    one.hands["bar"] = 1;
    CHECK(refusal(one) == "there is no station \"bar\"; there are sauce, fish, garnish, larder, pastry, pass, mise");
  }
  SECTION("an unknown dish") {
    one.without = {"trifle"};
    CHECK(refusal(one) ==
          "there is no dish \"trifle\"; there are emmer, mackerel, leek, hogget, pollack, mushroom, pudding, pear");
  }
  SECTION("too many hands") {
    one.hands["garnish"] = 21;
    CHECK(refusal(one) == "21 pairs of hands at Garnish: give 0 to 20");
  }
  SECTION("nothing left of a course") {
    one.without = {"pudding", "pear"};
    CHECK(refusal(one) == "without pudding, pear nothing is left of the desserts");
  }
  SECTION("fresh ... prompt out of range") {
    one.prompt = 1.5;
    CHECK(refusal(one) == "fresh ... prompt goes from 0 to 1, not to 1.5");
  }
  SECTION("more rounds ahead than a pan takes") {
    one.fewer_rounds["emmer"] = 6;
    CHECK(refusal(one) == "emmer takes at least 6 rounds: 6 ahead is too many");
  }
  SECTION("rounds ahead of what has none") {
    one.fewer_rounds["loin"] = 1;
    CHECK(refusal(one) == "loin has no rounds that could be done ahead");
  }
  SECTION("a room that is too small") {
    const auto fitted = fit_covers(friday, kitchen, 500);
    REQUIRE_FALSE(fitted);
    CHECK(fitted.error().detail.find("not 500") != std::string::npos);
  }
}

TEST_CASE("the mix is what the sheet says, with one more of each dish") {
  const auto kitchen = tests::larkfold();
  const Stage stage = tests::stage_of(kitchen, tests::larkfold_friday(kitchen));
  REQUIRE(stage.mix.size() == 3);
  // Counted by hand: 21 hogget, 16 pollack, 11 mushroom; one more of each makes 51. Three of 48 have no dessert.
  const std::vector<std::pair<std::string, double>> mains{
      {"hogget", 22.0 / 51}, {"pollack", 17.0 / 51}, {"mushroom", 12.0 / 51}};
  REQUIRE(stage.mix[1].shares.size() == mains.size());
  for (std::size_t i = 0; i < mains.size(); ++i) {
    CHECK(stage.mix[1].shares[i].first == mains[i].first);
    CHECK(stage.mix[1].shares[i].second == Approx(mains[i].second));
  }
  CHECK(stage.mix[1].none == 0);
  CHECK(stage.mix[2].none == Approx(3.0 / 48));
}
