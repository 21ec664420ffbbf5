// The planner against proven optima of small kitchens: from a general constraint solver run here (MiniZinc with Gecode,
// left out with a message where it is not installed), and from the list in the benchmark folder.
#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <cstdio>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <optional>
#include <string>

#include "common/plan/check_schedule.hpp"
#include "common/plan/kitchen_planner.hpp"
#include "tests/support/kitchen_dzn.hpp"
#include "tests/support/project_files.hpp"
#include "tests/support/random.hpp"

using namespace nappe;

namespace {

/// The planner's cost after about 50 to 100 ms of one core, counted in iterations so that the result is the same
/// everywhere; schedules are judged.
plan::Price planned(const plan::KitchenProblem& problem, std::size_t steps) {
  REQUIRE(plan::check_problem(problem));
  plan::KitchenPlanner planner;
  plan::Schedule schedule = planner.replan(problem);
  CHECK(plan::check_schedule(problem, schedule).empty());
  const int rounds = static_cast<int>(std::max<std::size_t>(2, 550 / steps));
  for (int round = 1; round <= rounds && schedule.cost.total() > 0; ++round) {
    schedule = planner.improve(problem, schedule, {1000, static_cast<std::uint64_t>(round)});
  }
  CHECK(plan::check_schedule(problem, schedule).empty());
  CHECK(schedule.broken.empty());
  return schedule.cost.total();
}

/// Small kitchens like those of the folder: one or two tables, 10 to 25 steps, 7 resources.
tests::KitchenDzn small_kitchen(std::uint64_t seed) {
  tests::Random random(seed);
  const auto between = [&](int low, int high) { return static_cast<int>(random.between(low, high)); };
  tests::KitchenDzn data;
  data.capacity = {1, 1, 1, 2, 3, 2, 1};
  data.max_spread = 18;
  data.price_late = 10;
  data.price_early = 16;
  data.price_wait = 4;
  const int tables = seed % 3 == 0 ? 2 : 1;
  data.horizon = 100 + 30 * tables;
  const auto add_step = [&](int duration, const std::vector<int>& resources) {
    data.duration.push_back(duration);
    const int step = static_cast<int>(data.duration.size()) - 1;
    for (int r : resources) data.usages.push_back({step, r});
    return step;
  };
  for (int t = 0; t < tables; ++t) {
    data.target.push_back(55 + 30 * t);
    const int plates = between(1, 2);
    for (int p = 0; p < plates; ++p) {
      const int plating = add_step(between(2, 6), {3});
      data.platings.push_back({plating, t});
      const int components = between(1, 2);
      for (int k = 0; k < components; ++k) {
        const int station = between(0, 2);
        int before = -1;
        const int steps = between(2, 4);
        for (int s = 0; s < steps; ++s) {
          const bool wait = s % 2 == 1;
          const int step = wait ? add_step(between(5, 14), {4}) : add_step(between(2, 6), {station});
          if (before >= 0)
            data.lags.push_back({before, step, 0, random.chance(0.5) ? 0 : between(1, 8), between(0, 1)});
          before = step;
        }
        const int rest = random.chance(0.3) ? between(2, 8) : 0;
        data.lags.push_back({before, plating, rest, rest + between(6, 25), between(1, 4)});
      }
    }
  }
  return data;
}

/// The proven optimum, or nothing if the solver did not finish in its time.
std::optional<int> proven_optimum(const tests::KitchenDzn& data, plan::Price at_most, int number) {
  const auto folder = std::filesystem::temp_directory_path() / fmt::format("nappe-kitchen-{}-{}", std::clock(), number);
  std::filesystem::create_directories(folder);
  const auto file = folder / "kitchen.dzn";
  std::ofstream(file) << tests::write_kitchen_dzn(data) << fmt::format("at_most={};\n", at_most);
  const std::string command =
      fmt::format("minizinc --solver gecode --time-limit 5000 {}/tests/outside/plan/kitchen.mzn {} 2>&1",
                  NAPPE_SOURCE_DIR, file.string());
  std::string output;
  if (FILE* pipe = popen(command.c_str(), "r")) {
    char buffer[4096];
    while (std::fgets(buffer, sizeof buffer, pipe) != nullptr) output += buffer;
    pclose(pipe);
  }
  std::filesystem::remove_all(folder);
  const bool finished = output.find("==========") != std::string::npos;
  const bool impossible = output.find("UNSATISFIABLE") != std::string::npos;
  INFO(output);
  if (!finished) WARN("kitchen " << number << " not proven: " << output);
  CHECK_FALSE(impossible);  // the planner has a schedule of that cost, so the model must have one
  const std::size_t cost = output.rfind("cost=");
  if (!finished || cost == std::string::npos) return std::nullopt;
  return std::stoi(output.substr(cost + 5));
}

double gap_percent(plan::Price found, int optimum) {
  return 100.0 * static_cast<double>(found - optimum) / std::max(1, optimum);
}

}  // namespace

TEST_CASE("a kitchen survives being written and read again") {
  const auto data = small_kitchen(3);
  const auto again = tests::read_kitchen_dzn(tests::write_kitchen_dzn(data));
  CHECK(tests::write_kitchen_dzn(again) == tests::write_kitchen_dzn(data));
}

TEST_CASE("ten small kitchens against optima proven by a constraint solver") {
  if (std::system("minizinc --version > /dev/null 2>&1") != 0) {
    WARN("minizinc is not installed: proven optima not computed");
    return;
  }
  double sum = 0;
  int proven = 0;
  for (int number = 1; number <= 10; ++number) {
    const auto data = small_kitchen(static_cast<std::uint64_t>(number));
    const auto found = planned(tests::kitchen_of(data), data.duration.size());
    const auto optimum = proven_optimum(data, found, number);
    if (!optimum) continue;
    CAPTURE(number, found, *optimum, data.duration.size());
    CHECK(found >= *optimum);
    CHECK(gap_percent(found, *optimum) <= 10);
    sum += gap_percent(found, *optimum);
    ++proven;
  }
  CHECK(proven >= 7);
  CHECK(sum / std::max(1, proven) <= 3);
}

TEST_CASE("small kitchens of the benchmark folder") {
  const auto folder = tests::benchmark_folder("kitchen-small");
  if (!folder) {
    WARN("no benchmark data beside the repository: small kitchens not measured");
    return;
  }
  double sum = 0, sum_open = 0;
  int proven = 0, open = 0;
  for (const auto& [file, rest] : tests::read_best(*folder + "/best.csv")) {
    // steps,best,status,...
    const std::size_t first = rest.find(',');
    const int best = std::stoi(rest.substr(first + 1));
    const bool optimal = rest.find("OPTIMAL") != std::string::npos;
    const auto data = tests::read_kitchen_dzn(tests::read_text(*folder + "/" + file));
    const auto found = planned(tests::kitchen_of(data), data.duration.size());
    CAPTURE(file, found, best);
    if (optimal) {
      CHECK(found >= best);
      CHECK(gap_percent(found, best) <= 10);
      sum += gap_percent(found, best);
      ++proven;
    } else {
      sum_open += gap_percent(found, best);
      ++open;
    }
  }
  REQUIRE(proven >= 10);
  CHECK(sum / proven <= 3);
  CHECK(sum_open / std::max(1, open) <= 15);  // against the best known, not proven
}
