#include "server/clock.hpp"

#include <catch2/catch.hpp>

#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::server;

namespace {

const Steady start{std::chrono::hours(7)};
const Instant evening = from_ms(1764966220000);

Steady after(std::int64_t ms) { return start + std::chrono::milliseconds(ms); }

}  // namespace

TEST_CASE("kitchen time runs at its rate on the steady clock") {
  const KitchenClock real(evening, start, 1.0);
  CHECK(real.at(start) == evening);
  CHECK(real.at(after(1500)) == evening + Duration(1500));
  const KitchenClock fast(evening, start, 60.0);
  CHECK(fast.at(after(1000)) == evening + minutes(1));
  const KitchenClock stopped(evening, start, 0.0);
  CHECK(stopped.at(after(100000)) == evening);
  CHECK(stopped.when(evening + Duration(1)) == Steady::max());
}

TEST_CASE("a timer set for a kitchen instant never wakes before it") {
  for (std::uint64_t seed = 0; seed < 5000; ++seed) {
    tests::Random random(seed);
    const double rate = static_cast<double>(random.between(1, 100000)) / 100.0;
    const KitchenClock clock(evening, start, rate);
    const Instant wanted = evening + Duration(random.between(0, 20'000'000));
    const Steady when = clock.when(wanted);
    INFO("SEED=" << seed << " rate " << rate);
    REQUIRE(clock.at(when) >= wanted);
    // ... and at most a millisecond of the wall and a tick of the kitchen's later.
    REQUIRE(clock.at(when - std::chrono::milliseconds(1)) <= wanted);
  }
}

TEST_CASE("a far deadline is never, not an overflow") {
  const KitchenClock slow(evening, start, 0.001);
  CHECK(slow.when(evening + std::chrono::hours(24 * 365 * 100)) == Steady::max());
}

TEST_CASE("after a restart the clock goes on as if it had never stopped") {
  // Set at 18:00 on a wall of 10:00, running 60 times as fast; the process is away for 90 seconds.
  const Instant wall = from_ms(1764928800000);
  const ClockAnchor anchor{evening, wall, 60.0};
  const auto resumed = KitchenClock::resumed(anchor, wall + seconds(90), start, Instant{});
  CHECK(resumed.at(start) == evening + minutes(90));
  CHECK(resumed.at(after(1000)) == evening + minutes(91));
}

TEST_CASE("a wall clock that was set back does not take kitchen time back") {
  const Instant wall = from_ms(1764928800000);
  const ClockAnchor anchor{evening, wall, 1.0};
  const Instant last_event = evening + minutes(30);
  const auto resumed = KitchenClock::resumed(anchor, wall - minutes(120), start, last_event);
  CHECK(resumed.at(start) == last_event);
}

TEST_CASE("the anchor is written and read back; other text is refused") {
  const ClockAnchor anchor{evening, from_ms(1764928800000), 12.5};
  CHECK(write_anchor(anchor) == "kitchen_ms=1764966220000 wall_ms=1764928800000 rate=12.5");
  CHECK(read_anchor(write_anchor(anchor)).value() == anchor);
  for (const char* text :
       {"", "kitchen_ms=1 wall_ms=2", "kitchen_ms=1 wall_ms=2 rate=-1", "kitchen_ms=1 wall_ms=2 rate=nan",
        "kitchen_ms=1 wall_ms=2 rate=1 more", "kitchen_ms=1 wall_ms=2 rate=1e9"}) {
    INFO(text);
    CHECK_FALSE(read_anchor(text));
  }
}
