// Published project instances: how near the optimum, how fast. One thread; the seeds are printed.
#include <fmt/format.h>

#include <ctime>
#include <string>

#include "common/plan/critical_path.hpp"
#include "common/plan/makespan.hpp"
#include "common/plan/max_lag.hpp"
#include "tests/support/project_files.hpp"

namespace {

using namespace nappe;

double cpu_ms(std::clock_t since) { return 1000.0 * static_cast<double>(std::clock() - since) / CLOCKS_PER_SEC; }

void sample(const std::string& name, const std::string& best_file, int schedules, bool from_path) {
  const auto folder = tests::benchmark_folder(name);
  if (!folder) return fmt::print("{}: no data\n", name);
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    const auto begin = std::clock();
    double gap = 0;
    int count = 0, optimal = 0;
    for (const auto& [file, best] : tests::read_best(*folder + "/" + best_file)) {
      std::string text;
      try {
        text = tests::read_text(*folder + "/" + file);
      } catch (const std::exception&) {
        continue;
      }
      const auto project = tests::read_sm(text);
      const auto found = plan::shorten_project(project, {schedules, seed});
      if (const auto fault = plan::check_project(project, found)) fmt::print("{}: {}\n", file, *fault);
      const double base = from_path ? plan::critical_path(project).path.length : std::stod(best);
      gap += 100.0 * (found.makespan - base) / base;
      if (!from_path && found.makespan == std::stoi(best)) ++optimal;
      ++count;
    }
    fmt::print("{} {} schedules, seed {}: {} instances, {:.3f} % above {}, {} optimal, {:.0f} ms CPU\n", name,
               schedules, seed, count, gap / count, from_path ? "the critical path" : "the optimum", optimal,
               cpu_ms(begin));
  }
}

void shops() {
  const auto folder = tests::benchmark_folder("jobshop");
  if (!folder) return;
  for (const auto& [file, best] : tests::read_best(*folder + "/optimum.csv")) {
    const auto project = tests::read_jss(tests::read_text(*folder + "/" + file));
    for (int schedules : {1000, 20000, 200000}) {
      const auto begin = std::clock();
      const auto found = plan::shorten_project(project, {schedules, 1});
      fmt::print("{} {:6} schedules: {} (optimum {}), {:.0f} ms CPU\n", file, schedules, found.makespan, best,
                 cpu_ms(begin));
    }
    const auto begin = std::clock();
    const auto posted = plan::shorten_lagged_project(project, {20000, 1});
    fmt::print("{} 20000 nodes of posting: {} (optimum {}){}, {:.0f} ms CPU\n", file,
               posted.schedule ? posted.schedule->makespan : -1, best, posted.proven ? " proven" : "", cpu_ms(begin));
  }
}

void lagged(const std::string& name, int nodes) {
  const auto folder = tests::benchmark_folder(name);
  if (!folder) return;
  double gap = 0, slowest = 0, total = 0;
  int count = 0, unsolved = 0, proven = 0, impossible = 0, wrong = 0, within = 0;
  for (const auto& [file, best] : tests::read_best(*folder + "/optimum.csv")) {
    std::string text;
    try {
      text = tests::read_text(*folder + "/" + file);
    } catch (const std::exception&) {
      continue;
    }
    const auto project = tests::read_sch(text);
    const auto begin = std::clock();
    const auto found = plan::shorten_lagged_project(project, {nodes, 1});
    const double ms = cpu_ms(begin);
    slowest = std::max(slowest, ms);
    total += ms;
    if (best == "unsat") {
      impossible += found.schedule ? 0 : 1;
      wrong += found.schedule ? 1 : 0;
      proven += found.proven ? 1 : 0;
      continue;
    }
    ++count;
    proven += found.proven ? 1 : 0;
    if (!found.schedule) {
      ++unsolved;
      fmt::print("  {} unsolved\n", file);
      continue;
    }
    if (const auto fault = plan::check_project(project, *found.schedule)) fmt::print("{}: {}\n", file, *fault);
    const std::size_t dots = best.find("..");
    const double known = std::stod(dots == std::string::npos ? best : best.substr(dots + 2));
    const double g = 100.0 * (found.schedule->makespan - known) / known;
    if (g > 0) fmt::print("  {} {} (best {})\n", file, found.schedule->makespan, best);
    gap += g;
    within += g <= 1 ? 1 : 0;
  }
  fmt::print(
      "{} {} nodes: {} feasible, {} within 1 %, {} unsolved, {:.3f} % above the best; {} impossible left unsolved, {} "
      "wrong; {} proven; "
      "slowest {:.1f} ms, all {:.0f} ms CPU\n",
      name, nodes, count, within, unsolved, gap / count, impossible, wrong, proven, slowest, total);
}

}  // namespace

int main() {
  for (int schedules : {1000, 5000}) {
    sample("psplib-j30", "optimum.csv", schedules, false);
    sample("psplib-j120", "best-known.csv", schedules, true);
  }
  shops();
  lagged("rcpspmax-ubo10", 10000);
  lagged("rcpspmax-ubo20", 4000);
  lagged("rcpspmax-ubo20", 8000);
  lagged("rcpspmax-ubo20", 20000);
}
