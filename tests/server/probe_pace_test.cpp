#include <catch2/catch.hpp>

#include "server/probe_feed.hpp"

using namespace nappe::server;
using namespace std::chrono_literals;
using Turn = ProbePace::Turn;

TEST_CASE("a probe that has gone mad is heard once a second; the others are heard as ever") {
  ProbePace pace;
  const std::chrono::steady_clock::time_point start{1h};
  int taken = 0;
  int told = 0;
  for (int n = 0; n < 10000; ++n) {  // a thousand a second, ten seconds long
    const Turn turn = pace.take("nappe/probes/mad", start + n * 1ms);
    taken += turn == Turn::taken ? 1 : 0;
    told += turn == Turn::first_left_out ? 1 : 0;
    if (n % 1000 == 0) CHECK(pace.take("nappe/probes/walk-in", start + n * 1ms) == Turn::taken);
  }
  CHECK(taken >= 38);
  CHECK(taken <= 41);
  CHECK(told <= 11);  // said when it begins, not for each
  CHECK(told >= 1);
}

TEST_CASE("more probes than any kitchen has cost no memory") {
  ProbePace pace;
  const std::chrono::steady_clock::time_point start{1h};
  for (int n = 0; n < 5000; ++n) CHECK(pace.take("nappe/probes/" + std::to_string(n), start) == Turn::taken);
}
