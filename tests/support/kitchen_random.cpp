#include "tests/support/kitchen_random.hpp"

#include <algorithm>
#include <vector>

namespace nappe::tests {
namespace {

using plan::Block;
using plan::Course;
using plan::KitchenProblem;
using plan::Tick;
using plan::Use;

constexpr int stations = 6;
constexpr int oven = 12;
constexpr int pass = 13;

std::size_t at(int index) { return static_cast<std::size_t>(index); }

class Maker {
 public:
  Maker(std::uint64_t seed, const KitchenShape& shape) : random_(seed), shape_(shape) {}

  KitchenProblem make() {
    for (int capacity : {2, 1, 1, 2, 1, 1, 8, 5, 5, 8, 4, 4, 10, 3}) problem_.resources.push_back({capacity});
    for (int t = 0; t < shape_.tables; ++t) add_table();
    if (shape_.shared_pans) share_pans();
    spread_tables();
    return problem_;
  }

 private:
  Tick between(int low, int high) { return static_cast<Tick>(random_.between(low, high)); }

  void add_table() {
    Course course;
    const int plates = between(2, 6);
    course.price_late = 3 * plates;
    course.late_after = 60;
    course.price_late_more = 3 * plates;
    course.price_early = 4 * plates;
    course.early_max = 36;
    course.spread_max = 18;
    course.price_spread = 2;
    const int c = plan::add_course(problem_, course);
    std::vector<int> own;
    for (int i = 0; i < plates; ++i) {
      Block plating;
      plating.length = between(3, 8);
      own.push_back(plan::add_plate(problem_, c, plating, {{pass, 1, 0, plating.length}}));
    }
    const int components = plates * 2 + between(0, 2);
    for (int i = 0; i < components; ++i) {
      std::vector<plan::Feed> feeds;
      const Tick rest = random_.chance(0.2) ? between(6, 20) : 0;
      const Tick keep = rest + between(15, 60);
      const plan::Price price = between(0, 4);
      feeds.push_back({own[at(i % plates)], rest, keep, price});
      if (plates > 2 && random_.chance(0.3)) feeds.push_back({own[at((i + 1) % plates)], rest, keep, price});
      add_component(feeds, quiet_station());
    }
    taken_.assign(at(stations), 0);
  }

  /// A table rarely asks one pair of hands for more than two things.
  int quiet_station() {
    const int a = between(0, stations - 1);
    const int b = between(0, stations - 1);
    const auto crowd = [&](int s) { return taken_[at(s)] * 2 / problem_.resources[at(s)].capacity; };
    int station = crowd(a) <= crowd(b) ? a : b;
    for (int s = 0; s < stations; ++s) {
      if (crowd(station) >= 4 && crowd(s) < crowd(station)) station = s;
    }
    ++taken_[at(station)];
    return station;
  }

  void add_component(const std::vector<plan::Feed>& feeds, int station) {
    plan::begin_component(problem_);
    const int equipment = random_.chance(0.15) ? oven : stations + station;
    const int steps = between(3, 8);
    Block block;
    std::vector<Use> uses;
    for (int s = 0; s < steps; ++s) {
      const bool wait = s % 2 == 1;
      const Tick length = wait ? between(6, 30) : between(2, 7);
      if (!wait) uses.push_back({station, 1, block.length, block.length + length});
      if (wait || random_.chance(0.6)) uses.push_back({equipment, 1, block.length, block.length + length});
      block.length += length;
      const bool last = s == steps - 1;
      if (!last && random_.chance(0.55)) continue;
      if (!last) {
        const Tick rest = random_.chance(0.15) ? between(4, 16) : 0;
        block.next = {rest, rest + between(1, 14), random_.chance(0.5) ? 1 : 0, {}};
        if (shape_.held && random_.chance(0.3)) block.next.held = plan::add_held(problem_, {{equipment, 1, 0, 0}});
      }
      plan::add_block(problem_, block, uses);
      block = Block{};
      uses.clear();
    }
    const bool held = shape_.held && random_.chance(0.1);
    plan::end_component(problem_, feeds, held ? plan::add_held(problem_, {{equipment, 1, 0, 0}}) : plan::Range{});
  }

  /// Some components also go to a plate of the table that follows.
  void share_pans() {
    KitchenProblem old = problem_;
    problem_.feeds.clear();
    for (auto& component : problem_.components) {
      const plan::Range range = component.feeds;
      component.feeds = {static_cast<int>(problem_.feeds.size()), range.count};
      for (int f = range.first; f < range.end(); ++f) problem_.feeds.push_back(old.feeds[at(f)]);
      const int course = problem_.plates[at(old.feeds[at(range.first)].plate)].course;
      const bool even = course % 2 == 0 && course + 1 < shape_.tables;
      if (!even || !random_.chance(0.15)) continue;
      plan::Feed feed = old.feeds[at(range.first)];
      const auto next = std::find_if(problem_.plates.begin(), problem_.plates.end(),
                                     [&](const plan::Plate& plate) { return plate.course == course + 1; });
      feed.plate = static_cast<int>(next - problem_.plates.begin());
      feed.lag_max += 20;
      problem_.feeds.push_back(feed);
      ++component.feeds.count;
    }
  }

