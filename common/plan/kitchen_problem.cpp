#include "common/plan/kitchen_problem.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <string>

namespace nappe::plan {
namespace {

std::size_t at(int index) { return static_cast<std::size_t>(index); }

/// Collects the first thing that is wrong.
class FormCheck {
 public:
  explicit FormCheck(const KitchenProblem& problem) : p_(problem) {}

  Status result() {
    check_resources();
    check_blocks();
    check_plates();
    check_components();
    check_courses();
    if (fault_.empty()) return Done{};
    return Error{Errc::invalid, fault_};
  }

 private:
  bool ok() const { return fault_.empty(); }
  void fault(std::string text) {
    if (fault_.empty()) fault_ = std::move(text);
  }
  static bool inside(Range range, std::size_t size) {
    return range.first >= 0 && range.count >= 0 && at(range.first) + at(range.count) <= size;
  }
  static bool index_ok(int index, std::size_t size) { return index >= 0 && at(index) < size; }

  void check_use(const Use& use, const std::string& owner) {
    if (!index_ok(use.resource, p_.resources.size())) {
      fault(fmt::format("{} uses resource {}, which is not there", owner, use.resource));
    } else if (use.units < 0 || use.units > p_.resources[at(use.resource)].capacity) {
      fault(fmt::format("{} takes {} units of resource {}, which has {}", owner, use.units, use.resource,
                        p_.resources[at(use.resource)].capacity));
    }
  }
  void check_held(Range held, const std::string& owner) {
    if (!inside(held, p_.uses.size())) return fault(owner + " holds uses that are not there");
    for (int u = held.first; u < held.end(); ++u) check_use(p_.uses[at(u)], owner);
  }
  void check_resources() {
    for (std::size_t r = 0; r < p_.resources.size(); ++r) {
      const int capacity = p_.resources[r].capacity;
      if (capacity < 0 || capacity > 32000) fault(fmt::format("resource {} has capacity {}", r, capacity));
    }
    for (std::size_t o = 0; o < p_.outages.size(); ++o) {
      const Outage& outage = p_.outages[o];
      if (!index_ok(outage.resource, p_.resources.size()) || outage.units < 0 || outage.to < outage.from) {
        fault(fmt::format("outage {} names no resource, or ends before it begins", o));
      }
    }
  }
  void check_blocks() {
    for (std::size_t b = 0; b < p_.blocks.size() && ok(); ++b) {
      const Block& block = p_.blocks[b];
      const std::string owner = fmt::format("block {}", b);
      if (block.length < 0) fault(owner + " has a negative length");
      if (block.price_move < 0) fault(owner + " has a negative price");
      if (!inside(block.uses, p_.uses.size())) return fault(owner + " has uses that are not there");
      for (int u = block.uses.first; u < block.uses.end(); ++u) {
        const Use& use = p_.uses[at(u)];
        check_use(use, owner);
        if (use.from < 0 || use.to < use.from || use.to > block.length) {
          fault(fmt::format("{} takes resource {} outside its own length", owner, use.resource));
        }
      }
    }
  }
  void check_plates() {
    for (std::size_t p = 0; p < p_.plates.size(); ++p) {
      if (!index_ok(p_.plates[p].course, p_.courses.size())) fault(fmt::format("plate {} belongs to no course", p));
      if (!index_ok(p_.plates[p].block, p_.blocks.size())) fault(fmt::format("plate {} has no plating block", p));
    }
  }
  void check_lag(Tick lag_min, Tick lag_max, Price price, const std::string& owner) {
    if (lag_min < 0 || lag_max < lag_min) fault(fmt::format("{} has the window {}..{}", owner, lag_min, lag_max));
    if (price < 0) fault(owner + " has a negative price");
  }
  void check_component(std::size_t k) {
    const Component& component = p_.components[k];
    const std::string owner = fmt::format("component {}", k);
    if (!inside(component.blocks, p_.blocks.size()) || !inside(component.feeds, p_.feeds.size())) {
      return fault(owner + " has blocks or feeds that are not there");
    }
    if (component.feeds.count == 0) return fault(owner + " goes on no plate");
    check_held(component.held, owner);
    bool begun = true;
    for (int b = component.blocks.first; b < component.blocks.end(); ++b) {
      const Block& block = p_.blocks[at(b)];
      const bool fixed = block.fixed_start != no_tick;
      if (fixed && !begun) fault(fmt::format("block {} of {} has begun before the block in front of it", b, owner));
      begun = fixed;
      if (b + 1 == component.blocks.end()) continue;
      check_lag(block.next.lag_min, block.next.lag_max, block.next.price_stand,
                fmt::format("the lag after block {}", b));
      check_held(block.next.held, fmt::format("the lag after block {}", b));
    }
    for (int f = component.feeds.first; f < component.feeds.end(); ++f) {
      const Feed& feed = p_.feeds[at(f)];
      if (!index_ok(feed.plate, p_.plates.size())) return fault(owner + " feeds a plate that is not there");
      check_lag(feed.lag_min, feed.lag_max, feed.price_stand, fmt::format("feed {} of {}", f, owner));
      const bool plated = p_.blocks[at(p_.plates[at(feed.plate)].block)].fixed_start != no_tick;
      if (plated && !begun) fault(fmt::format("plate {} is being plated before {} has begun", feed.plate, owner));
    }
  }
  void check_components() {
    for (std::size_t k = 0; k < p_.components.size() && ok(); ++k) check_component(k);
  }
  void check_courses() {
    for (std::size_t c = 0; c < p_.courses.size(); ++c) {
      const Course& course = p_.courses[c];
      if (course.price_late < 0 || course.price_late_more < 0 || course.price_early < 0 || course.price_spread < 0) {
        fault(fmt::format("course {} has a negative price", c));
      }
      if (course.spread_max < 0 || course.early_max < 0 || course.late_after < 0) {
        fault(fmt::format("course {} has a negative spread, earliness or lateness step", c));
      }
      if (course.wanted == no_tick) fault(fmt::format("course {} has no wanted meet", c));
    }
  }

