// What stands in the calendar: its price, taking units and components out, putting them where they were or where the
// plan in force has them, and the whole as a schedule.

#include <algorithm>

#include "common/plan/kitchen_state.hpp"

namespace nappe::plan {
namespace {

std::size_t at(int index) { return static_cast<std::size_t>(index); }

}  // namespace

Price KitchenState::meet_price(int c, Tick meet) const {
  const Course& t = course(c);
  if (meet < t.wanted) return t.price_early * (t.wanted - meet);
  const Tick late = meet - t.wanted;
  return t.price_late * late + t.price_late_more * std::max(0, late - t.late_after);
}

Price KitchenState::broken_price(Tick by) const {
  return problem_->terms.price_break + problem_->terms.price_break_tick * by;
}

Price KitchenState::block_cost(int b) const {
  return block(b).fixed_start != no_tick ? 0 : start_price(b, start_[at(b)]);
}

/// What a component as placed costs: on the plates of one course (-1: of all), with or without its own lags.
Price KitchenState::component_cost(int k, int only_course, bool inner) const {
  const Component& c = component(k);
  const int last = c.blocks.end() - 1;
  Price sum = 0;
  for (int b = c.blocks.first; inner && b <= last; ++b) {
    sum += block_cost(b);
    if (b == last || (fixed_block(b) && fixed_block(b + 1))) continue;
    const Link& link = block(b).next;
    const Tick lag = start_[at(b + 1)] - end(b);
    sum += link.price_stand * std::max(0, lag - link.lag_min);
    if (lag > link.lag_max) sum += broken_price(lag - link.lag_max);
  }
  for (int f = c.feeds.first; f < c.feeds.end(); ++f) {
    const Feed& feed = problem_->feeds[at(f)];
    const int b = plating(feed.plate);
    const bool counts = only_course < 0 || problem_->plates[at(feed.plate)].course == only_course;
    if (!counts || !block_in(b) || (fixed_block(last) && fixed_block(b))) continue;
    const Tick lag = start_[at(b)] - end(last);
    sum += feed.price_stand * std::max(0, lag - feed.lag_min);
    if (lag > feed.lag_max) sum += broken_price(lag - feed.lag_max);
  }
  return sum;
}

bool KitchenState::overdraws(int unit) const {
  const auto over = [&](Range held, Tick from, Tick to) {
    for (int u = held.first; u < held.end(); ++u) {
      if (calendar_[at(problem_->uses[at(u)].resource)].overdrawn(from, to)) return true;
    }
    return false;
  };
  for (int k : unit_components_.of(unit)) {
    const Component& c = component(k);
    const int last = c.blocks.end() - 1;
    for (int b = c.blocks.first; b < last; ++b) {
      const bool forced = fixed_block(b) && !fixed_block(b + 1);
      if (forced && over(block(b).next.held, end(b), start_[at(b + 1)])) return true;
    }
    if (fixed_block(last) && over(c.held, end(last), held_until_[at(k)])) return true;
  }
  return false;
}

Price KitchenState::cost(int unit) const {
  Price sum = 0;
  for (int c : unit_courses_.of(unit)) {
    sum += meet_price(c, meet_[at(c)]);
    for (int plate : course_plates_.of(c)) {
      const Tick wait = meet_[at(c)] - end(plating(plate));
      sum += course(c).price_spread * std::max(0, wait) + block_cost(plating(plate));
      if (wait > course(c).spread_max) sum += broken_price(wait - course(c).spread_max);
    }
  }
  for (int k : unit_components_.of(unit)) sum += component_cost(k, -1, true);
  return sum;
}

void KitchenState::remove(int unit) {
  for (int k : unit_components_.of(unit)) {
    if (component_in_[at(k)] != 0) drop_component(k);
  }
  for (int c : unit_courses_.of(unit)) {
    for (int plate : course_plates_.of(c)) {
      const int b = plating(plate);
      if (!pinned(b) && block_in(b)) drop(b);
    }
  }
  unit_in_[at(unit)] = 0;
  freeze(unit);
}

void KitchenState::thaw(int unit) {
  for (int b : unit_frozen_.of(unit)) {
    if (pin_[at(b)] != frozen_here) continue;
    drop(b);
    pin_[at(b)] = movable;
  }
}

void KitchenState::freeze(int unit) {
  for (int b : unit_frozen_.of(unit)) {
    const Tick start = std::max(block(b).shown_start, problem_->terms.now);
    if (pinned(b) || start < earliest(b) || !fits_at(b, start)) continue;
    pin_[at(b)] = frozen_here;
    take(b, start);
  }
}

bool KitchenState::component_pinned(int k) const {
  const Range blocks = component(k).blocks;
  for (int b = blocks.first; b < blocks.end(); ++b) {
    if (!pinned(b)) return false;
  }
  return true;
}

bool KitchenState::fit_plating(int plate, Tick latest_end) {
  const int b = plating(plate);
  const int c = problem_->plates[at(plate)].course;
  const Window window = plating_window(plate, meet_[at(c)], {});
  const Tick start = fit_latest(b, std::min(window.high, latest_end - block(b).length), window.low);
  if (start == no_tick) return false;
  take(b, start);
  return true;
}

/// Appends.
void KitchenState::save_component(int k, std::vector<Tick>& starts) const {
  for (int b = component(k).blocks.first; b < component(k).blocks.end(); ++b) starts.push_back(start_[at(b)]);
}

void KitchenState::restore_component(int k, std::span<const Tick> starts) {
  const Range blocks = component(k).blocks;
  for (int b = blocks.first; b < blocks.end(); ++b) trial_[at(b)] = starts[at(b - blocks.first)];
  commit_component(k);
}

void KitchenState::save(int unit, Saved& saved) const {
  saved.unit = unit;
  saved.starts.clear();
  saved.pins.clear();
  saved.meets.clear();
  saved.pulls.clear();
  for (int b : unit_blocks_.of(unit)) {
    saved.starts.push_back(start_[at(b)]);
    saved.pins.push_back(pin_[at(b)]);
  }
  for (int c : unit_courses_.of(unit)) {
    saved.meets.push_back(meet_[at(c)]);
    saved.pulls.push_back(pull_[at(c)]);
  }
}

void KitchenState::restore(const Saved& saved) {
  thaw(saved.unit);
  const auto blocks = unit_blocks_.of(saved.unit);
  for (std::size_t i = 0; i < blocks.size(); ++i) {
    trial_[at(blocks[i])] = saved.starts[i];
    if (saved.pins[i] != frozen_here) continue;
    pin_[at(blocks[i])] = frozen_here;
    take(blocks[i], saved.starts[i]);
  }
  const auto courses = unit_courses_.of(saved.unit);
  for (std::size_t i = 0; i < courses.size(); ++i) {
    meet_[at(courses[i])] = saved.meets[i];
    pull_[at(courses[i])] = saved.pulls[i];
    for (int plate : course_plates_.of(courses[i])) {
      const int b = plating(plate);
      if (!block_in(b)) take(b, trial_[at(b)]);
    }
  }
  for (int k : unit_components_.of(saved.unit)) commit_component(k);
  unit_in_[at(saved.unit)] = 1;
}

void KitchenState::adopt(int unit, const Schedule& given, bool pin_frozen) {
  Saved saved;
  saved.unit = unit;
  for (int b : unit_blocks_.of(unit)) {
    const Tick start = given.block_start[at(b)];
    const bool is_frozen = !fixed_block(b) && block(b).shown_start != no_tick &&
                           block(b).shown_start < problem_->terms.frozen_until &&
                           start == std::max(block(b).shown_start, problem_->terms.now);
    saved.starts.push_back(start);
    saved.pins.push_back(is_frozen && pin_frozen ? frozen_here : movable);
  }
  for (int c : unit_courses_.of(unit)) {
    saved.meets.push_back(given.meet[at(c)]);
    saved.pulls.push_back(given.pull.empty() ? -1 : given.pull[at(c)]);
  }
  restore(saved);
}

/// The plan in force keeps every lag's minimum and starts nothing in the past. (Whether it fits is asked while
/// placing.)
bool KitchenState::shown_holds(int unit) const {
  const auto shown = [&](int b) { return fixed_block(b) ? start_[at(b)] : block(b).shown_start; };
  for (int c : unit_courses_.of(unit)) {
    if (course(c).changed || course(c).shown_meet == no_tick) return false;
  }
  for (int b : unit_blocks_.of(unit)) {
    if (!fixed_block(b) && (block(b).shown_start == no_tick || block(b).shown_start < earliest(b))) return false;
  }
  for (int c : unit_courses_.of(unit)) {
    for (int plate : course_plates_.of(c)) {
      const int b = plating(plate);
      if (shown(b) + block(b).length > course(c).shown_meet) return false;
    }
  }
  for (int k : unit_components_.of(unit)) {
    const Component& item = component(k);
    const int last = item.blocks.end() - 1;
    for (int b = item.blocks.first; b < last; ++b) {
      if (fixed_block(b + 1)) continue;
      if (shown(b) + block(b).length + block(b).next.lag_min > shown(b + 1)) return false;
    }
    for (int f = item.feeds.first; f < item.feeds.end(); ++f) {
      const int b = plating(problem_->feeds[at(f)].plate);
      if (!fixed_block(b) && shown(last) + block(last).length + problem_->feeds[at(f)].lag_min > shown(b)) return false;
    }
  }
  return true;
}

bool KitchenState::keep(int unit) {
  if (!shown_holds(unit)) return false;
  for (int b : unit_frozen_.of(unit)) {
    if (!pinned(b)) return false;
  }
  bool good = true;
  for (int c : unit_courses_.of(unit)) {
    for (int plate : course_plates_.of(c)) {
      const int b = plating(plate);
      if (!good || pinned(b)) continue;
      good = fits_at(b, block(b).shown_start);
      if (good) take(b, block(b).shown_start);
    }
  }
  for (int k : unit_components_.of(unit)) {
    good = good && shown_fits(k);
    if (good) commit_component(k);
  }
  if (!good) {
    remove(unit);
    return false;
  }
  for (int c : unit_courses_.of(unit)) {
    meet_[at(c)] = course(c).shown_meet;
    pull_[at(c)] = course(c).shown_pull;
  }
  unit_in_[at(unit)] = 1;
  return true;
}

/// Blocks and held equipment of a component are free where the plan in force has them; puts the starts into trial_.
bool KitchenState::shown_fits(int k) {
  const Component& item = component(k);
  for (int b = item.blocks.first; b < item.blocks.end(); ++b) {
    trial_[at(b)] = pinned(b) ? start_[at(b)] : block(b).shown_start;
    if (!pinned(b) && !fits_at(b, trial_[at(b)])) return false;
    if (b == item.blocks.first || (fixed_block(b) && fixed_block(b - 1))) continue;
    if (!hold_free(block(b - 1).next.held, trial_[at(b - 1)] + block(b - 1).length, trial_[at(b)])) return false;
  }
  if (item.held.count == 0) return true;
  const int last = item.blocks.end() - 1;
  Tick until = trial_[at(last)] + block(last).length;
  for (int f = item.feeds.first; f < item.feeds.end(); ++f) {
    until = std::max(until, start_[at(plating(problem_->feeds[at(f)].plate))]);
  }
  return hold_free(item.held, trial_[at(last)] + block(last).length, until);
}

Schedule KitchenState::schedule() const {
  Schedule result;
  result.block_start = start_;
  result.meet = meet_;
  result.pull = pull_;
  result.pull_block.assign(pull_.size(), -1);
  for (std::size_t c = 0; c < pull_.size(); ++c) {
    if (result.pull[c] < 0 || result.pull[c] >= static_cast<int>(problem_->components.size())) {
      result.pull[c] = fallback_pull(static_cast<int>(c));
    }
    if (result.pull[c] < 0) continue;
    const Range blocks = component(result.pull[c]).blocks;
    for (int b = blocks.first; b < blocks.end(); ++b) {
      if (fixed_block(b)) continue;
      result.pull_block[c] = b;
      break;
    }
  }
  price_schedule(*problem_, result);
  return result;
}

}  // namespace nappe::plan