  /// Wanted meets, so that the busiest resource is loaded as asked.
  void spread_tables() {
    std::vector<double> work(problem_.resources.size(), 0);
    for (const Block& block : problem_.blocks) {
      for (int u = block.uses.first; u < block.uses.end(); ++u) {
        const Use& use = problem_.uses[at(u)];
        work[at(use.resource)] += static_cast<double>((use.to - use.from) * use.units);
      }
    }
    double span = 0;
    for (int r = 0; r <= pass; ++r) span = std::max(span, work[at(r)] / problem_.resources[at(r)].capacity);
    span = span * 100 / shape_.load_percent;
    const int lead = 150;
    for (std::size_t c = 0; c < problem_.courses.size(); ++c) {
      problem_.courses[c].wanted = lead + between(0, std::max(1, static_cast<int>(span) - lead / 2));
      // Two tables on one pan want to meet at nearly the same time.
      if (shape_.shared_pans && c % 2 == 1)
        problem_.courses[c].wanted = problem_.courses[c - 1].wanted + between(0, 20);
    }
  }

  Random random_;
  KitchenShape shape_;
  KitchenProblem problem_;
  std::vector<int> taken_ = std::vector<int>(at(stations), 0);  // components of this table, by station
};

}  // namespace

KitchenProblem random_kitchen(std::uint64_t seed, const KitchenShape& shape) { return Maker(seed, shape).make(); }

KitchenProblem in_service(const KitchenProblem& problem, const plan::Schedule& schedule, Tick now, Tick freeze) {
  KitchenProblem later = problem;
  later.terms.now = now;
  later.terms.frozen_until = now + freeze;
  for (std::size_t b = 0; b < later.blocks.size(); ++b) {
    Block& block = later.blocks[b];
    if (schedule.block_start[b] < now) {
      block.fixed_start = schedule.block_start[b];
    } else {
      block.shown_start = schedule.block_start[b];
      block.price_move = block.shown_start < now + 60 ? 3 : 1;
    }
  }
  for (std::size_t c = 0; c < later.courses.size(); ++c) {
    later.courses[c].shown_meet = schedule.meet[c];
    later.courses[c].shown_pull = schedule.pull[c];
    later.courses[c].changed = false;
    later.courses[c].anew = false;
  }
  return later;
}

int disturb(KitchenProblem& problem, Random& random) {
  std::vector<int> open;
  for (std::size_t c = 0; c < problem.courses.size(); ++c) {
    if (problem.courses[c].shown_meet > problem.terms.now) open.push_back(static_cast<int>(c));
  }
  if (open.empty()) return -1;
  // The next to meet are those that events happen to.
  std::sort(open.begin(), open.end(),
            [&](int a, int b) { return problem.courses[at(a)].shown_meet < problem.courses[at(b)].shown_meet; });
  const int course = open[at(
      static_cast<int>(random.between(0, std::min<std::int64_t>(9, static_cast<std::int64_t>(open.size()) - 1))))];
  problem.courses[at(course)].changed = true;
  if (random.chance(0.2)) {
    problem.courses[at(course)].wanted += static_cast<Tick>(random.between(6, 60));
    return course;
  }
  std::vector<int> blocks;
  for (const auto& component : problem.components) {
    if (problem.plates[at(problem.feeds[at(component.feeds.first)].plate)].course != course) continue;
    for (int b = component.blocks.first; b < component.blocks.end(); ++b) {
      const Block& block = problem.blocks[at(b)];
      const bool over = block.fixed_start != plan::no_tick && block.fixed_start + block.length <= problem.terms.now;
      if (!over) blocks.push_back(b);
    }
  }
  if (blocks.empty()) return course;
  Block& block = problem.blocks[at(random.pick(blocks))];
  const Tick more = static_cast<Tick>(random.between(1, 8));
  block.length += more;
  // What was taken to the end of the block is taken longer.
  for (int u = block.uses.first; u < block.uses.end(); ++u) {
    Use& use = problem.uses[at(u)];
    if (use.to == block.length - more) use.to = block.length;
  }
  return course;
}

int steps_of(const KitchenProblem& problem) {
  int steps = 0;
  for (const auto& block : problem.blocks) {
    std::vector<Tick> ends;
    for (int u = block.uses.first; u < block.uses.end(); ++u) ends.push_back(problem.uses[at(u)].to);
    std::sort(ends.begin(), ends.end());
    steps += static_cast<int>(std::unique(ends.begin(), ends.end()) - ends.begin());
  }
  return steps;
}

}  // namespace nappe::tests
