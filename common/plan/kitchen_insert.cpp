// How a course is put in: its meet is searched outward from the wanted one in the order of the meet's own price; at
// each candidate the platings come first, then the components, the one that failed last before the others.

#include <algorithm>
#include <cstdlib>

#include "common/plan/kitchen_state.hpp"

namespace nappe::plan {
namespace {

constexpr Tick unbounded = 1 << 28;

std::size_t at(int index) { return static_cast<std::size_t>(index); }

}  // namespace

/// The meets that facts, courses already placed and the terms leave.
KitchenState::Window KitchenState::meets_allowed(int c, const Manner& manner) const {
  const Course& t = course(c);
  Window allowed{std::max(t.wanted - t.early_max, problem_->terms.now), horizon_};
  const Tick spread = manner.relaxed ? unbounded : t.spread_max;
  for (int plate : course_plates_.of(c)) {
    const int b = plating(plate);
    const Tick length = block(b).length;
    if (pinned(b)) {
      allowed.low = std::max(allowed.low, end(b));
      allowed.high = std::min(allowed.high, end(b) + spread);
      continue;
    }
    for (int f : plate_feeds_.of(plate)) {
      const int k = component_of_feed_[at(f)];
      const int last = component(k).blocks.end() - 1;
      if (component(k).blocks.count == 0 || !(component_in_[at(k)] != 0 || pinned(last))) continue;
      const Feed& feed = problem_->feeds[at(f)];
      allowed.low = std::max(allowed.low, end(last) + feed.lag_min + length);
      if (!manner.relaxed) allowed.high = std::min(allowed.high, end(last) + feed.lag_max + length + spread);
    }
  }
  return allowed;
}

/// When a plating may start for this meet.
KitchenState::Window KitchenState::plating_window(int plate, Tick meet, const Manner& manner) const {
  const int b = plating(plate);
  const Tick length = block(b).length;
  const Tick spread = manner.relaxed ? unbounded : course(problem_->plates[at(plate)].course).spread_max;
  Window window{std::max(earliest(b), meet - spread - length), meet - length};
  for (int f : plate_feeds_.of(plate)) {
    const int k = component_of_feed_[at(f)];
    if (component_in_[at(k)] == 0) continue;
    const Feed& feed = problem_->feeds[at(f)];
    const Tick ready = end(component(k).blocks.end() - 1);
    window.low = std::max(window.low, ready + feed.lag_min);
    if (!manner.relaxed) window.high = std::min(window.high, ready + feed.lag_max);
  }
  return window;
}

bool KitchenState::place_platings(int c, Tick meet, const Manner& manner, Attempt& attempt) {
  const auto plates = course_plates_.of(c);
  if (manner.random != nullptr && plates.size() > 1) {
    for (std::size_t i = plates.size(); i > 1; --i) {
      std::swap(plates[i - 1], plates[at(manner.random->below(static_cast<int>(i)))]);
    }
  }
  attempt.later = meet + 1;
  attempt.sooner = meet - 1;
  for (int plate : plates) {
    const int b = plating(plate);
    if (pinned(b)) {
      const bool inside = end(b) <= meet && (manner.relaxed || meet - end(b) <= course(c).spread_max);
      if (!inside) return false;
      attempt.cost += course(c).price_spread * (meet - end(b));
      if (meet - end(b) > course(c).spread_max) attempt.cost += broken_price(meet - end(b) - course(c).spread_max);
      continue;
    }
    const Window window = plating_window(plate, meet, manner);
    Tick start = fit_latest(b, window.high - extra_[at(b)], window.low);
    if (start == no_tick && extra_[at(b)] > 0) start = fit_latest(b, window.high, window.low);
    if (start == no_tick) return false;
    take(b, start);
    new_plates_.push_back(plate);
    const Tick wait = meet - end(b);
    attempt.cost += course(c).price_spread * wait + block_cost(b);
    if (wait > course(c).spread_max) attempt.cost += broken_price(wait - course(c).spread_max);
  }
  return true;
}

/// Equipment held by pans that stand already (another course put them in) stays taken until this course's platings.
bool KitchenState::extend_holds(int c, bool relaxed) {
  for (int k : course_components_.of(c)) {
    const Component& item = component(k);
    if (component_in_[at(k)] == 0 || item.held.count == 0) continue;
    Tick until = held_until_[at(k)];
    for (int f = item.feeds.first; f < item.feeds.end(); ++f) {
      const int b = plating(problem_->feeds[at(f)].plate);
      if (block_in(b)) until = std::max(until, start_[at(b)]);
    }
    if (until == held_until_[at(k)]) continue;
    const bool forced = relaxed && fixed_block(item.blocks.end() - 1);
    if (!forced && !hold_free(item.held, held_until_[at(k)], until)) return false;
    extensions_.push_back({k, held_until_[at(k)]});
    hold(item.held, held_until_[at(k)], until, true);
    held_until_[at(k)] = until;
  }
  return true;
}

/// The cheaper of two ways to put in a component that no longer fits: its keep broken, or a lag inside it.
bool KitchenState::place_broken(int k, Window window) {
  const Component& item = component(k);
  const int first = item.blocks.first;
  const int last = item.blocks.end() - 1;
  const bool forced = fixed_block(last);
  const auto placed_as = [&](bool relaxed) {
    const Tick ready = chain_end(first, last, {-unbounded, window.high}, relaxed);
    if (ready == no_tick) return false;
    if (!forced && !hold_free(item.held, ready, last_plating(k))) return false;
    commit_component(k);
    return true;
  };
  Price keep_broken = no_price;
  if (placed_as(false)) {
    if (!pinned(first)) return true;  // nothing of it has begun: a lag inside need not break
    keep_broken = component_cost(k, -1, true);
    drop_component(k);
  }
  if (placed_as(true)) {
    if (component_cost(k, -1, true) < keep_broken) return true;
    drop_component(k);
  }
  return keep_broken < no_price && placed_as(false);
}

bool KitchenState::place_component(int k, const Manner& manner, Attempt& attempt, Tick meet) {
  const Component& item = component(k);
  const int first = item.blocks.first;
  const int last = item.blocks.end() - 1;
  const Window window = window_of(k);
  const Tick stretch = std::clamp(window.high - window.low, 0, extra_[at(last)]);
  const Tick floor = want_sooner_ ? -unbounded : window.low;
  const Tick ready = chain_end(first, last, {floor, window.high - stretch}, false);
  const bool in_window = ready != no_tick && ready >= window.low;
  if (in_window && (item.held.count == 0 || hold_free(item.held, ready, last_plating(k)))) {
    commit_component(k);
  } else if (manner.relaxed && attempt.cost + broken_price(1) >= bound_) {
    return false;  // possible perhaps, but of no use
  } else if (!manner.relaxed || !place_broken(k, window)) {
    attempt.blocker = k;
    attempt.sooner = ready == no_tick ? no_tick : meet + std::min(-1, ready - window.low);
    const Tick next = want_later_ ? next_end(k, window.high, manner.relaxed) : no_tick;
    attempt.later = next == no_tick ? no_tick : meet + std::max(1, next - window.high);
    return false;
  }
  new_components_.push_back(k);
  return true;
}

/// Tries one meet. Leaves what it placed in the calendar when it fits (undo_course takes it out), nothing otherwise.
KitchenState::Attempt KitchenState::place_at(int c, Tick meet, const Manner& manner, Price bound) {
  Attempt attempt;
  new_plates_.clear();
  new_components_.clear();
  extensions_.clear();
  attempt.cost = meet_price(c, meet);
  bound_ = bound;
  bool good = place_platings(c, meet, manner, attempt) && extend_holds(c, manner.relaxed);
  const auto components = course_components_.of(c);
  for (std::size_t i = 0; good && i < components.size(); ++i) {
    const int k = components[i];
    if (component_in_[at(k)] != 0) {
      attempt.cost += component_cost(k, c, false);
    } else if (place_component(k, manner, attempt, meet)) {
      attempt.cost += component_cost(k, -1, true);
    } else {
      attempt.crowded = i > 0;
      std::rotate(components.begin(), components.begin() + static_cast<std::ptrdiff_t>(i),
                  components.begin() + static_cast<std::ptrdiff_t>(i) + 1);
      good = false;
    }
    if (attempt.cost >= bound) good = false;  // possible, but of no use
  }
  attempt.fits = good;
  if (!good) undo_course();
  return attempt;
}

void KitchenState::undo_course() {
  for (int k : new_components_) drop_component(k);
  for (const Extension& e : extensions_) {
    hold(component(e.component).held, e.until, held_until_[at(e.component)], false);
    held_until_[at(e.component)] = e.until;
  }
  for (int plate : new_plates_) drop(plating(plate));
  new_components_.clear();
  new_plates_.clear();
  extensions_.clear();
}

void KitchenState::remember_best(Tick meet, int blocker) {
  best_.clear();
  best_components_.assign(new_components_.begin(), new_components_.end());
  best_meet_ = meet;
  best_pull_ = blocker;
  for (int plate : new_plates_) best_.emplace_back(plating(plate), start_[at(plating(plate))]);
  for (int k : new_components_) {
    for (int b = component(k).blocks.first; b < component(k).blocks.end(); ++b) best_.emplace_back(b, start_[at(b)]);
  }
}

void KitchenState::recall_best(int c) {
  for (const auto& [b, start] : best_) trial_[at(b)] = start;
  for (int plate : course_plates_.of(c)) {
    if (!block_in(plating(plate))) take(plating(plate), trial_[at(plating(plate))]);
  }
  extensions_.clear();
  extend_holds(c, true);
  for (int k : best_components_) commit_component(k);
  meet_[at(c)] = best_meet_;
  pull_[at(c)] = best_pull_ >= 0 ? best_pull_ : fallback_pull(c);
}

/// The component with the least time in hand before its first move that has not begun.
int KitchenState::fallback_pull(int c) const {
  int pull = -1;
  Tick soonest = unbounded;
  for (int k : course_components_.of(c)) {
    for (int b = component(k).blocks.first; b < component(k).blocks.end(); ++b) {
      if (fixed_block(b)) continue;
      if (start_[at(b)] < soonest || (start_[at(b)] == soonest && k < pull)) {
        soonest = start_[at(b)];
        pull = k;
      }
      break;
    }
  }
  if (pull >= 0) return pull;
  Tick last = -unbounded;
  for (int k : course_components_.of(c)) {  // all has begun: what is ready last
    const Tick ready = end(component(k).blocks.end() - 1);
    if (ready > last) {
      last = ready;
      pull = k;
    }
  }
  return pull;
}

void KitchenState::draw_stretches(int c, const Manner& manner) {
  if (manner.random == nullptr) return;
  const auto draw = [&](Tick room) {
    return room > 0 && manner.random->percent(manner.stretch_percent) ? manner.random->below(room + 1) : 0;
  };
  for (int plate : course_plates_.of(c)) extra_[at(plating(plate))] = draw(course(c).spread_max);
  for (int k : course_components_.of(c)) {
    const Component& item = component(k);
    for (int b = item.blocks.first; b < item.blocks.end() - 1; ++b) {
      extra_[at(b)] = draw(block(b).next.lag_max - block(b).next.lag_min);
    }
    const Feed& feed = problem_->feeds[at(item.feeds.first)];
    extra_[at(item.blocks.end() - 1)] = draw(feed.lag_max - feed.lag_min);
  }
}

bool KitchenState::insert_course(int c, const Manner& manner) {
  const Course& t = course(c);
  const Window allowed = meets_allowed(c, manner);
  draw_stretches(c, manner);
  Tick late = std::max(t.wanted, allowed.low);
  Tick early = std::min(t.wanted - 1, allowed.high);
  bool late_open = late <= allowed.high;
  bool early_open = early >= allowed.low;
  Price best = manner.bound;
  bool found = false;
  int possible = 0;
  int blocker = -1;
  Tick stride = 1;
  const auto attempt_at = [&](Tick meet) {
    Attempt attempt = place_at(c, meet, manner, best);
    if (!attempt.fits) return attempt;
    ++possible;
    best = attempt.cost;
    found = true;
    remember_best(meet, meet == t.wanted ? -1 : blocker);
    undo_course();
    attempt.later = meet + stride;
    attempt.sooner = meet - stride;
    if (manner.relaxed) stride *= 2;
    return attempt;
  };
  if (manner.random == nullptr && t.shown_meet != no_tick && t.shown_meet >= allowed.low &&
      t.shown_meet <= allowed.high) {
    want_later_ = false;
    want_sooner_ = false;
    attempt_at(t.shown_meet);
    stride = 1;
  }
  int failures = 0;
  int again = 0;  // tries of one meet in another order
  while ((late_open || early_open) && possible < manner.meets_max && failures < manner.failures_max) {
    const Price late_price = late_open ? meet_price(c, late) : no_price;
    const Price early_price = early_open ? meet_price(c, early) : no_price;
    if (std::min(late_price, early_price) >= best) break;
    const bool go_late = late_price <= early_price;
    const Tick meet = go_late ? late : early;
    want_later_ = go_late;
    want_sooner_ = !go_late || meet == t.wanted;
    Attempt attempt = attempt_at(meet);
    if (attempt.blocker >= 0) blocker = attempt.blocker;
    if (!attempt.fits && attempt.blocker >= 0) {
      ++failures;
      if (attempt.crowded && !manner.relaxed && ++again <= 2) continue;  // the blocker goes first now
    }
    if (!attempt.fits && attempt.blocker < 0 && manner.relaxed) {
      // Possible perhaps, but too dear: the next tick hardly differs.
      ++failures;
      attempt.later = meet + stride;
      attempt.sooner = meet - stride;
      stride *= 2;
    }
    again = 0;
    if (go_late) {
      late = attempt.later;
      late_open = late != no_tick && late <= allowed.high;
      if (meet == t.wanted && !attempt.fits) early = std::min(early, attempt.sooner);  // no_tick is the least of all
    } else {
      early = attempt.sooner;
    }
    early_open = early != no_tick && early >= allowed.low;
  }
  if (found) recall_best(c);
  return found;
}

bool KitchenState::insert(int unit, const Manner& manner) {
  if (manner.thawed) thaw(unit);
  const auto courses = unit_courses_.of(unit);
  order_.assign(courses.begin(), courses.end());
  if (manner.random != nullptr) manner.random->shuffle(order_);
  Manner rest = manner;
  std::size_t done = 0;
  for (; done < order_.size(); ++done) {
    if (!insert_course(order_[done], rest)) break;
    Price so_far = 0;
    if (manner.bound < no_price && order_.size() > 1) {
      for (std::size_t i = 0; i <= done; ++i) so_far += meet_price(order_[i], meet_[at(order_[i])]);
      rest.bound = manner.bound - so_far;
    }
  }
  if (manner.random != nullptr) {
    for (int b : unit_blocks_.of(unit)) extra_[at(b)] = 0;
  }
  unit_in_[at(unit)] = 1;
  if (done == order_.size()) return true;
  remove(unit);
  return false;
}

}  // namespace nappe::plan
