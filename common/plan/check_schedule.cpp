#include "common/plan/check_schedule.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <map>
#include <utility>

namespace nappe::plan {
namespace {

std::size_t at(int index) { return static_cast<std::size_t>(index); }

class Judge {
 public:
  Judge(const KitchenProblem& problem, const Schedule& schedule) : p_(problem), s_(schedule) {}

  std::vector<std::string> faults() {
    if (s_.block_start.size() != p_.blocks.size() || s_.meet.size() != p_.courses.size()) {
      return {"the schedule does not have one start per block and one meet per course"};
    }
    judge_blocks();
    judge_components();
    judge_plates();
    judge_reports();
    judge_capacity();
    judge_cost();
    return faults_;
  }

 private:
  bool is_fixed(int b) const { return p_.blocks[at(b)].fixed_start != no_tick; }
  Tick start(int b) const { return s_.block_start[at(b)]; }
  Tick end(int b) const { return s_.block_start[at(b)] + p_.blocks[at(b)].length; }
  template <class... Args>
  void fault(fmt::format_string<Args...> text, Args&&... args) {
    faults_.push_back(fmt::format(text, std::forward<Args>(args)...));
  }

  void judge_blocks() {
    for (int b = 0; b < static_cast<int>(p_.blocks.size()); ++b) {
      const Block& block = p_.blocks[at(b)];
      if (is_fixed(b)) {
        if (start(b) != block.fixed_start)
          fault("block {} has begun at {} and is moved to {}", b, block.fixed_start, start(b));
        continue;
      }
      if (start(b) < p_.terms.now) fault("block {} starts at {}, before now", b, start(b));
      if (block.release != no_tick && start(b) < block.release) fault("block {} starts before its release", b);
      if (block.shown_start == no_tick) continue;
      cost_.moved += block.price_move * std::abs(start(b) - block.shown_start);
      if (block.shown_start >= p_.terms.frozen_until) continue;
      if (start(b) == block.shown_start || (block.shown_start < p_.terms.now && start(b) == p_.terms.now)) continue;
      if (start(b) < block.shown_start) cost_.thawed += p_.terms.price_thaw;
      ++thawed_;
      if (std::count(s_.thawed.begin(), s_.thawed.end(), b) != 1) fault("frozen block {} moved and nobody says so", b);
    }
    if (static_cast<int>(s_.thawed.size()) != thawed_) fault("more frozen blocks are reported than moved");
  }

  void judge_lag(Broken::What what, int from, int to, Tick lag, std::pair<Tick, Tick> window, Price price,
                 std::pair<int, int> whose) {
    if (is_fixed(from) && is_fixed(to)) return;
    if (lag < window.first) fault("block {} starts {} after block {}, the least is {}", to, lag, from, window.first);
    if (lag > window.first) cost_.stand += price * (lag - window.first);
    if (lag > window.second) expect_broken(what, whose.first, whose.second, from, lag - window.second);
  }

  void judge_components() {
    for (int k = 0; k < static_cast<int>(p_.components.size()); ++k) {
      const Component& component = p_.components[at(k)];
      if (component.blocks.count == 0) continue;
      const int last = component.blocks.first + component.blocks.count - 1;
      for (int b = component.blocks.first; b < last; ++b) {
        const Link& link = p_.blocks[at(b)].next;
        judge_lag(Broken::What::lag, b, b + 1, start(b + 1) - end(b), {link.lag_min, link.lag_max}, link.price_stand,
                  {k, -1});
      }
      for (int f = component.feeds.first; f < component.feeds.first + component.feeds.count; ++f) {
        const Feed& feed = p_.feeds[at(f)];
        const int b = p_.plates[at(feed.plate)].block;
        judge_lag(Broken::What::keep, last, b, start(b) - end(last), {feed.lag_min, feed.lag_max}, feed.price_stand,
                  {k, feed.plate});
      }
    }
  }

  void judge_plates() {
    for (int i = 0; i < static_cast<int>(p_.plates.size()); ++i) {
      const Plate& plate = p_.plates[at(i)];
      const Course& course = p_.courses[at(plate.course)];
      const Tick wait = s_.meet[at(plate.course)] - end(plate.block);
      if (wait < 0) fault("plate {} is ready {} after its meet", i, -wait);
      if (wait > course.spread_max) expect_broken(Broken::What::spread, -1, i, plate.block, wait - course.spread_max);
      cost_.spread += course.price_spread * std::max(0, wait);
    }
    for (int c = 0; c < static_cast<int>(p_.courses.size()); ++c) {
      const Course& course = p_.courses[at(c)];
      const Tick late = s_.meet[at(c)] - course.wanted;
      if (late < -course.early_max) fault("course {} meets {} early", c, -late);
      if (late > 0) cost_.late += course.price_late * late;
      if (late > course.late_after) cost_.late += course.price_late_more * (late - course.late_after);
      if (late < 0) cost_.early += course.price_early * -late;
    }
  }

