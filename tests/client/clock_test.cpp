// The client's clock against the arithmetic of RFC 5905.
#include <catch2/catch.hpp>
#include <cmath>

#include "client/clock.hpp"
#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::client;

TEST_CASE("offset and delay of one exchange are those of RFC 5905 section 8") {
  // theta = ((T2-T1)+(T3-T4))/2 and delta = (T4-T1)-(T3-T2), worked by hand:
  // ((1030-100)+(1040-150))/2 = 910; (150-100)-(1040-1030) = 40.
  const Measured one = measure({100, 1030, 1040, 150, 1});
  CHECK(one.offset == Approx(910));
  CHECK(one.delay == Approx(40));
}

TEST_CASE("before the first exchange the server's word counts; without it there is no time") {
  KitchenClock clock;
  CHECK_FALSE(clock.now(0));
  clock.start(1764966220000, 1, 500);
  REQUIRE(clock.now(1500));
  CHECK(*clock.now(1500) == from_ms(1764966221000));
}

TEST_CASE("a fast exchange beats slow ones, and the error stays within half its delay") {
  for (std::uint64_t seed = 0; seed < 200; ++seed) {
    CAPTURE(seed);
    tests::Random random(seed);
    const double rate = random.chance(0.5) ? 1 : static_cast<double>(random.between(2, 60));
    const double truth = 1.7e12;  // Kitchen time at steady 0.
    KitchenClock clock;
    double steady = static_cast<double>(random.between(0, 1000000));
    double best_delay = 1e18;
    for (int i = 0; i < 8; ++i) {
      const double there = static_cast<double>(random.between(1, 400)) / 2;
      const double held = static_cast<double>(random.between(0, 20));
      const double back = static_cast<double>(random.between(1, 400)) / 2;
      const double t2 = truth + rate * (steady + there);
      const double t3 = truth + rate * (steady + there + held);
      const double t4 = steady + there + held + back;
      clock.take({steady, t2, t3, t4, rate});
      best_delay = std::min(best_delay, rate * (there + back));
      steady = t4 + 200;
    }
    REQUIRE(clock.now(steady));
    const double error = std::abs(static_cast<double>(to_ms(*clock.now(steady))) - (truth + rate * steady));
    CHECK(error <= best_delay / 2 + 1);
    CHECK(*clock.uncertainty_ms() == Approx(best_delay / 2));
  }
}

TEST_CASE("a kitchen clock that was set is followed at once, also when the new exchange is slower") {
  KitchenClock clock;
  clock.take({0, 1000000, 1000000, 2, 1});
  CHECK(*clock.now(10) == from_ms(1000009));
  clock.take({100, 5000050, 5000050, 150, 1});  // Set ahead by 4000 s; 50 ms of delay.
  CHECK(std::abs(to_ms(*clock.now(150)) - 5000075) <= 1);
}

TEST_CASE("another rate starts the measuring anew; a standing clock stands") {
  KitchenClock clock;
  clock.take({0, 1000000, 1000000, 2, 1});
  clock.take({1000, 2000000, 2000000, 1010, 30});
  CHECK(clock.rate() == 30);
  CHECK(std::abs(to_ms(*clock.now(2010)) - (2000000 + 150 + 30000)) <= 1);
  clock.take({3000, 2500000, 2500000, 3010, 0});
  CHECK(*clock.now(3010) == *clock.now(99999));
}

TEST_CASE("the next whole second") {
  KitchenClock clock;
  clock.start(1000250, 1, 0);
  CHECK(clock.until_next_second(0) == Approx(750));
  clock.start(1000250, 10, 0);
  CHECK(clock.until_next_second(0) == Approx(75));
}
