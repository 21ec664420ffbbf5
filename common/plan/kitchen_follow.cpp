#include "common/plan/kitchen_follow.hpp"

#include <algorithm>
#include <functional>

namespace nappe::plan {
namespace {

std::size_t at(int index) { return static_cast<std::size_t>(index); }

}  // namespace

Tick Follower::end(int block) const { return out_.block_start[at(block)] + state_->problem().blocks[at(block)].length; }

/// What stays taken from this block's end on.
Range Follower::held_after(int block) const {
  const KitchenProblem& p = state_->problem();
  const Component& item = p.components[at(component_of_[at(block)])];
  return block + 1 < item.blocks.end() ? p.blocks[at(block)].next.held : item.held;
}

void Follower::take(Range uses, Tick from, Tick to, bool taken) {
  if (to <= from) return;
  for (int u = uses.first; u < uses.end(); ++u) {
    const Use& use = state_->problem().uses[at(u)];
    Profile& calendar = calendar_[at(use.resource)];
    taken ? calendar.place(from, to, use.units) : calendar.remove(from, to, use.units);
  }
}

/// Its plating is still to come, and not free: nothing here looks for its place.
bool Follower::wants_resources(const Plate& plate) const {
  const Block& plating = state_->problem().blocks[at(plate.block)];
  return plating.uses.count > 0 && plating.fixed_start == no_tick;
}

void Follower::choose_units() {
  const KitchenProblem& p = state_->problem();
  followed_.assign(at(state_->units()), 1);
  for (int u = 0; u < state_->units(); ++u) {
    for (int c : state_->courses_of(u)) {
      if (p.courses[at(c)].shown_meet == no_tick) followed_[at(u)] = 0;
      for (int plate : state_->plates_of(c)) {
        if (wants_resources(p.plates[at(plate)])) followed_[at(u)] = 0;
      }
    }
  }
}

void Follower::load_calendar() {
  const KitchenProblem& p = state_->problem();
  horizon_ = state_->horizon();
  calendar_.resize(p.resources.size());
  for (std::size_t r = 0; r < p.resources.size(); ++r) {
    calendar_[r].reset(p.resources[r].capacity, p.terms.now, horizon_);
  }
  for (const Outage& o : p.outages) calendar_[at(o.resource)].place(o.from, std::min(o.to, horizon_), o.units);
  component_of_.assign(p.blocks.size(), -1);
  for (std::size_t k = 0; k < p.components.size(); ++k) {
    for (int b = p.components[k].blocks.first; b < p.components[k].blocks.end(); ++b) {
      component_of_[at(b)] = static_cast<int>(k);
    }
  }
}

/// Facts, of all units: what has begun takes what it takes, and what stands on the heat keeps it until further notice.
void Follower::take_fixed() {
  const KitchenProblem& p = state_->problem();
  for (std::size_t k = 0; k < p.components.size(); ++k) {
    const Range blocks = p.components[k].blocks;
    const int unit = state_->unit_of(p.plates[at(p.feeds[at(p.components[k].feeds.first)].plate)].course);
    int last = -1;
    for (int b = blocks.first; b < blocks.end() && p.blocks[at(b)].fixed_start != no_tick; ++b) {
      out_.block_start[at(b)] = p.blocks[at(b)].fixed_start;
      for (int u = p.blocks[at(b)].uses.first; u < p.blocks[at(b)].uses.end(); ++u) {
        const Use& use = p.uses[at(u)];
        calendar_[at(use.resource)].place(end(b) - p.blocks[at(b)].length + use.from,
                                          end(b) - p.blocks[at(b)].length + use.to, use.units);
      }
      if (last >= 0) take(p.blocks[at(last)].next.held, end(last), out_.block_start[at(b)], true);
      last = b;
    }
    if (last >= 0) take(held_after(last), end(last), horizon_, true);
    if (followed_[at(unit)] != 0) queue_next(static_cast<int>(k), last < 0 ? blocks.first : last + 1);
  }
}

/// The block's turn comes by its shown start; what was never shown (one more round) comes right after the one before.
void Follower::queue_next(int component, int block) {
  const KitchenProblem& p = state_->problem();
  const Range blocks = p.components[at(component)].blocks;
  if (block >= blocks.end()) return;
  Tick shown = aim_[at(block)];
  if (shown == no_tick) {
    shown = p.terms.now;
    if (block > blocks.first) shown = end(block - 1) + p.blocks[at(block - 1)].next.lag_min;
  }
  ready_.push_back({shown, block});
  std::push_heap(ready_.begin(), ready_.end(), std::greater<>());
}

bool Follower::place(int b) {
  const KitchenProblem& p = state_->problem();
  const Block& item = p.blocks[at(b)];
  const Range blocks = p.components[at(component_of_[at(b)])].blocks;
  Tick from = std::max(p.terms.now, item.release == no_tick ? p.terms.now : item.release);
  if (aim_[at(b)] != no_tick) from = std::max(from, aim_[at(b)]);
  const bool first = b == blocks.first;
  if (!first) {
    from = std::max(from, end(b - 1) + p.blocks[at(b - 1)].next.lag_min);
    take(held_after(b - 1), end(b - 1), horizon_, false);
  }
  for (bool fits = false; !fits && from + item.length <= horizon_;) {
    fits = true;
    for (int u = item.uses.first; u < item.uses.end(); ++u) {
      const Use& use = p.uses[at(u)];
      const Tick full = calendar_[at(use.resource)].last_full(from + use.from, from + use.to, use.units);
      if (full < from + use.from) continue;
      from = full + 1 - use.from;
      fits = false;
    }
  }
  if (from + item.length > horizon_) {
    if (!first) take(held_after(b - 1), end(b - 1), horizon_, true);
    return false;
  }
  if (!first) take(held_after(b - 1), end(b - 1), from, true);
  out_.block_start[at(b)] = from;
  for (int u = item.uses.first; u < item.uses.end(); ++u) {
    const Use& use = p.uses[at(u)];
    calendar_[at(use.resource)].place(from + use.from, from + use.to, use.units);
  }
  take(held_after(b), end(b), horizon_, true);
  queue_next(component_of_[at(b)], b + 1);
  return true;
}

void Follower::set_meets() {
  const KitchenProblem& p = state_->problem();
  for (std::size_t c = 0; c < p.courses.size(); ++c) {
    if (followed_[at(state_->unit_of(static_cast<int>(c)))] == 0) continue;
    const Tick soonest = std::max(p.terms.now, p.courses[c].wanted - p.courses[c].early_max);
    Tick meet = p.terms.now - horizon_;
    bool open = false;
    for (int plate : state_->plates_of(static_cast<int>(c))) {
      const Block& plating = p.blocks[at(p.plates[at(plate)].block)];
      const bool begun = plating.fixed_start != no_tick;
      meet = std::max(meet, begun ? plating.fixed_start + plating.length : soonest);
      if (begun) continue;
      open = true;
      for (int f : state_->feeds_of(plate)) {
        const Range blocks = p.components[at(state_->component_of_feed(f))].blocks;
        if (blocks.count == 0) continue;
        meet = std::max(meet, end(blocks.end() - 1) + p.feeds[at(f)].lag_min + plating.length);
      }
    }
    const Course& course = p.courses[c];
    if (!open && course.shown_meet != no_tick) {
      // It has met; only a change of what is wanted gives it another meet.
      meet = course.changed ? std::max(meet, course.wanted - course.early_max) : course.shown_meet;
    }
    out_.meet[c] = meet;
    for (int plate : state_->plates_of(static_cast<int>(c))) {
      const int b = p.plates[at(plate)].block;
      const Block& plating = p.blocks[at(b)];
      out_.block_start[at(b)] = plating.fixed_start != no_tick ? plating.fixed_start : meet - plating.length;
    }
  }
}

void Follower::reset(const KitchenState& state) {
  state_ = &state;
  const KitchenProblem& p = state.problem();
  out_.block_start.assign(p.blocks.size(), p.terms.now);
  out_.meet.assign(p.courses.size(), p.terms.now);
  out_.pull.assign(p.courses.size(), -1);
  aim_.assign(p.blocks.size(), no_tick);
  followed_.assign(at(state.units()), 1);
}

/// Places everything in the order of its aims.
bool Follower::pass() {
  ready_.clear();
  stuck_.clear();
  load_calendar();
  take_fixed();
  while (!ready_.empty()) {
    std::pop_heap(ready_.begin(), ready_.end(), std::greater<>());
    const Next next = ready_.back();
    ready_.pop_back();
    if (!place(next.block)) {
      stuck_.push_back(next);
      continue;
    }
    // What a resting pan held may be free now.
    for (const Next& again : stuck_) {
      ready_.push_back(again);
      std::push_heap(ready_.begin(), ready_.end(), std::greater<>());
    }
    stuck_.clear();
  }
  if (!stuck_.empty()) return false;
  set_meets();
  return true;
}

/// Nobody has to do anything at another time than was shown.
bool Follower::as_shown() const {
  const KitchenProblem& p = state_->problem();
  for (int u = 0; u < state_->units(); ++u) {
    if (followed_[at(u)] == 0) continue;
    for (int c : state_->courses_of(u)) {
      const Course& course = p.courses[at(c)];
      if (course.anew || course.changed || out_.meet[at(c)] > course.shown_meet) return false;
    }
    for (int k : state_->components_of(u)) {
      for (int b = p.components[at(k)].blocks.first; b < p.components[at(k)].blocks.end(); ++b) {
        const Block& block = p.blocks[at(b)];
        if (block.fixed_start == no_tick && out_.block_start[at(b)] != block.shown_start) return false;
      }
    }
  }
  return true;
}

void Follower::keep_meets() {
  const KitchenProblem& p = state_->problem();
  for (std::size_t c = 0; c < p.courses.size(); ++c) {
    if (followed_[at(state_->unit_of(static_cast<int>(c)))] == 0) continue;
    out_.meet[c] = p.courses[c].shown_meet;
    out_.pull[c] = p.courses[c].shown_pull;
    for (int plate : state_->plates_of(static_cast<int>(c))) {
      const int b = p.plates[at(plate)].block;
      const Block& plating = p.blocks[at(b)];
      if (plating.fixed_start == no_tick) out_.block_start[at(b)] = plating.shown_start;
    }
  }
}

bool Follower::run(const KitchenState& state) {
  reset(state);
  choose_units();
  const KitchenProblem& p = state.problem();
  for (std::size_t b = 0; b < p.blocks.size(); ++b) aim_[b] = p.blocks[b].shown_start;
  if (!pass()) return false;
  moved_ = !as_shown();
  if (!moved_) keep_meets();
  return true;
}

/// The soonest meet of each course if nobody else were there.
void Follower::aim_alone() {
  const KitchenProblem& p = state_->problem();
  for (std::size_t c = 0; c < p.courses.size(); ++c) {
    out_.meet[c] = std::max(p.terms.now, p.courses[c].wanted - p.courses[c].early_max);
  }
  for (const Component& item : p.components) {
    Tick ready = p.terms.now;
    for (int b = item.blocks.first; b < item.blocks.end(); ++b) {
      const Block& block = p.blocks[at(b)];
      const Tick start = block.fixed_start != no_tick ? block.fixed_start : ready;
      ready = start + block.length;
      if (b + 1 < item.blocks.end()) ready = std::max(p.terms.now, ready + block.next.lag_min);
    }
    for (int f = item.feeds.first; f < item.feeds.end(); ++f) {
      const Feed& feed = p.feeds[at(f)];
      const Plate& plate = p.plates[at(feed.plate)];
      Tick& meet = out_.meet[at(plate.course)];
      meet = std::max(meet, ready + feed.lag_min + p.blocks[at(plate.block)].length);
    }
  }
}

/// Backwards from the meets: what can be begun no later.
void Follower::aim_at_meets() {
  const KitchenProblem& p = state_->problem();
  for (const Component& item : p.components) {
    Tick target = horizon_;
    for (int f = item.feeds.first; f < item.feeds.end(); ++f) {
      const Feed& feed = p.feeds[at(f)];
      const Plate& plate = p.plates[at(feed.plate)];
      target = std::min(target, out_.meet[at(plate.course)] - p.blocks[at(plate.block)].length - feed.lag_min);
    }
    for (int b = item.blocks.end() - 1; b >= item.blocks.first; --b) {
      const Block& block = p.blocks[at(b)];
      const Tick start = target - block.length;
      const bool told = block.shown_start != no_tick && block.shown_start < p.terms.frozen_until;
      aim_[at(b)] = told ? std::max(start, block.shown_start) : start;
      if (b > item.blocks.first) target = start - p.blocks[at(b - 1)].next.lag_min;
    }
  }
}

bool Follower::dispatch(const KitchenState& state) {
  reset(state);
  const std::vector<Plate>& plates = state.problem().plates;
  if (std::any_of(plates.begin(), plates.end(), [&](const Plate& plate) { return wants_resources(plate); }))
    return false;
  horizon_ = state.horizon();
  aim_alone();
  aim_at_meets();
  return pass();
}

}  // namespace nappe::plan
