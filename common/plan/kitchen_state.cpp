#include "common/plan/kitchen_state.hpp"

#include <algorithm>
#include <numeric>

namespace nappe::plan {
namespace {

constexpr Tick unbounded = 1 << 28;

std::size_t at(int index) { return static_cast<std::size_t>(index); }

}  // namespace

void Lists::build(int keys, const std::vector<std::pair<int, int>>& pairs) {
  first_.assign(at(keys) + 2, 0);
  values_.resize(pairs.size());
  for (const auto& [key, value] : pairs) ++first_[at(key) + 2];
  std::partial_sum(first_.begin(), first_.end(), first_.begin());
  for (const auto& [key, value] : pairs) values_[at(first_[at(key) + 1]++)] = value;
}

void KitchenState::load(const KitchenProblem& problem, Tick extra) {
  problem_ = &problem;
  const std::size_t blocks = problem.blocks.size();
  start_.assign(blocks, 0);
  in_.assign(blocks, 0);
  pin_.assign(blocks, movable);
  trial_.assign(blocks, 0);
  extra_.assign(blocks, 0);
  component_in_.assign(problem.components.size(), 0);
  held_until_.assign(problem.components.size(), no_tick);
  meet_.assign(problem.courses.size(), 0);
  pull_.assign(problem.courses.size(), -1);
  build_units();
  build_index();
  load_calendar(extra);
  load_pins();
}

/// Courses that share a component belong together: union-find over courses, units numbered by their first course.
void KitchenState::build_units() {
  const auto& p = *problem_;
  const auto count = static_cast<int>(p.courses.size());
  order_.resize(at(count));
  std::iota(order_.begin(), order_.end(), 0);
  const auto root = [&](int c) {
    while (order_[at(c)] != c) c = order_[at(c)] = order_[at(order_[at(c)])];
    return c;
  };
  component_shared_.assign(p.components.size(), 0);
  for (std::size_t k = 0; k < p.components.size(); ++k) {
    const Range feeds = p.components[k].feeds;
    const int first_course = p.plates[at(p.feeds[at(feeds.first)].plate)].course;
    for (int f = feeds.first + 1; f < feeds.end(); ++f) {
      const int c = p.plates[at(p.feeds[at(f)].plate)].course;
      if (c == first_course) continue;
      component_shared_[k] = 1;
      const int a = root(first_course);
      const int b = root(c);
      order_[at(std::max(a, b))] = std::min(a, b);
    }
  }
  unit_of_course_.assign(at(count), 0);
  unit_count_ = 0;
  for (int c = 0; c < count; ++c) {
    const int first = root(c);
    unit_of_course_[at(c)] = first == c ? unit_count_++ : unit_of_course_[at(first)];
  }
}

void KitchenState::build_index() {
  const auto& p = *problem_;
  const auto courses = static_cast<int>(p.courses.size());
  pairs_.clear();
  for (std::size_t i = 0; i < p.plates.size(); ++i) pairs_.emplace_back(p.plates[i].course, static_cast<int>(i));
  course_plates_.build(courses, pairs_);
  component_of_feed_.resize(p.feeds.size());
  std::vector<std::pair<int, int>>& pairs = pairs_;
  pairs.clear();
  for (std::size_t k = 0; k < p.components.size(); ++k) {
    const Range feeds = p.components[k].feeds;
    for (int f = feeds.first; f < feeds.end(); ++f) {
      component_of_feed_[at(f)] = static_cast<int>(k);
      pairs.emplace_back(p.feeds[at(f)].plate, f);
    }
  }
  plate_feeds_.build(static_cast<int>(p.plates.size()), pairs);
  pairs.clear();
  for (std::size_t k = 0; k < p.components.size(); ++k) {
    if (p.components[k].blocks.count == 0) continue;  // drawn cold: nothing to place
    const std::size_t before = pairs.size();
    const Range feeds = p.components[k].feeds;
    for (int f = feeds.first; f < feeds.end(); ++f) {
      const std::pair<int, int> pair{p.plates[at(p.feeds[at(f)].plate)].course, static_cast<int>(k)};
      const auto first = pairs.begin() + static_cast<std::ptrdiff_t>(before);
      if (std::find(first, pairs.end(), pair) == pairs.end()) pairs.push_back(pair);
    }
  }
  course_components_.build(courses, pairs);
  pairs.clear();
  order_.resize(at(courses));
  std::iota(order_.begin(), order_.end(), 0);
  std::stable_sort(order_.begin(), order_.end(),
                   [&](int a, int b) { return p.courses[at(a)].wanted < p.courses[at(b)].wanted; });
  for (int c : order_) pairs.emplace_back(unit_of_course_[at(c)], c);
  unit_courses_.build(unit_count_, pairs);
  unit_wanted_.resize(at(unit_count_));
  for (int u = 0; u < unit_count_; ++u) unit_wanted_[at(u)] = p.courses[at(unit_courses_.of(u)[0])].wanted;
  pairs.clear();
  for (std::size_t k = 0; k < p.components.size(); ++k) {
    if (p.components[k].blocks.count == 0) continue;
    pairs.emplace_back(unit_of_course_[at(p.plates[at(p.feeds[at(p.components[k].feeds.first)].plate)].course)],
                       static_cast<int>(k));
  }
  unit_components_.build(unit_count_, pairs);
  pairs.clear();
  for (const Plate& plate : p.plates) pairs.emplace_back(unit_of_course_[at(plate.course)], plate.block);
  for (int u = 0; u < unit_count_; ++u) {
    for (int k : unit_components_.of(u)) {
      for (int b = component(k).blocks.first; b < component(k).blocks.end(); ++b) pairs.emplace_back(u, b);
    }
  }
  unit_blocks_.build(unit_count_, pairs);
}

void KitchenState::load_calendar(Tick extra) {
  const auto& p = *problem_;
  Tick base = p.terms.now;
  for (const Course& c : p.courses) base = std::max(base, c.wanted);
  for (const Block& b : p.blocks) {
    if (b.fixed_start != no_tick) base = std::max(base, b.fixed_start + b.length);
  }
  base += p.terms.late_search_max;
  horizon_ = base + extra;
  for (const Block& b : p.blocks) {
    if (b.shown_start != no_tick) horizon_ = std::max(horizon_, b.shown_start + b.length + 1);
  }
  calendar_.resize(p.resources.size());
  for (std::size_t r = 0; r < p.resources.size(); ++r) {
    calendar_[r].reset(p.resources[r].capacity, p.terms.now, horizon_);
  }
  for (const Outage& o : p.outages) calendar_[at(o.resource)].place(o.from, std::min(o.to, base), o.units);
}

/// Fixed blocks are facts; frozen ones keep their place if it is still free, the earliest first.
void KitchenState::load_pins() {
  const auto& p = *problem_;
  unit_in_.assign(at(unit_count_), 0);
  unit_begun_.assign(at(unit_count_), 0);
  pairs_.clear();
  for (int u = 0; u < unit_count_; ++u) {
    for (int b : unit_blocks_.of(u)) {
      if (block(b).fixed_start != no_tick) {
        unit_begun_[at(u)] = 1;
        if (in_[at(b)] != 0) continue;
        pin_[at(b)] = fixed;
        take(b, block(b).fixed_start);
      } else if (block(b).shown_start != no_tick && block(b).shown_start < p.terms.frozen_until) {
        pairs_.emplace_back(u, b);
      }
    }
  }
  unit_frozen_.build(unit_count_, pairs_);
  std::stable_sort(pairs_.begin(), pairs_.end(), [&](const auto& a, const auto& b) {
    return block(a.second).shown_start < block(b.second).shown_start;
  });
  for (const auto& [u, b] : pairs_) {
    const Tick start = std::max(block(b).shown_start, p.terms.now);
    if (start < earliest(b) || !fits_at(b, start)) continue;
    pin_[at(b)] = frozen_here;
    take(b, start);
  }
}

void KitchenState::take(int b, Tick start) {
  start_[at(b)] = start;
  in_[at(b)] = 1;
  const Range uses = block(b).uses;
  for (int u = uses.first; u < uses.end(); ++u) {
    const Use& use = problem_->uses[at(u)];
    calendar_[at(use.resource)].place(start + use.from, start + use.to, use.units);
  }
}

void KitchenState::drop(int b) {
  in_[at(b)] = 0;
  const Range uses = block(b).uses;
  for (int u = uses.first; u < uses.end(); ++u) {
    const Use& use = problem_->uses[at(u)];
    calendar_[at(use.resource)].remove(start_[at(b)] + use.from, start_[at(b)] + use.to, use.units);
  }
}

void KitchenState::hold(Range uses, Tick from, Tick to, bool taken) {
  for (int u = uses.first; u < uses.end(); ++u) {
    const Use& use = problem_->uses[at(u)];
    if (taken) {
      calendar_[at(use.resource)].place(from, to, use.units);
    } else {
      calendar_[at(use.resource)].remove(from, to, use.units);
    }
  }
}

bool KitchenState::fits_at(int b, Tick start) const { return fit_latest(b, start, start) == start; }

bool KitchenState::hold_free(Range uses, Tick from, Tick to) const { return hold_end(uses, from, to) >= to; }

/// The latest start in [low, high] at which the block fits; no_tick if none.
Tick KitchenState::fit_latest(int b, Tick high, Tick low) const {
  if (high < low) return no_tick;
  const Range uses = block(b).uses;
  Tick start = high;
  int agreed = 0;  // uses in a row that fit at this start
  for (int u = uses.first; agreed < uses.count; ++agreed) {
    const Use& use = problem_->uses[at(u)];
    while (true) {
      // The full tick found blocks every start in (full - to, full - from]: the next one worth trying ends at it.
      const Tick full = calendar_[at(use.resource)].last_full(start + use.from, start + use.to, use.units);
      if (full < start + use.from) break;
      start = full - use.to;
      if (start < low) return no_tick;
      agreed = 0;
    }
    u = u + 1 == uses.end() ? uses.first : u + 1;
  }
  return start;
}

/// The first tick from which these can be held without a break until `to`.
Tick KitchenState::hold_begin(Range uses, Tick from, Tick to) const {
  Tick begin = from;
  for (int u = uses.first; u < uses.end(); ++u) {
    const Use& use = problem_->uses[at(u)];
    begin = std::max(begin, calendar_[at(use.resource)].last_full(begin, to, use.units) + 1);
  }
  return begin;
}

/// The tick until which these can be held without a break from `from`, at most `to`.
Tick KitchenState::hold_end(Range uses, Tick from, Tick to) const {
  Tick until = to;
  for (int u = uses.first; u < uses.end() && until > from; ++u) {
    const Use& use = problem_->uses[at(u)];
    until = calendar_[at(use.resource)].first_full(from, until, use.units);
  }
  return until;
}

Tick KitchenState::earliest(int b) const {
  const Tick now = problem_->terms.now;
  return block(b).release == no_tick ? now : std::max(now, block(b).release);
}

/// The latest end in the window of block `b` such that it and the blocks before it (from `first`) can all be placed;
/// no_tick if there is none. Leaves the starts in trial_. Exact: the result never depends on luck, because whenever the
/// blocks before cannot come close enough, the search goes on at the latest start that their own latest end allows.
Tick KitchenState::chain_end(int first, int b, Window ends, bool relaxed) {
  if (pinned(b)) return pinned_end(first, b, ends, relaxed);
  const Tick length = block(b).length;
  const Tick low = std::max(earliest(b), ends.low - length);
  Tick start = ends.high - length;
  while (true) {
    start = fit_latest(b, start, low);
    if (start == no_tick) return no_tick;
    trial_[at(b)] = start;
    if (b == first) return start + length;
    const Link& link = block(b - 1).next;
    const Tick lag_max = relaxed ? unbounded : link.lag_max;
    const Window before_ends{low - lag_max, start - link.lag_min - extra_[at(b - 1)]};
    const Tick before = chain_end(first, b - 1, before_ends, relaxed);
    if (before == no_tick) return no_tick;
    Tick latest = before + lag_max;
    // After a fact the equipment is simply still taken, free or not.
    const bool forced = relaxed && fixed_block(b - 1);
    if (link.held.count > 0 && !forced) latest = std::min(latest, hold_end(link.held, before, start));
    if (start <= latest) return start + length;
    start = latest;
  }
}

/// The same for a block that stays where it is.
Tick KitchenState::pinned_end(int first, int b, Window ends, bool relaxed) {
  const Tick start = start_[at(b)];
  const Tick ready = start + block(b).length;
  if (ready > ends.high || ready < ends.low) return no_tick;
  trial_[at(b)] = start;
  if (b > first && !(fixed_block(b) && fixed_block(b - 1))) {
    const Link& link = block(b - 1).next;
    const Tick low = relaxed ? -unbounded : start - link.lag_max;
    const Tick before = chain_end(first, b - 1, {low, start - link.lag_min}, relaxed);
    if (before == no_tick) return no_tick;
    if (link.held.count > 0 && !hold_free(link.held, before, start)) return no_tick;
  } else if (b > first) {
    for (int i = first; i < b; ++i) trial_[at(i)] = start_[at(i)];
  }
  return ready;
}

/// The smallest bound beyond `after` with which the chain can end later than `after`; no_tick if there is none.
Tick KitchenState::next_end(int k, Tick after, bool relaxed) {
  const Range blocks = component(k).blocks;
  const auto possible = [&](Tick bound) {
    return chain_end(blocks.first, blocks.end() - 1, {after + 1, bound}, relaxed) != no_tick;
  };
  Tick low = after;  // not possible
  Tick step = 1;
  while (!possible(low + step)) {
    low += step;
    if (low >= horizon_) return no_tick;
    step *= 2;
  }
  Tick high = low + step;
  while (high - low > 1) {
    const Tick middle = low + (high - low) / 2;
    (possible(middle) ? high : low) = middle;
  }
  return high;
}

/// When the component may end so that every plate of it that stands is served inside its keep.
KitchenState::Window KitchenState::window_of(int k) const {
  Window window{-unbounded, unbounded};
  const Range feeds = component(k).feeds;
  for (int f = feeds.first; f < feeds.end(); ++f) {
    const Feed& feed = problem_->feeds[at(f)];
    const int b = plating(feed.plate);
    if (!block_in(b)) continue;
    window.low = std::max(window.low, start_[at(b)] - feed.lag_max);
    window.high = std::min(window.high, start_[at(b)] - feed.lag_min);
  }
  return window;
}

/// The start of the last plating it feeds, of those that stand; no_tick if none does.
Tick KitchenState::last_plating(int k) const {
  Tick last = no_tick;
  const Range feeds = component(k).feeds;
  for (int f = feeds.first; f < feeds.end(); ++f) {
    const int b = plating(problem_->feeds[at(f)].plate);
    if (block_in(b)) last = std::max(last, start_[at(b)]);
  }
  return last;
}

/// Puts the component where trial_ says.
void KitchenState::commit_component(int k) {
  const Component& c = component(k);
  component_in_[at(k)] = 1;
  for (int b = c.blocks.first; b < c.blocks.end(); ++b) {
    if (!pinned(b)) take(b, trial_[at(b)]);
    if (b > c.blocks.first && !(fixed_block(b) && fixed_block(b - 1))) {
      hold(block(b - 1).next.held, end(b - 1), start_[at(b)], true);
    }
  }
  const Tick last_end = end(c.blocks.end() - 1);
  held_until_[at(k)] = last_end;
  if (c.held.count == 0) return;
  held_until_[at(k)] = std::max(last_end, last_plating(k));
  hold(c.held, last_end, held_until_[at(k)], true);
}

void KitchenState::drop_component(int k) {
  const Component& c = component(k);
  component_in_[at(k)] = 0;
  if (c.held.count > 0) hold(c.held, end(c.blocks.end() - 1), held_until_[at(k)], false);
  for (int b = c.blocks.first; b < c.blocks.end(); ++b) {
    if (b > c.blocks.first && !(fixed_block(b) && fixed_block(b - 1))) {
      hold(block(b - 1).next.held, end(b - 1), start_[at(b)], false);
    }
  }
  for (int b = c.blocks.first; b < c.blocks.end(); ++b) {
    if (!pinned(b)) drop(b);
  }
}

}  // namespace nappe::plan
