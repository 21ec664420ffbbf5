// The scheduling core against published optima and worked examples. Data written out here is cited beside it; larger
// instances come from the benchmark folder beside the repository and are left out, with a message, where it is absent.
#include <catch2/catch.hpp>
#include <ctime>
#include <string>

#include "common/plan/critical_path.hpp"
#include "common/plan/makespan.hpp"
#include "common/plan/max_lag.hpp"
#include "tests/support/project_files.hpp"

using namespace nappe;

namespace {

plan::ProjectSchedule shortest(const plan::Project& project, int schedules) {
  const auto schedule = plan::shorten_project(project, {schedules, 1});
  const auto fault = plan::check_project(project, schedule);
  CHECK(fault.value_or("") == "");
  return schedule;
}

plan::Project flow_shop(const std::vector<std::pair<int, int>>& jobs) {
  std::vector<std::vector<std::pair<int, int>>> rows;
  for (const auto& [a, b] : jobs) rows.push_back({{0, a}, {1, b}});
  return tests::job_shop(2, rows);
}

}  // namespace

TEST_CASE("Johnson's two-machine flow shops") {
  // S. M. Johnson, "Optimal two- and three-stage production schedules", Naval Research Logistics Quarterly 1 (1954):
  // the rule. Instances from published lecture notes; every optimum also proven over all permutations. The last is
  // Johnson's own example, its data from memory.
  CHECK(shortest(flow_shop({{12, 3}, {14, 11}, {25, 13}, {9, 17}, {6, 15}}), 2000).makespan == 69);
  CHECK(shortest(flow_shop({{5, 5}, {4, 3}, {8, 9}, {2, 7}, {6, 8}, {12, 15}}), 2000).makespan == 51);
  CHECK(shortest(flow_shop({{10, 2}, {5, 4}, {7, 5}, {3, 6}, {1, 7}}), 2000).makespan == 28);
  CHECK(shortest(flow_shop({{4, 5}, {4, 1}, {30, 4}, {6, 30}, {2, 3}}), 2000).makespan == 47);
}

TEST_CASE("FT06 of Fisher and Thompson (1963): 55, found and proven") {
  const auto project = tests::job_shop(6, {{{2, 1}, {0, 3}, {1, 6}, {3, 7}, {5, 3}, {4, 6}},
                                           {{1, 8}, {2, 5}, {4, 10}, {5, 10}, {0, 10}, {3, 4}},
                                           {{2, 5}, {3, 4}, {5, 8}, {0, 9}, {1, 1}, {4, 7}},
                                           {{1, 5}, {0, 5}, {2, 5}, {3, 3}, {4, 8}, {5, 9}},
                                           {{2, 9}, {1, 3}, {4, 5}, {5, 4}, {0, 3}, {3, 1}},
                                           {{1, 3}, {3, 3}, {5, 9}, {0, 10}, {4, 4}, {2, 1}}});
  CHECK(plan::makespan_bound(project) == 47);
  CHECK(shortest(project, 5000).makespan == 55);
  const auto proven = plan::shorten_lagged_project(project, {5000, 1});
  REQUIRE(proven.schedule);
  CHECK(proven.schedule->makespan == 55);
  CHECK(proven.proven);
}

TEST_CASE("LA01 of Lawrence (1984): 666, which is machine 4's whole work") {
  const auto project = tests::job_shop(5, {{{1, 21}, {0, 53}, {4, 95}, {3, 55}, {2, 34}},
                                           {{0, 21}, {3, 52}, {4, 16}, {2, 26}, {1, 71}},
                                           {{3, 39}, {4, 98}, {1, 42}, {2, 31}, {0, 12}},
                                           {{1, 77}, {0, 55}, {4, 79}, {2, 66}, {3, 77}},
                                           {{0, 83}, {3, 34}, {2, 64}, {1, 19}, {4, 37}},
                                           {{1, 54}, {2, 43}, {4, 79}, {0, 92}, {3, 62}},
                                           {{3, 69}, {4, 77}, {1, 87}, {2, 87}, {0, 93}},
                                           {{2, 38}, {0, 60}, {1, 41}, {3, 24}, {4, 83}},
                                           {{3, 17}, {1, 49}, {4, 25}, {0, 44}, {2, 98}},
                                           {{4, 77}, {3, 79}, {2, 43}, {1, 75}, {0, 96}}});
  CHECK(plan::makespan_bound(project) == 666);
  CHECK(shortest(project, 5000).makespan == 666);
}

