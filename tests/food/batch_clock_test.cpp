// The clock a batch carries outside its limits, and until when it may be used.

#include <catch2/catch.hpp>

#include "common/food/outside.hpp"
#include "common/food/use_by.hpp"
#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::food;

namespace {

const Instant day = *from_rfc3339("2026-11-20T00:00:00Z");
Instant at(int h, int m) { return day + std::chrono::hours(h) + minutes(m); }

}  // namespace

TEST_CASE("the emulsion born at 17:50 has used its two hours up at 19:50") {
  const OutsideClock emulsion = went_out({}, at(17, 50));
  CHECK(used_up_at(emulsion, minutes(120)) == at(19, 50));
  CHECK(outside_for(emulsion, at(19, 0)) == minutes(70));
}

TEST_CASE("time outside adds up over periods and stands still between them") {
  OutsideClock clock = went_out({}, at(10, 0));
  clock = came_back(clock, at(10, 20));
  CHECK(outside_for(clock, at(12, 0)) == minutes(20));
  CHECK_FALSE(used_up_at(clock, minutes(120)));
  clock = went_out(clock, at(12, 0));
  CHECK(went_out(clock, at(12, 5)) == clock);  // out already: said twice changes nothing
  CHECK(clock.periods == 2);
  CHECK(used_up_at(clock, minutes(120)) == at(13, 40));
  CHECK(came_back(came_back(clock, at(12, 30)), at(13, 0)).spent == minutes(50));
}

TEST_CASE("what is made from batches inherits the largest count") {
  const OutsideClock butter = came_back(went_out({}, at(9, 0)), at(9, 40));
  const OutsideClock stock = came_back(went_out(came_back(went_out({}, at(8, 0)), at(8, 5)), at(9, 0)), at(9, 10));
  const OutsideClock cream = went_out({}, at(9, 45));
  const OutsideClock sauce = inherited({butter, stock, cream}, at(10, 0));
  CHECK(sauce.spent == minutes(40));
  CHECK(sauce.periods == 2);
  CHECK(sauce.since == at(10, 0));
  CHECK(outside_for(sauce, at(10, 30)) == minutes(70));
  CHECK(inherited({}, at(10, 0)) == OutsideClock{});
  CHECK_FALSE(inherited({butter, stock}, at(10, 0)).since);
}

TEST_CASE("no child has a smaller count than any parent, at any time after") {
  for (std::uint64_t seed = 0; seed < 200; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    std::vector<OutsideClock> parents;
    for (std::int64_t n = random.between(1, 5); n > 0; --n) {
      OutsideClock clock;
      Instant now = at(8, 0);
      for (std::int64_t k = random.between(0, 4); k > 0; --k) {
        now += minutes(random.between(1, 20));
        clock = random.chance(0.5) ? went_out(clock, now) : came_back(clock, now);
      }
      parents.push_back(clock);
    }
    const OutsideClock child = inherited(parents, at(10, 0));
    for (const OutsideClock& parent : parents) {
      CHECK(outside_for(child, at(10, 0)) >= outside_for(parent, at(10, 0)));
      CHECK(outside_for(child, at(11, 0)) >= outside_for(parent, at(11, 0)));
      CHECK(child.periods >= parent.periods);
    }
  }
}

TEST_CASE("the earliest of everything ends a batch, and the label says which") {
  BatchDates puree{
      .made = at(11, 5), .life = std::chrono::hours(72), .others = {}, .reheated = {}, .end_of_that_day = {}};
  CHECK(use_by(puree)->at == at(11, 5) + std::chrono::hours(72));
  puree.others = {{"opened cream", at(11, 5) + std::chrono::hours(48)},
                  {"lot 12 of swede", at(11, 5) + std::chrono::hours(96)}};
  CHECK(use_by(puree)->what == "opened cream");
  puree.reheated = at(18, 0);
  CHECK_FALSE(use_by(puree));  // which day does it end?
  puree.end_of_that_day = at(17, 0);
  CHECK_FALSE(use_by(puree));
  puree.end_of_that_day = at(27, 0);
  CHECK(use_by(puree)->at == at(27, 0));
}

TEST_CASE("a vacuum pack ends after ten days unless another control is recorded") {
  BatchDates pack{.made = at(9, 0),
                  .life = std::chrono::hours(24 * 21),
                  .others = {},
                  .vacuum_packed = true,
                  .reheated = {},
                  .end_of_that_day = {}};
  CHECK(use_by(pack)->at == at(9, 0) + std::chrono::hours(240));
  CHECK(use_by(pack)->what == "vacuum packed");
  pack.other_control = true;
  CHECK(use_by(pack)->at == at(9, 0) + std::chrono::hours(24 * 21));
}

TEST_CASE("a batch that nothing ends is refused") {
  CHECK_FALSE(use_by({.made = at(9, 0), .life = {}, .others = {}, .reheated = {}, .end_of_that_day = {}}));
  CHECK_FALSE(use_by({.made = at(9, 0), .life = minutes(-1), .others = {}, .reheated = {}, .end_of_that_day = {}}));
}

TEST_CASE("days count with or without the day of making") {
  using namespace std::chrono;
  const sys_days made = sys_days(year(2026) / November / 20);
  CHECK(last_day(made, 3, false) == sys_days(year(2026) / November / 23));
  CHECK(last_day(made, 7, true) == sys_days(year(2026) / November / 26));
}
