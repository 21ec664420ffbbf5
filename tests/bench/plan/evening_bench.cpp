// Whole evenings: how long planning takes, what it allocates, what it is worth.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <ctime>
#include <new>
#include <string>
#include <vector>

#include "common/plan/check_schedule.hpp"
#include "common/plan/kitchen_planner.hpp"
#include "common/plan/profile.hpp"
#include "tests/support/kitchen_random.hpp"

namespace {

long allocations = 0;

double quantile(std::vector<double> values, double q) {
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(q * static_cast<double>(values.size() - 1) + 0.5)];
}

/// Processor time, so that a busy machine does not show.
template <class F>
double milliseconds(F&& work) {
  const std::clock_t begin = std::clock();
  work();
  return 1000.0 * static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC;
}

using nappe::plan::KitchenProblem;
using nappe::plan::Schedule;
using nappe::plan::Tick;

std::size_t at(int index) { return static_cast<std::size_t>(index); }

/// What a kitchen without a plan does: when a course is fired (its longest chain before its wanted meet) everything of
/// it starts as soon as hands and equipment are free, plates are made when all is there. Equipment held during lags is
/// left out, in its favour.
Schedule started_at_fire(const KitchenProblem& p) {
  Schedule s;
  s.block_start.assign(p.blocks.size(), 0);
  s.meet.assign(p.courses.size(), 0);
  std::vector<nappe::plan::Profile> calendar(p.resources.size());
  for (std::size_t r = 0; r < p.resources.size(); ++r) calendar[r].reset(p.resources[r].capacity, 0, 20000);
  const auto place = [&](int b, Tick from) {
    Tick start = from;
    for (bool again = true; again;) {
      again = false;
      for (int u = p.blocks[at(b)].uses.first; u < p.blocks[at(b)].uses.end(); ++u) {
        const auto& use = p.uses[at(u)];
        const Tick full = calendar[at(use.resource)].last_full(start + use.from, start + use.to, use.units);
        if (full < start + use.from) continue;
        start = full - use.from + 1;
        again = true;
      }
    }
    for (int u = p.blocks[at(b)].uses.first; u < p.blocks[at(b)].uses.end(); ++u) {
      const auto& use = p.uses[at(u)];
      calendar[at(use.resource)].place(start + use.from, start + use.to, use.units);
    }
    s.block_start[at(b)] = start;
    return start + p.blocks[at(b)].length;
  };
  std::vector<std::vector<int>> of_course(p.courses.size());
  std::vector<Tick> longest(p.courses.size(), 0);
  for (std::size_t k = 0; k < p.components.size(); ++k) {
    const auto& item = p.components[k];
    const int c = p.plates[at(p.feeds[at(item.feeds.first)].plate)].course;
    of_course[at(c)].push_back(static_cast<int>(k));
    Tick chain = p.feeds[at(item.feeds.first)].lag_min;
    for (int b = item.blocks.first; b < item.blocks.end(); ++b) {
      chain += p.blocks[at(b)].length + (b + 1 < item.blocks.end() ? p.blocks[at(b)].next.lag_min : 0);
    }
    longest[at(c)] = std::max(longest[at(c)], chain);
  }
  std::vector<int> order(p.courses.size());
  for (std::size_t c = 0; c < order.size(); ++c) order[c] = static_cast<int>(c);
  const auto fire = [&](int c) { return std::max(0, p.courses[at(c)].wanted - longest[at(c)] - 8); };
  std::sort(order.begin(), order.end(), [&](int a, int b) { return fire(a) < fire(b); });
  for (int c : order) {
    std::vector<Tick> ready(p.plates.size(), fire(c));
    for (int k : of_course[at(c)]) {
      const auto& item = p.components[at(k)];
      Tick end = fire(c);
      for (int b = item.blocks.first; b < item.blocks.end(); ++b) {
        end = place(b, end) + (b + 1 < item.blocks.end() ? p.blocks[at(b)].next.lag_min : 0);
      }
      for (int f = item.feeds.first; f < item.feeds.end(); ++f) {
        Tick& plate = ready[at(p.feeds[at(f)].plate)];
        plate = std::max(plate, end + p.feeds[at(f)].lag_min);
      }
    }
    Tick all = 0;
    for (std::size_t i = 0; i < p.plates.size(); ++i) all = std::max(all, p.plates[i].course == c ? ready[i] : 0);
    for (std::size_t i = 0; i < p.plates.size(); ++i) {
      if (p.plates[i].course == c) s.meet[at(c)] = std::max(s.meet[at(c)], place(p.plates[i].block, all));
    }
  }
  nappe::plan::price_schedule(p, s);
  return s;
}

/// One course as a problem of its own.
KitchenProblem alone(const KitchenProblem& p, int c) {
  KitchenProblem one;
  one.terms = p.terms;
  one.resources = p.resources;
  one.uses = p.uses;
  nappe::plan::add_course(one, p.courses[at(c)]);
  std::vector<int> plate_of(p.plates.size(), -1);
  for (std::size_t i = 0; i < p.plates.size(); ++i) {
    if (p.plates[i].course != c) continue;
    one.blocks.push_back(p.blocks[at(p.plates[i].block)]);
    plate_of[i] = static_cast<int>(one.plates.size());
    one.plates.push_back({0, static_cast<int>(one.blocks.size()) - 1});
  }
  for (const auto& item : p.components) {
    if (p.plates[at(p.feeds[at(item.feeds.first)].plate)].course != c) continue;
    nappe::plan::begin_component(one);
    for (int b = item.blocks.first; b < item.blocks.end(); ++b) one.blocks.push_back(p.blocks[at(b)]);
    std::vector<nappe::plan::Feed> feeds;
    for (int f = item.feeds.first; f < item.feeds.end(); ++f) {
      feeds.push_back(p.feeds[at(f)]);
      feeds.back().plate = plate_of[at(feeds.back().plate)];
    }
    nappe::plan::end_component(one, feeds, item.held);
  }
  return one;
}

