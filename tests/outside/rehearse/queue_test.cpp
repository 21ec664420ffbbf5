// Degenerate kitchens against queueing theory: one station, one move, guests at random.
// Erlang C and the values for (c, a): A. K. Erlang 1917; table computed from B(k) = aB(k-1)/(k + aB(k-1)),
// C = cB/(c - a(1 - B)). Pollaczek (1930) and Khinchine (1932): W_q = lambda E[S]^2 (1 + c_s^2) / (2 (1 - rho)).
// Little 1961: L = lambda W.
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

#include "common/rehearse/draws.hpp"
#include "tests/outside/rehearse/one_station.hpp"

using namespace nappe;
using namespace nappe::tests;
using rehearse::Estimate;

namespace {

struct Queue {
  Estimate wait;             ///< For hands, in mean service times.
  Estimate length;           ///< Of the queue, its mean over time.
  std::vector<double> took;  ///< Seconds each move took.
};

// The first guests of a night find an empty kitchen: they are played and not counted.
constexpr std::size_t warm_up = 150;

Queue watch(int hands, Duration usual, double scatter, rehearse::Law law, Duration mean, Duration gap, int nights) {
  rehearse::Manner manner = plain_manner();
  manner.law = law;
  rehearse::Mean wait;
  rehearse::Mean length;
  Queue out;
  for (int night = 0; night < nights; ++night) {
    const auto seed = static_cast<std::uint64_t>(night) + 11;
    const auto stage = rehearse::make_stage(one_station(hands, usual, scatter), at_random(900, gap, seed), {});
    REQUIRE(stage);
    const auto result = rehearse::play_night(*stage, manner, seed, 0, true);
    REQUIRE(result.refused == 0);
    REQUIRE_FALSE(result.unfinished);
    REQUIRE(result.moves.size() == 900);
    auto moves = result.moves;
    std::sort(moves.begin(), moves.end(), [](const auto& a, const auto& b) { return a.wanted < b.wanted; });
    double sum = 0;
    for (std::size_t i = warm_up; i < moves.size(); ++i) {
      REQUIRE(moves[i].start >= moves[i].wanted);
      sum += in_seconds(moves[i].start - moves[i].wanted);
      out.took.push_back(in_seconds(moves[i].end - moves[i].start));
    }
    wait.add(sum / static_cast<double>(moves.size() - warm_up) / in_seconds(mean));
    length.add(sum / in_seconds(moves.back().wanted - moves[warm_up].wanted));
  }
  out.wait = wait.estimate();
  out.length = length.estimate();
  return out;
}

void near_theory(const Estimate& seen, double theory) {
  CAPTURE(seen.mean, seen.error, theory);
  CHECK(std::abs(seen.mean - theory) < 4 * seen.error);
  CHECK(seen.error < 0.15 * theory);
}

}  // namespace

TEST_CASE("a station with exponential times waits as Erlang C says") {
  const Duration mean = seconds(60);
  SECTION("one pair of hands, half busy") {
    const Queue queue = watch(1, mean, 0, rehearse::Law::exponential, mean, seconds(120), 16);
    near_theory(queue.length, 0.5);
    near_theory(queue.wait, 1.0);
  }
  SECTION("three pairs of hands, two thirds busy") {
    const Queue queue = watch(3, mean, 0, rehearse::Law::exponential, mean, seconds(30), 16);
    near_theory(queue.length, 0.88889);
    near_theory(queue.wait, 0.44444);
  }
}

TEST_CASE("a station with log-normal times waits as Pollaczek and Khinchine say") {
  // rho = 0.8; W_q for E[S] = 1.6 is 3.2 (1 + c^2), that is 2 (1 + c^2) service times.
  const double squared_variation = GENERATE(0.0, 0.5);
  const double sigma = std::sqrt(std::log(1 + squared_variation));
  const Duration mean = seconds(80);
  const Duration median = from_seconds(in_seconds(mean) * std::exp(-sigma * sigma / 2));
  const Queue queue = watch(1, median, sigma, rehearse::Law::log_normal, mean, seconds(100), 20);
  near_theory(queue.wait, 2 * (1 + squared_variation));
  near_theory(queue.length, 1.6 * (1 + squared_variation));
  // The moves themselves: p90 = median exp(1.2815516 sigma), p95 with 1.6448536.
  for (const auto& [p, z] : {std::pair{0.5, 0.0}, std::pair{0.9, 1.2815516}, std::pair{0.95, 1.6448536}})
    CHECK(rehearse::sample_quantile(queue.took, p) == Approx(in_seconds(median) * std::exp(sigma * z)).epsilon(0.04));
}

TEST_CASE("Little's law holds between what tables wait and what stands in the kitchen") {
  rehearse::Manner manner = plain_manner();
  manner.law = rehearse::Law::exponential;
  const auto stage = rehearse::make_stage(one_station(2, seconds(60), 0), at_random(600, seconds(40), 5), {});
  REQUIRE(stage);
  const auto night = rehearse::play_night(*stage, manner, 5, 0, true);
  // Tables in the kitchen over time, from the times courses were fired and went ...
  std::vector<std::pair<Instant, int>> changes;
  Duration waits{};
  for (const auto& course : night.courses) {
    changes.emplace_back(course.fired, 1);
    changes.emplace_back(course.gone, -1);
  }
  std::sort(changes.begin(), changes.end());
  std::int64_t area = 0;
  int inside = 0;
  for (std::size_t i = 0; i < changes.size(); ++i) {
    if (i > 0) area += inside * (changes[i].first - changes[i - 1].first).count();
    inside += changes[i].second;
  }
  CHECK(inside == 0);
  // ... against what hands waited and worked. The path starts and ends empty: L T = sum of W, exactly.
  for (const auto& move : night.moves) waits += move.end - move.wanted;
  CHECK(area == waits.count());
}