TEST_CASE("two small projects with resources") {
  // A: example of a mixed-integer library's documentation; 21 by exhaustive search over active schedules.
  plan::Project a;
  a.capacity = {6, 8};
  const std::vector<int> durations = {0, 3, 2, 5, 4, 2, 3, 4, 2, 4, 6, 0};
  const std::vector<std::vector<int>> demands = {{0, 0}, {5, 1}, {0, 4}, {1, 4}, {1, 3}, {3, 2},
                                                 {3, 1}, {2, 4}, {4, 0}, {5, 2}, {2, 5}, {0, 0}};
  for (std::size_t i = 0; i < durations.size(); ++i) a.activities.push_back({durations[i], demands[i]});
  const std::vector<std::pair<int, int>> arcs = {{0, 1},  {0, 2}, {0, 3}, {1, 4},  {1, 5},  {2, 9},
                                                 {2, 10}, {3, 8}, {4, 6}, {4, 7},  {5, 9},  {5, 10},
                                                 {6, 8},  {6, 9}, {7, 8}, {8, 11}, {9, 11}, {10, 11}};
  for (const auto& [from, to] : arcs) plan::add_precedence(a, from, to);
  CHECK(plan::critical_path(a).path.length == 14);
  CHECK(shortest(a, 2000).makespan == 21);
  const auto proven_a = plan::shorten_lagged_project(a, {20000, 1});
  CHECK(proven_a.proven);
  CHECK(proven_a.schedule->makespan == 21);
  // B: after Kolisch and Hartmann (1999), data from memory, 13 by exhaustive search.
  plan::Project b;
  b.capacity = {4};
  for (const auto& [duration, demand] :
       std::vector<std::pair<int, int>>{{3, 2}, {4, 3}, {2, 4}, {2, 4}, {1, 3}, {4, 2}}) {
    b.activities.push_back({duration, {demand}});
  }
  for (const auto& [from, to] : std::vector<std::pair<int, int>>{{0, 2}, {1, 3}, {2, 4}, {3, 5}}) {
    plan::add_precedence(b, from, to);
  }
  CHECK(plan::critical_path(b).path.length == 10);
  CHECK(shortest(b, 1000).makespan == 13);
  CHECK(plan::shorten_lagged_project(b, {5000, 1}).proven);
}

TEST_CASE("the critical path and PERT of Hillier and Lieberman's construction project") {
  // "Reliable Construction", Hillier and Lieberman, Introduction to Operations Research: durations as printed in
  // teaching material, the precedence list and three-point estimates from memory, every date computed by hand as well.
  struct Row {
    std::string before;
    int duration, early, late, total, free;
    plan::ThreePoints points;
  };
  const std::vector<Row> rows = {
      {"", 2, 0, 0, 0, 0, {1, 2, 3}},       {"A", 4, 2, 2, 0, 0, {2, 3.5, 8}},   {"B", 10, 6, 6, 0, 0, {6, 9, 18}},
      {"C", 6, 16, 20, 4, 0, {4, 5.5, 10}}, {"C", 4, 16, 16, 0, 0, {1, 4.5, 5}}, {"E", 5, 20, 20, 0, 0, {4, 4, 10}},
      {"D", 7, 22, 26, 4, 0, {5, 6.5, 11}}, {"EG", 9, 29, 33, 4, 0, {5, 8, 17}}, {"C", 7, 16, 18, 2, 2, {3, 7.5, 9}},
      {"FI", 8, 25, 25, 0, 0, {3, 9, 9}},   {"J", 4, 33, 34, 1, 1, {4, 4, 4}},   {"J", 5, 33, 33, 0, 0, {1, 5.5, 7}},
      {"H", 2, 38, 42, 4, 4, {1, 2, 3}},    {"KL", 6, 38, 38, 0, 0, {5, 5.5, 9}}};
  plan::Project project;
  for (const Row& row : rows) project.activities.push_back({row.duration, {}});
  for (std::size_t i = 0; i < rows.size(); ++i) {
    for (char c : rows[i].before) plan::add_precedence(project, c - 'A', static_cast<int>(i));
  }
  const auto result = plan::critical_path(project);
  REQUIRE(result.feasible);
  CHECK(result.path.length == 44);
  double variance = 0;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const auto& dates = result.path.dates[i];
    CAPTURE(i);
    CHECK(dates.early_start == rows[i].early);
    CHECK(dates.early_finish == rows[i].early + rows[i].duration);
    CHECK(dates.late_start == rows[i].late);
    CHECK(dates.total_slack == rows[i].total);
    CHECK(dates.free_slack == rows[i].free);
    CHECK(plan::pert_mean(rows[i].points) == Approx(rows[i].duration));
    if (dates.total_slack == 0) variance += plan::pert_variance(rows[i].points);
  }
  CHECK(result.path.critical == std::vector<int>{0, 1, 2, 4, 5, 9, 11, 13});
  CHECK(variance == Approx(9));
  CHECK(plan::chance_done(44, 9, 47) == Approx(0.841345).margin(1e-6));  // normal table, one sigma
  CHECK(plan::chance_done(44, 9, 40) == Approx(0.091211).margin(1e-6));
}