std::string worth(const char* what, const KitchenProblem& p, const Schedule& s) {
  double miss = 0;
  std::vector<double> late;
  for (std::size_t c = 0; c < p.courses.size(); ++c) {
    const Tick off = s.meet[c] - p.courses[c].wanted;
    miss += std::abs(off) * 5.0 / static_cast<double>(p.courses.size());
    late.push_back(std::max(0, off) * 5.0);
  }
  return fmt::format(
      "  {:28} mean miss {:5.0f} s, late p95 {:5.0f} s, windows broken {:4}, objective without them {}\n", what, miss,
      quantile(late, 0.95), s.broken.size(), s.cost.total() - s.cost.broken);
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

namespace {

/// Times, allocations and changes of one size and load.
void measure(int tables, int load, int kitchens, int events) {
  using namespace nappe;
  std::vector<double> full, repairs, improved, changed;
  long full_allocations = 0;
  long repair_allocations = 0;
  double ratio = 0;
  std::size_t faults = 0, steps = 0;
  plan::KitchenPlanner planner;
  for (int k = 0; k < kitchens; ++k) {
    tests::KitchenShape shape;
    shape.tables = tables;
    shape.load_percent = load;
    const auto problem = tests::random_kitchen(static_cast<std::uint64_t>(k) + 1, shape);
    steps += static_cast<std::size_t>(tests::steps_of(problem));
    Schedule schedule = planner.replan(problem);  // once for the buffers
    for (int i = 0; i < 5; ++i) {
      const long before = allocations;
      full.push_back(milliseconds([&] { schedule = planner.replan(problem); }));
      full_allocations += allocations - before;
    }
    Schedule better;
    improved.push_back(milliseconds([&] { better = planner.improve(problem, schedule, {600, 7}); }));
    faults += plan::check_schedule(problem, schedule).size() + plan::check_schedule(problem, better).size();
    ratio +=
        static_cast<double>(better.cost.total()) / static_cast<double>(std::max<plan::Price>(1, schedule.cost.total()));
    tests::Random random(static_cast<std::uint64_t>(k) + 100);
    for (int e = 0; e < events; ++e) {
      auto later = tests::in_service(problem, better, static_cast<Tick>(random.between(0, 300)), 12);
      if (tests::disturb(later, random) < 0) continue;
      Schedule repaired;
      const long before = allocations;
      repairs.push_back(milliseconds([&] { repaired = planner.repair(later); }));
      repair_allocations += allocations - before;
      faults += plan::check_schedule(later, repaired).size();
      changed.push_back(100.0 * plan::compare_schedules(later, better, repaired, 36).moved /
                        static_cast<double>(later.blocks.size()));
    }
  }
  fmt::print("{} tables, load {} %, {} kitchens of about {} steps\n", tables, load, kitchens,
             steps / static_cast<std::size_t>(kitchens));
  print_row("full re-plan", full);
  print_row("repair after one event", repairs);
  print_row("600 iterations of improving", improved);
  fmt::print(
      "  cost after improving / before: mean {:.2f}; starts changed by an event: p50 {:.2f} %, p99 {:.2f} %; faults "
      "{}\n",
      ratio / kitchens, quantile(changed, 0.5), quantile(changed, 0.99), faults);
  fmt::print("  allocations: full {:.0f}, repair {:.0f}\n",
             static_cast<double>(full_allocations) / static_cast<double>(full.size()),
             static_cast<double>(repair_allocations) / static_cast<double>(repairs.size()));
}

/// What planning is worth on one evening.
void compare(std::uint64_t seed) {
  using namespace nappe;
  const auto problem = tests::random_kitchen(seed, {});
  plan::KitchenPlanner planner;
  fmt::print("60 tables, load 50 %, seed {}\n", seed);
  fmt::print("{}", worth("everything started at fire", problem, started_at_fire(problem)));
  Schedule schedule = planner.replan(problem);
  fmt::print("{}", worth("one backward pass", problem, schedule));
  const auto first = schedule.cost.total();
  for (int iterations : {600, 6000, 60000}) {
    Schedule better;
    const double ms = milliseconds([&] { better = planner.improve(problem, schedule, {iterations, 1}); });
    fmt::print("{}", worth(fmt::format("{} iterations, {:.0f} ms", iterations, ms).c_str(), problem, better));
    fmt::print("  {:28} {:.2f} of the pass\n", "",
               static_cast<double>(better.cost.total()) / static_cast<double>(first));
  }
  plan::Price sum = 0;
  for (int c = 0; c < static_cast<int>(problem.courses.size()); ++c) {
    const auto one = alone(problem, c);
    sum += planner.improve(one, planner.replan(one), {300, 1}).cost.total();
  }
  fmt::print("  each table alone in the kitchen: objective {}\n", sum);
}

}  // namespace

int main(int argc, char** argv) {
  const int kitchens = argc > 1 ? std::stoi(argv[1]) : 10;
  const int events = argc > 2 ? std::stoi(argv[2]) : 40;
  for (int load : {50, 65}) {
    for (int tables : {15, 60, 150}) measure(tables, load, kitchens, events);
  }
  for (std::uint64_t seed = 1; seed <= 3; ++seed) compare(seed);
}
