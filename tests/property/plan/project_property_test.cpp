// Small random projects: the searches against every order of the activities.
#include <algorithm>
#include <catch2/catch.hpp>
#include <numeric>

#include "common/plan/makespan.hpp"
#include "common/plan/max_lag.hpp"
#include "tests/support/random.hpp"

using namespace nappe;

namespace {

plan::Project small_project(tests::Random& random) {
  plan::Project project;
  project.capacity = {static_cast<int>(random.between(2, 4)), static_cast<int>(random.between(1, 3))};
  for (int a = 0; a < 6; ++a) {
    project.activities.push_back({static_cast<std::int32_t>(random.between(1, 6)),
                                  {static_cast<int>(random.between(0, project.capacity[0])),
                                   static_cast<int>(random.between(0, project.capacity[1]))}});
  }
  for (int a = 0; a < 6; ++a) {
    for (int b = a + 1; b < 6; ++b) {
      if (random.chance(0.2)) plan::add_precedence(project, a, b);
    }
  }
  return project;
}

/// The shortest over every list, each activity as early as it fits: active schedules contain an optimum.
std::int32_t by_enumeration(const plan::Project& project) {
  std::vector<int> list(project.activities.size());
  std::iota(list.begin(), list.end(), 0);
  std::int32_t best = 1 << 30;
  do {
    std::vector<std::int32_t> start(list.size(), -1);
    std::int32_t end = 0;
    bool ordered = true;
    for (int a : list) {
      const auto& activity = project.activities[static_cast<std::size_t>(a)];
      std::int32_t t = 0;
      for (const auto& lag : project.lags) {
        if (lag.to != a) continue;
        if (start[static_cast<std::size_t>(lag.from)] < 0) ordered = false;
        t = std::max(t, start[static_cast<std::size_t>(lag.from)] + lag.least);
      }
      if (!ordered) break;
      const auto fits = [&](std::int32_t at) {
        for (std::int32_t tick = at; tick < at + activity.duration; ++tick) {
          for (std::size_t r = 0; r < project.capacity.size(); ++r) {
            int used = activity.demand[r];
            for (std::size_t o = 0; o < start.size(); ++o) {
              const bool runs = start[o] >= 0 && start[o] <= tick && tick < start[o] + project.activities[o].duration;
              if (runs) used += project.activities[o].demand[r];
            }
            if (used > project.capacity[r]) return false;
          }
        }
        return true;
      };
      while (!fits(t)) ++t;
      start[static_cast<std::size_t>(a)] = t;
      end = std::max(end, t + activity.duration);
    }
    if (ordered) best = std::min(best, end);
  } while (std::next_permutation(list.begin(), list.end()));
  return best;
}

}  // namespace

TEST_CASE("both searches find the optimum of small projects, and a looser resource never makes it longer") {
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    tests::Random random(seed);
    plan::Project project = small_project(random);
    CAPTURE(seed);
    const auto optimum = by_enumeration(project);
    const auto searched = plan::shorten_project(project, {1000, seed});
    REQUIRE(plan::check_project(project, searched).value_or("") == "");
    REQUIRE(searched.makespan == optimum);
    const auto posted = plan::shorten_lagged_project(project, {20000, seed});
    REQUIRE(posted.proven);
    REQUIRE(posted.schedule->makespan == optimum);
    REQUIRE(plan::check_project(project, *posted.schedule).value_or("") == "");
    ++project.capacity[seed % 2];
    const auto relaxed = plan::shorten_lagged_project(project, {20000, seed});
    REQUIRE(relaxed.proven);
    REQUIRE(relaxed.schedule->makespan <= optimum);
  }
}