  const KitchenProblem& p_;
  std::string fault_;
};

void price_blocks(const KitchenProblem& problem, Schedule& plan) {
  const Terms& terms = problem.terms;
  for (std::size_t b = 0; b < problem.blocks.size(); ++b) {
    const Block& block = problem.blocks[b];
    if (block.fixed_start != no_tick || block.shown_start == no_tick) continue;
    plan.cost.moved += block.price_move * std::abs(plan.block_start[b] - block.shown_start);
    const bool frozen = block.shown_start < terms.frozen_until;
    const Tick told = std::max(block.shown_start, terms.now);
    if (!frozen || plan.block_start[b] == told) continue;
    plan.thawed.push_back(static_cast<int>(b));
    // "Hold your turn" is heard every night; "now, not in a minute" is what throws a cook.
    if (plan.block_start[b] < told) plan.cost.thawed += terms.price_thaw;
  }
}

void add_broken(const Terms& terms, const Broken& broken, Schedule& plan) {
  plan.cost.broken += terms.price_break + terms.price_break_tick * broken.by;
  plan.broken.push_back(broken);
}

void price_component(const KitchenProblem& problem, int k, Schedule& plan) {
  const Component& component = problem.components[at(k)];
  if (component.blocks.count == 0) return;
  const auto fixed = [&](int b) { return problem.blocks[at(b)].fixed_start != no_tick; };
  const auto end = [&](int b) { return plan.block_start[at(b)] + problem.blocks[at(b)].length; };
  const int last = component.blocks.end() - 1;
  const int course = problem.plates[at(problem.feeds[at(component.feeds.first)].plate)].course;
  for (int b = component.blocks.first; b < last; ++b) {
    if (fixed(b) && fixed(b + 1)) continue;
    const Link& link = problem.blocks[at(b)].next;
    const Tick lag = plan.block_start[at(b + 1)] - end(b);
    plan.cost.stand += link.price_stand * std::max(0, lag - link.lag_min);
    if (lag > link.lag_max) {
      add_broken(problem.terms, {Broken::What::lag, course, -1, k, b, lag - link.lag_max}, plan);
    }
  }
  for (int f = component.feeds.first; f < component.feeds.end(); ++f) {
    const Feed& feed = problem.feeds[at(f)];
    const Plate& plate = problem.plates[at(feed.plate)];
    if (fixed(last) && fixed(plate.block)) continue;
    const Tick lag = plan.block_start[at(plate.block)] - end(last);
    plan.cost.stand += feed.price_stand * std::max(0, lag - feed.lag_min);
    if (lag > feed.lag_max) {
      add_broken(problem.terms, {Broken::What::keep, plate.course, feed.plate, k, last, lag - feed.lag_max}, plan);
    }
  }
}

}  // namespace

Status check_problem(const KitchenProblem& problem) { return FormCheck(problem).result(); }

void price_schedule(const KitchenProblem& problem, Schedule& plan) {
  plan.broken.clear();
  plan.thawed.clear();
  plan.cost = Cost{};
  price_blocks(problem, plan);
  for (std::size_t c = 0; c < problem.courses.size(); ++c) {
    const Course& course = problem.courses[c];
    const Tick late = std::max(0, plan.meet[c] - course.wanted);
    plan.cost.late += course.price_late * late + course.price_late_more * std::max(0, late - course.late_after);
    plan.cost.early += course.price_early * std::max(0, course.wanted - plan.meet[c]);
  }
  for (std::size_t p = 0; p < problem.plates.size(); ++p) {
    const Plate& plate = problem.plates[p];
    const Course& course = problem.courses[at(plate.course)];
    const Tick end = plan.block_start[at(plate.block)] + problem.blocks[at(plate.block)].length;
    const Tick wait = plan.meet[at(plate.course)] - end;
    plan.cost.spread += course.price_spread * std::max(0, wait);
    if (wait > course.spread_max) {
      add_broken(problem.terms,
                 {Broken::What::spread, plate.course, static_cast<int>(p), -1, plate.block, wait - course.spread_max},
                 plan);
    }
  }
  for (std::size_t k = 0; k < problem.components.size(); ++k) price_component(problem, static_cast<int>(k), plan);
  std::stable_sort(plan.broken.begin(), plan.broken.end(),
                   [](const Broken& a, const Broken& b) { return a.course < b.course; });
}

std::vector<Tick> give_of(const KitchenProblem& problem, const Schedule& plan) {
  std::vector<Tick> latest(plan.block_start);
  for (const Plate& plate : problem.plates) {
    const std::size_t b = at(plate.block);
    latest[b] = std::max(latest[b], plan.meet[at(plate.course)] - problem.blocks[b].length);
  }
  for (const Component& component : problem.components) {
    Tick end = std::numeric_limits<Tick>::max();
    for (int f = component.feeds.first; f < component.feeds.end(); ++f) {
      const Feed& feed = problem.feeds[at(f)];
      end = std::min(end, latest[at(problem.plates[at(feed.plate)].block)] - feed.lag_min);
    }
    for (int b = component.blocks.end() - 1; b >= component.blocks.first; --b) {
      latest[at(b)] = std::max(latest[at(b)], end - problem.blocks[at(b)].length);
      if (b > component.blocks.first) end = latest[at(b)] - problem.blocks[at(b - 1)].next.lag_min;
    }
  }
  for (std::size_t b = 0; b < latest.size(); ++b) {
    latest[b] = problem.blocks[b].fixed_start != no_tick ? 0 : latest[b] - plan.block_start[b];
  }
  return latest;
}

namespace {

/// The blocks not yet begun that use each resource, in the order of the plan, at most five.
std::vector<std::vector<int>> next_five(const KitchenProblem& problem, const Schedule& plan) {
  std::vector<std::vector<int>> queues(problem.resources.size());
  for (std::size_t b = 0; b < problem.blocks.size(); ++b) {
    const Block& block = problem.blocks[b];
    if (block.fixed_start != no_tick) continue;
    for (int u = block.uses.first; u < block.uses.end(); ++u) {
      auto& queue = queues[at(problem.uses[at(u)].resource)];
      if (queue.empty() || queue.back() != static_cast<int>(b)) queue.push_back(static_cast<int>(b));
    }
  }
  for (auto& queue : queues) {
    std::stable_sort(queue.begin(), queue.end(),
                     [&](int a, int b) { return plan.block_start[at(a)] < plan.block_start[at(b)]; });
    if (queue.size() > 5) queue.resize(5);
  }
  return queues;
}

}  // namespace

Difference compare_schedules(const KitchenProblem& problem, const Schedule& before, const Schedule& after, Tick soon) {
  Difference difference;
  for (std::size_t b = 0; b < problem.blocks.size(); ++b) {
    const Tick moved = std::abs(after.block_start[b] - before.block_start[b]);
    if (moved == 0) continue;
    ++difference.moved;
    difference.ticks += moved;
    const Tick first = std::min(after.block_start[b], before.block_start[b]);
    if (first < problem.terms.now + soon) ++difference.moved_soon;
  }
  auto queues = next_five(problem, before);
  const auto later = next_five(problem, after);
  for (std::size_t r = 0; r < queues.size(); ++r) {
    for (int b : later[r]) {
      if (std::find(queues[r].begin(), queues[r].end(), b) == queues[r].end()) queues[r].push_back(b);
    }
    for (std::size_t i = 0; i < queues[r].size(); ++i) {
      for (std::size_t j = i + 1; j < queues[r].size(); ++j) {
        const std::size_t a = at(queues[r][i]);
        const std::size_t b = at(queues[r][j]);
        const bool ordered =
            before.block_start[a] < before.block_start[b] && after.block_start[a] > after.block_start[b];
        const bool reversed =
            before.block_start[a] > before.block_start[b] && after.block_start[a] < after.block_start[b];
        if (ordered || reversed) ++difference.inversions;
      }
    }
  }
  return difference;
}

int add_course(KitchenProblem& problem, const Course& course) {
  problem.courses.push_back(course);
  return static_cast<int>(problem.courses.size()) - 1;
}

int add_block(KitchenProblem& problem, Block block, const std::vector<Use>& uses) {
  block.uses = add_held(problem, uses);
  problem.blocks.push_back(block);
  return static_cast<int>(problem.blocks.size()) - 1;
}

Range add_held(KitchenProblem& problem, const std::vector<Use>& uses) {
  const Range range{static_cast<int>(problem.uses.size()), static_cast<int>(uses.size())};
  problem.uses.insert(problem.uses.end(), uses.begin(), uses.end());
  return range;
}

int add_plate(KitchenProblem& problem, int course, const Block& plating, const std::vector<Use>& uses) {
  const int block = add_block(problem, plating, uses);
  problem.plates.push_back({course, block});
  return static_cast<int>(problem.plates.size()) - 1;
}

int begin_component(KitchenProblem& problem) {
  Component component;
  component.blocks = {static_cast<int>(problem.blocks.size()), 0};
  component.feeds = {static_cast<int>(problem.feeds.size()), 0};
  problem.components.push_back(component);
  return static_cast<int>(problem.components.size()) - 1;
}

void end_component(KitchenProblem& problem, const std::vector<Feed>& feeds, Range held) {
  Component& component = problem.components.back();
  component.blocks.count = static_cast<int>(problem.blocks.size()) - component.blocks.first;
  component.feeds = {static_cast<int>(problem.feeds.size()), static_cast<int>(feeds.size())};
  component.held = held;
  problem.feeds.insert(problem.feeds.end(), feeds.begin(), feeds.end());
}

}  // namespace nappe::plan