  void expect_broken(Broken::What what, int component, int plate, int block, Tick by) {
    ++broken_;
    cost_.broken += p_.terms.price_break + p_.terms.price_break_tick * by;
    const auto matches = [&](const Broken& b) {
      return b.what == what && b.component == component && b.plate == plate && b.block == block && b.by == by;
    };
    if (std::count_if(s_.broken.begin(), s_.broken.end(), matches) != 1) {
      fault("the window after block {} is broken by {} and nobody says so", block, by);
    }
  }

  void judge_reports() {
    if (static_cast<int>(s_.broken.size()) != broken_)
      fault("{} windows are reported broken, {} are", s_.broken.size(), broken_);
  }

  struct Taken {
    Tick from;
    Tick to;
    int units;
    bool fact;
  };

  void judge_held(Range held, Tick from, Tick to, bool fact) {
    for (int u = held.first; u < held.first + held.count; ++u) {
      taken_[p_.uses[at(u)].resource].push_back({from, to, p_.uses[at(u)].units, fact});
    }
  }

  void collect_taken() {
    Tick believed = p_.terms.now;
    for (const Course& course : p_.courses) believed = std::max(believed, course.wanted);
    for (int b = 0; b < static_cast<int>(p_.blocks.size()); ++b) {
      const Block& block = p_.blocks[at(b)];
      if (is_fixed(b)) believed = std::max(believed, end(b));
      for (int u = block.uses.first; u < block.uses.first + block.uses.count; ++u) {
        const Use& use = p_.uses[at(u)];
        taken_[use.resource].push_back({start(b) + use.from, start(b) + use.to, use.units, is_fixed(b)});
      }
    }
    believed += p_.terms.late_search_max;
    for (const Outage& o : p_.outages) taken_[o.resource].push_back({o.from, std::min(o.to, believed), o.units, true});
    for (const Component& component : p_.components) {
      if (component.blocks.count == 0) continue;
      const int last = component.blocks.first + component.blocks.count - 1;
      for (int b = component.blocks.first; b < last; ++b) {
        if (is_fixed(b) && is_fixed(b + 1)) continue;
        judge_held(p_.blocks[at(b)].next.held, end(b), start(b + 1), is_fixed(b));
      }
      Tick until = end(last);
      for (int f = component.feeds.first; f < component.feeds.first + component.feeds.count; ++f) {
        until = std::max(until, start(p_.plates[at(p_.feeds[at(f)].plate)].block));
      }
      judge_held(component.held, end(last), until, is_fixed(last));
    }
  }

  void judge_capacity() {
    collect_taken();
    for (const auto& [resource, list] : taken_) {
      std::map<Tick, std::pair<int, int>> changes;  // tick -> change of (units by facts, units by plan)
      for (const Taken& taken : list) {
        if (taken.to <= taken.from) continue;
        auto& up = changes[taken.from];
        (taken.fact ? up.first : up.second) += taken.units;
        auto& down = changes[taken.to];
        (taken.fact ? down.first : down.second) -= taken.units;
      }
      int facts = 0;
      int planned = 0;
      for (const auto& [tick, change] : changes) {
        facts += change.first;
        planned += change.second;
        if (tick < p_.terms.now && changes.upper_bound(tick) != changes.end() &&
            changes.upper_bound(tick)->first <= p_.terms.now) {
          continue;  // over before now
        }
        if (planned > 0 && facts + planned > p_.resources[at(resource)].capacity) {
          fault("resource {} has {} and {} are taken from {} on ({} by facts)", resource,
                p_.resources[at(resource)].capacity, facts + planned, tick, facts);
        }
      }
    }
  }

  void judge_cost() {
    if (cost_.total() != s_.cost.total() || cost_.late != s_.cost.late || cost_.stand != s_.cost.stand) {
      fault("the schedule says it costs {}, it costs {}", s_.cost.total(), cost_.total());
    }
  }

  const KitchenProblem& p_;
  const Schedule& s_;
  std::vector<std::string> faults_;
  std::map<int, std::vector<Taken>> taken_;
  Cost cost_;
  int broken_ = 0;
  int thawed_ = 0;
};

}  // namespace

std::vector<std::string> check_schedule(const KitchenProblem& problem, const Schedule& schedule) {
  return Judge(problem, schedule).faults();
}

}  // namespace nappe::plan
