#include "common/food/chill.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "common/food/conduction.hpp"
#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::food;

namespace {

const Instant eleven_five = from_ms(1'795'000'000'000);

Body tray(double thickness_m, double film) {
  return {.shape = Shape::slab, .radius_m = thickness_m / 2, .material = wet_puree, .film = film};
}

ChillRun run_of(std::vector<std::pair<int, double>> readings) {
  ChillRun run{
      .started = eleven_five, .start_c = 90, .surround_c = -5, .target_c = 8, .limit = minutes(90), .readings = {}};
  for (const auto& [minute, celsius] : readings) run.readings.push_back({eleven_five + minutes(minute), celsius});
  return run;
}

ChillState state_of(const ChillRun& run) {
  const auto outlook = watch_chill(run);
  REQUIRE(outlook);
  CHECK_FALSE(outlook->sentence.empty());
  return outlook->state;
}

// What a probe in the core of this body reads every `step` minutes up to `until`, off by up to `noise` degrees.
ChillRun probed(const Conduction& body, int step, int until, double noise, tests::Random& random) {
  ChillRun run = run_of({});
  for (int m = step; m <= until; m += step) {
    const double exact = body.core_c({.start_c = 90, .around_c = -5}, m * 60.0);
    run.readings.push_back({eleven_five + minutes(m), exact + noise * (2 * random.unit() - 1)});
  }
  return run;
}

}  // namespace

TEST_CASE("one reading of 72 C after twenty minutes already shows that a 40 mm tray will miss 90 minutes") {
  // Invented demo data: the tray takes 127 min. The commis filled it to 40 mm; at twenty minutes it can still be split.
  const auto outlook = watch_chill(run_of({{20, 72}}));
  REQUIRE(outlook);
  CHECK(outlook->state == ChillState::will_miss);
  REQUIRE(outlook->not_before);
  CHECK(*outlook->not_before > eleven_five + minutes(90));
  CHECK(*outlook->not_before <= eleven_five + minutes(127));
  CHECK(outlook->sentence.find("Split it") != std::string::npos);
}

TEST_CASE("the 30 mm tray reads 60 C after twenty minutes and is not called a miss") {
  CHECK(state_of(run_of({{20, 60}})) == ChillState::waiting);
  CHECK(state_of(run_of({{20, 60}, {30, 46.4}})) != ChillState::will_miss);
}

TEST_CASE("readings count only after the core has begun to fall") {
  // The first ten minutes of the same tray: the core hardly moves, which means nothing yet.
  const auto lag = watch_chill(run_of({{3, 90}, {6, 89.6}, {8, 88.4}}));
  REQUIRE(lag);
  CHECK(lag->state == ChillState::waiting);
  CHECK_FALSE(lag->time_constant);
  CHECK_FALSE(lag->expected);
}

TEST_CASE("a run of readings that will miss is reported before half of the time has passed") {
  // Row after row of trays that take from 104 min up, read every five minutes by a probe off by up to 0.3 C.
  int tried = 0;
  for (std::uint64_t seed = 0; seed < 200; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    const auto body = Conduction::of(tray(0.02 + 0.05 * random.unit(), 12 + 60 * random.unit()));
    REQUIRE(body);
    const double truth = *body->time_to_core_s({.start_c = 90, .around_c = -5}, 8) / 60;
    if (truth < 1.15 * 90) continue;
    ++tried;
    CHECK(state_of(probed(*body, 5, 44, 0.3, random)) == ChillState::will_miss);
  }
  CHECK(tried > 60);
}

TEST_CASE("a tray that makes it is never called a miss, whenever it is looked at") {
  int tried = 0;
  for (std::uint64_t seed = 0; seed < 300; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    const double film = std::pow(10.0, 1 + 2.5 * random.unit());  // Biot numbers from 0.1 to over 50
    const auto body = Conduction::of(tray(0.008 + 0.06 * random.unit(), film));
    REQUIRE(body);
    const double truth = *body->time_to_core_s({.start_c = 90, .around_c = -5}, 8) / 60;
    if (truth > 90) continue;
    ++tried;
    const int step = static_cast<int>(random.between(1, 15));
    for (int until = step; until < 90; until += step) {
      const ChillRun run = probed(*body, step, until, 0.5, random);
      INFO("until " << until << " takes " << truth);
      CHECK(state_of(run) != ChillState::will_miss);
      CHECK(state_of(run) != ChillState::missed);
    }
  }
  CHECK(tried > 60);
}

TEST_CASE("a tray that misses is never called on course") {
  for (std::uint64_t seed = 0; seed < 200; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    const auto body = Conduction::of(tray(0.02 + 0.06 * random.unit(), 12 + 100 * random.unit()));
    REQUIRE(body);
    if (*body->time_to_core_s({.start_c = 90, .around_c = -5}, 8) / 60 <= 90) continue;
    for (int until = 5; until < 90; until += 5) {
      CHECK(state_of(probed(*body, 5, until, 0.5, random)) != ChillState::on_course);
    }
  }
}

TEST_CASE("with exact readings the expected time is the true one") {
  tests::Random random(1);
  const auto body = Conduction::of(tray(0.030, 30));
  REQUIRE(body);
  const auto outlook = watch_chill(probed(*body, 10, 50, 0, random));
  REQUIRE(outlook);
  REQUIRE(outlook->expected);
  const double truth = *body->time_to_core_s({.start_c = 90, .around_c = -5}, 8);
  CHECK(in_seconds(*outlook->expected - eleven_five) == Approx(truth).epsilon(0.01));
}

TEST_CASE("the record alone decides once the time is over") {
  CHECK(state_of(run_of({{45, 30}, {88, 8.0}})) == ChillState::made);
  CHECK(state_of(run_of({{45, 30}, {90, 8.0}})) == ChillState::made);
  CHECK(state_of(run_of({{45, 30}, {90, 8.1}})) == ChillState::missed);
  CHECK(state_of(run_of({{45, 30}, {95, 9.0}, {99, 7.5}})) == ChillState::missed);
  CHECK(state_of(run_of({{85, 9.0}, {99, 7.5}})) == ChillState::gap);
  // Once cold in time it stays made, whatever is read later.
  CHECK(state_of(run_of({{80, 7.0}, {120, 9.0}})) == ChillState::made);
}

TEST_CASE("a chill run that makes no sense is refused in words") {
  ChillRun backwards = run_of({{20, 70}, {10, 80}});
  CHECK_FALSE(watch_chill(backwards));
  ChillRun early = run_of({{-5, 70}});
  CHECK_FALSE(watch_chill(early));
  ChillRun warm_air = run_of({{20, 70}});
  warm_air.surround_c = 10;
  CHECK_FALSE(watch_chill(warm_air));
  ChillRun no_time = run_of({{20, 70}});
  no_time.limit = minutes(0);
  CHECK_FALSE(watch_chill(no_time));
}
