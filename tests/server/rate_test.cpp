#include "server/rate.hpp"

#include <catch2/catch.hpp>

using nappe::server::RateLimit;

namespace {

const std::chrono::steady_clock::time_point start{std::chrono::hours(1)};

int taken(RateLimit& limit, std::chrono::milliseconds from, std::chrono::milliseconds to,
          std::chrono::milliseconds step) {
  int count = 0;
  for (auto at = from; at < to; at += step) count += limit.take(start + at) ? 1 : 0;
  return count;
}

}  // namespace

TEST_CASE("a burst passes, then so many a second") {
  using std::chrono::milliseconds;
  RateLimit limit(50, 200);
  int burst = 0;
  for (int n = 0; n < 1000; ++n) burst += limit.take(start) ? 1 : 0;
  CHECK(burst == 200);
  const int later = taken(limit, milliseconds(1), milliseconds(2001), milliseconds(1));
  CHECK(later >= 99);
  CHECK(later <= 101);
  CHECK(taken(limit, milliseconds(60000), milliseconds(60001), milliseconds(1)) == 1);
}

TEST_CASE("rest does not save up more than one burst") {
  RateLimit limit(50, 200);
  REQUIRE(limit.take(start));
  int burst = 0;
  for (int n = 0; n < 1000; ++n) burst += limit.take(start + std::chrono::hours(5)) ? 1 : 0;
  CHECK(burst == 200);
}