TEST_CASE("lags that contradict each other have no schedule") {
  plan::Project project;
  project.capacity = {1};
  project.activities = {{3, {1}}, {3, {1}}};
  project.lags = {{0, 1, 5}, {1, 0, -4}};  // at least 5 and at most 4 later
  CHECK_FALSE(plan::critical_path(project).feasible);
  const auto result = plan::shorten_lagged_project(project, {100, 1});
  CHECK_FALSE(result.schedule);
  CHECK(result.proven);
  // The lags agree, the resource does not: 3 long each, at most 2 apart.
  project.lags = {{0, 1, 0}, {1, 0, -2}};
  CHECK(plan::critical_path(project).feasible);
  const auto crowded = plan::shorten_lagged_project(project, {100, 1});
  CHECK_FALSE(crowded.schedule);
  CHECK(crowded.proven);
}

TEST_CASE("job shops of the benchmark folder") {
  const auto folder = tests::benchmark_folder("jobshop");
  if (!folder) {
    WARN("no benchmark data beside the repository: job shops not measured");
    return;
  }
  const auto best = tests::read_best(*folder + "/optimum.csv");
  for (const auto& [file, optimum] : best) {
    const auto project = tests::read_jss(tests::read_text(*folder + "/" + file));
    const auto found = shortest(project, file == "ft10.jss" ? 60000 : 20000).makespan;
    CAPTURE(file, found);
    CHECK(found >= std::stoi(optimum));
    const bool exact = file == "ft06.jss" || file == "la01.jss" || file == "la05.jss";
    CHECK(found <= std::stoi(optimum) * (exact ? 1.0 : 1.06));
  }
}

TEST_CASE("a sample of J30 and J120 of PSPLIB") {
  const auto j30 = tests::benchmark_folder("psplib-j30");
  const auto j120 = tests::benchmark_folder("psplib-j120");
  if (!j30 || !j120) {
    WARN("no benchmark data beside the repository: PSPLIB not measured");
    return;
  }
  const auto deviation = [](const std::string& folder, const std::string& list, bool from_path) {
    double sum = 0;
    int count = 0;
    for (const auto& [file, best] : tests::read_best(folder + "/" + list)) {
      std::string text;
      try {
        text = tests::read_text(folder + "/" + file);
      } catch (const std::exception&) {
        continue;  // the list names the whole set, the folder holds a sample
      }
      const auto project = tests::read_sm(text);
      const auto found = shortest(project, 1000);
      const double base = from_path ? plan::critical_path(project).path.length : std::stod(best);
      CAPTURE(file);
      // "104", or bounds "104..105", or an upper bound alone "..176"
      if (best.rfind("..", 0) != 0) CHECK(found.makespan >= std::stoi(best));
      sum += 100 * (found.makespan - base) / base;
      ++count;
    }
    REQUIRE(count >= 30);
    return sum / count;
  };
  CHECK(deviation(*j30, "optimum.csv", false) <= 0.40);
  CHECK(deviation(*j120, "best-known.csv", true) <= 36.0);
}

TEST_CASE("samples of UBO10 and UBO20: maximum lags") {
  for (const auto& [name, nodes] :
       std::vector<std::pair<std::string, int>>{{"rcpspmax-ubo10", 10000}, {"rcpspmax-ubo20", 20000}}) {
    const auto folder = tests::benchmark_folder(name);
    if (!folder) {
      WARN("no benchmark data beside the repository: maximum lags not measured");
      return;
    }
    int feasible = 0;
    for (const auto& [file, best] : tests::read_best(*folder + "/optimum.csv")) {
      std::string text;
      try {
        text = tests::read_text(*folder + "/" + file);
      } catch (const std::exception&) {
        continue;
      }
      const auto project = tests::read_sch(text);
      const auto found = plan::shorten_lagged_project(project, {nodes, 1});
      CAPTURE(name, file, best);
      if (best == "unsat") {
        CHECK_FALSE(found.schedule);
        continue;
      }
      ++feasible;
      REQUIRE(found.schedule);
      CHECK(plan::check_project(project, *found.schedule).value_or("") == "");
      const std::size_t dots = best.find("..");
      const int low = std::stoi(best.substr(0, dots));
      const int high = dots == std::string::npos ? low : std::stoi(best.substr(dots + 2));
      CHECK(found.schedule->makespan >= low);
      CHECK(found.schedule->makespan <= high * 1.01);
    }
    CHECK(feasible >= 20);
  }
}
