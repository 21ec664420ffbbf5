// Whole evenings: how long planning takes, what it allocates, what it is worth.
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <new>
#include <string>
#include <vector>

#include "common/plan/check_schedule.hpp"
#include "common/plan/kitchen_planner.hpp"
#include "tests/support/kitchen_random.hpp"

namespace {

long allocations = 0;

double quantile(std::vector<double> values, double q) {
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(q * static_cast<double>(values.size() - 1) + 0.5)];
}

template <class F>
double milliseconds(F&& work) {
  const auto begin = std::chrono::steady_clock::now();
  work();
  return std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - begin).count();
}

void print_row(const char* what, const std::vector<double>& values) {
  fmt::print("  {:34} p50 {:7.3f}  p99 {:7.3f}  max {:7.3f} ms\n", what, quantile(values, 0.5), quantile(values, 0.99),
             quantile(values, 1));
}

}  // namespace

void* operator new(std::size_t size) {
  ++allocations;
  if (void* memory = std::malloc(size)) return memory;
  throw std::bad_alloc();
}
void operator delete(void* memory) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t) noexcept { std::free(memory); }

int main(int argc, char** argv) {
  const int kitchens = argc > 1 ? std::stoi(argv[1]) : 20;
  const int events = argc > 2 ? std::stoi(argv[2]) : 40;
  using namespace nappe;
  for (int load : {50, 65}) {
    for (int tables : {15, 60, 150}) {
      std::vector<double> full, repairs, incremental, improved, changed;
      long full_allocations = 0, repair_allocations = 0;
      double cost_first = 0, cost_improved = 0;
      int faults = 0, broken = 0, steps = 0, repairs_count = 0;
      plan::KitchenPlanner planner;
      for (int k = 0; k < kitchens; ++k) {
        tests::KitchenShape shape;
        shape.tables = tables;
        shape.load_percent = load;
        const auto problem = tests::random_kitchen(static_cast<std::uint64_t>(k) + 1, shape);
        steps += tests::steps_of(problem) / kitchens;
        plan::Schedule schedule;
        const long before = allocations;
        full.push_back(milliseconds([&] { schedule = planner.replan(problem); }));
        full_allocations += allocations - before;
        faults += static_cast<int>(plan::check_schedule(problem, schedule).size());
        cost_first += static_cast<double>(schedule.cost.total()) / kitchens;
        plan::Schedule better;
        improved.push_back(milliseconds([&] {
          better = planner.improve(problem, schedule, {tables < 100 ? 2000 : 1000, 7});
        }));
        faults += static_cast<int>(plan::check_schedule(problem, better).size());
        cost_improved += static_cast<double>(better.cost.total()) / kitchens;
        tests::Random random(static_cast<std::uint64_t>(k) + 100);
        for (int e = 0; e < events; ++e) {
          const auto now = static_cast<plan::Tick>(random.between(0, 300));
          auto later = tests::in_service(problem, better, now, 12);
          if (tests::disturb(later, random) < 0) continue;
          plan::Schedule repaired;
          const long a = allocations;
          repairs.push_back(milliseconds([&] { repaired = planner.repair(later); }));
          repair_allocations += allocations - a;
          ++repairs_count;
          const auto found = plan::check_schedule(later, repaired);
          if (!found.empty() && faults == 0) fmt::print("  {}\n", found[0]);
          faults += static_cast<int>(found.size());
          broken += static_cast<int>(repaired.broken.size());
          const auto d = plan::compare_schedules(later, better, repaired, 36);
          changed.push_back(100.0 * d.moved / static_cast<double>(later.blocks.size()));
        }
      }
      fmt::print("{} tables, load {} %, {} kitchens, about {} steps\n", tables, load, kitchens, steps);
      print_row("full re-plan", full);
      print_row("repair after an event", repairs);
      print_row("improve", improved);
      fmt::print(
          "  starts changed by an event: mean {:.2f} %, p99 {:.2f} %\n",
          [&] {
            double s = 0;
            for (double v : changed) s += v;
            return s / static_cast<double>(changed.size());
          }(),
          quantile(changed, 0.99));
      fmt::print("  cost {:.0f}, improved {:.0f} ({:.2f}); broken windows after events {}; faults {}\n", cost_first,
                 cost_improved, cost_improved / cost_first, broken, faults);
      fmt::print("  allocations: full {:.0f}, repair {:.0f}\n", static_cast<double>(full_allocations) / kitchens,
                 static_cast<double>(repair_allocations) / std::max(1, repairs_count));
    }
  }
}
