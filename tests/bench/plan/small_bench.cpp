// Small kitchens of the benchmark folder: cost after a time, against the best known.
#include <fmt/format.h>

#include <ctime>
#include <fstream>
#include <sstream>
#include <string>

#include "common/plan/check_schedule.hpp"
#include "common/plan/kitchen_planner.hpp"
#include "tests/support/kitchen_dzn.hpp"

namespace {

std::string read_file(const std::string& path) {
  std::ifstream in(path);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

}  // namespace

int main(int argc, char** argv) {
  const std::string folder = argc > 1 ? argv[1] : "../shared/data/kitchen-small";
  const double budget_ms = argc > 2 ? std::stod(argv[2]) : 50;
  const int seeds = argc > 3 ? std::stoi(argv[3]) : 5;
  std::ifstream list(folder + "/best.csv");
  std::string line;
  std::getline(list, line);
  nappe::plan::KitchenPlanner planner;
  double sum = 0;
  double worst = 0;
  int count = 0;
  while (std::getline(list, line)) {
    std::stringstream row(line);
    std::string file, steps, best, status;
    std::getline(row, file, ',');
    std::getline(row, steps, ',');
    std::getline(row, best, ',');
    std::getline(row, status, ',');
    const auto problem = nappe::tests::kitchen_of(nappe::tests::read_kitchen_dzn(read_file(folder + "/" + file)));
    if (const auto ok = nappe::plan::check_problem(problem); !ok) fmt::print("{}\n", ok.error().detail);
    fmt::print("{:10} {:3} steps best {:4} {:18}", file, steps, best, status);
    double mean = 0;
    for (int seed = 1; seed <= seeds; ++seed) {
      const std::clock_t begin = std::clock();
      const auto spent = [&] { return 1000.0 * static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC; };
      auto schedule = planner.replan(problem);
      if (seed == 1) fmt::print(" first {:5}", schedule.cost.total());
      int rounds = 0;
      static const int chunk = std::getenv("CH") ? std::atoi(std::getenv("CH")) : 1000;
      for (std::uint64_t s = 0; spent() < budget_ms * 0.97; ++s, ++rounds) {
        schedule = planner.improve(problem, schedule, {chunk, static_cast<std::uint64_t>(seed) * 1000 + s});
      }
      const auto faults = nappe::plan::check_schedule(problem, schedule);
      if (!faults.empty()) fmt::print("\n   {}", faults[0]);
      const double total = static_cast<double>(schedule.cost.total());
      const double known = std::stod(best);
      const double gap = known > 0 ? (total - known) / known * 100 : total;
      mean += gap / seeds;
      worst = std::max(worst, gap);
      fmt::print(" {:4} ({} r)", schedule.cost.total(), rounds);
    }
    fmt::print("  mean gap {:.1f} %\n", mean);
    sum += mean;
    ++count;
  }
  fmt::print("mean gap {:.2f} %, worst single {:.1f} %, {} instances, {} ms each\n", sum / count, worst, count,
             budget_ms);
}
