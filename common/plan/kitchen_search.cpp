#include "common/plan/kitchen_search.hpp"

#include <algorithm>
#include <cstdlib>
#include <numeric>

namespace nappe::plan {
namespace {

constexpr Price warmest = 3000;  ///< Prices above (broken windows) do not heat the search.

std::size_t at(int index) { return static_cast<std::size_t>(index); }

}  // namespace

/// One unit of the pool, the dearer the likelier.
int KitchenSearch::draw_by_cost(SplitMix& random) const {
  const auto size = static_cast<int>(pool_.size());
  if (current_ <= 0 || random.percent(20)) return random.below(size);
  auto ticket = static_cast<Price>(random.next() % static_cast<std::uint64_t>(current_));
  for (int i = 0; i < size; ++i) {
    ticket -= costs_[at(i)];
    if (ticket < 0) return i;
  }
  return size - 1;
}

/// What to take out: one unit and up to five whose wanted meets are near.
void KitchenSearch::choose(SplitMix& random) {
  const int centre = draw_by_cost(random);
  const Tick wanted = state_->wanted(pool_[at(centre)]);
  near_.resize(pool_.size());
  std::iota(near_.begin(), near_.end(), 0);
  near_.erase(near_.begin() + centre);
  const auto others = std::min(near_.size(), at(random.below(6)));
  const auto candidates = std::min(near_.size(), others + others / 2 + 1);
  // Who wants to meet then, and who does meet then.
  const auto distance = [&](int i) {
    const int unit = pool_[at(i)];
    const Tick meets = state_->meet(state_->courses_of(unit)[0]);
    return std::pair(std::min(std::abs(state_->wanted(unit) - wanted), std::abs(meets - wanted)), i);
  };
  std::partial_sort(near_.begin(), near_.begin() + static_cast<std::ptrdiff_t>(candidates), near_.end(),
                    [&](int a, int b) { return distance(a) < distance(b); });
  near_.resize(candidates);
  random.shuffle(near_);
  near_.resize(others);
  out_.assign(1, centre);
  out_.insert(out_.end(), near_.begin(), near_.end());
}

/// Puts in what is out; false when that is impossible or costs `allowed` or more (some may be in then).
bool KitchenSearch::reinsert(SplitMix& random, Price allowed, Price& cost) {
  Manner manner;
  manner.random = &random;
  manner.stretch_percent = random.percent(50) ? 25 : 0;
  manner.meets_max = 8;
  manner.failures_max = 12;
  cost = 0;
  new_costs_.assign(out_.size(), 0);
  for (std::size_t i = 0; i < out_.size(); ++i) {
    const int unit = pool_[at(out_[i])];
    manner.bound = allowed - cost;
    if (!state_->insert(unit, manner)) return false;
    new_costs_[i] = state_->cost(unit);
    cost += new_costs_[i];
    if (cost >= allowed) return false;
  }
  return true;
}

void KitchenSearch::remember() {
  best_.resize(pool_.size());
  for (std::size_t i = 0; i < pool_.size(); ++i) state_->save(pool_[i], best_[i]);
  best_costs_ = costs_;
}

void KitchenSearch::return_to_best() {
  if (at_best_) return;
  for (int unit : pool_) state_->remove(unit);
  for (const auto& saved : best_) state_->restore(saved);
  costs_ = best_costs_;
  current_ = lowest_;
  at_best_ = true;
}

/// One try; a result up to `slack` dearer is accepted too.
void KitchenSearch::step(SplitMix& random, Price slack) {
  choose(random);
  const int order = random.below(3);
  if (order == 0) random.shuffle(out_);
  if (order == 1) {
    const auto key = [&](int i) { return std::pair(state_->wanted(pool_[at(i)]), i); };
    std::sort(out_.begin(), out_.end(), [&](int a, int b) { return key(a) < key(b); });
  }
  Price before = 0;
  saved_.resize(std::max(saved_.size(), out_.size()));
  for (std::size_t i = 0; i < out_.size(); ++i) {
    before += costs_[at(out_[i])];
    state_->save(pool_[at(out_[i])], saved_[i]);
  }
  if (at_best_ && slack > 0) remember();
  for (int i : out_) state_->remove(pool_[at(i)]);
  Price after = 0;
  if (!reinsert(random, before + slack + 1, after)) {
    for (int i : out_) {
      if (state_->placed(pool_[at(i)])) state_->remove(pool_[at(i)]);
    }
    for (std::size_t i = 0; i < out_.size(); ++i) state_->restore(saved_[i]);
    return;
  }
  for (std::size_t i = 0; i < out_.size(); ++i) costs_[at(out_[i])] = new_costs_[i];
  accept(before, after, slack);
}

void KitchenSearch::add_component(int k) {
  const auto same = [&](const Lifted& l) { return l.index == k; };
  if (std::any_of(components_.begin(), components_.end(), same)) return;
  components_.push_back({k, static_cast<int>(starts_.size())});
  state_->save_component(k, starts_);
}

/// One to four components, most of them of one unit.
void KitchenSearch::choose_components(int centre, SplitMix& random) {
  const int count = 1 + random.below(4);
  for (int i = 0; i < count; ++i) {
    int position = centre;
    if (i > 0 && random.percent(40)) {
      const auto reach = std::min(static_cast<int>(pool_.size()), 3);
      position = std::clamp(centre + random.below(2 * reach + 1) - reach, 0, static_cast<int>(pool_.size()) - 1);
    }
    const auto components = state_->components_of(pool_[at(position)]);
    if (components.empty()) continue;
    const int k = components[at(random.below(static_cast<int>(components.size())))];
    if (!state_->component_pinned(k)) add_component(k);
    if (i == 0 || position == centre) continue;
    if (std::find(out_.begin(), out_.end(), position) == out_.end()) out_.push_back(position);
  }
}

void KitchenSearch::choose_plate(int unit, SplitMix& random) {
  const auto courses = state_->courses_of(unit);
  const int c = courses[at(random.below(static_cast<int>(courses.size())))];
  const auto plates = state_->plates_of(c);
  if (plates.empty()) return;
  const int plate = plates[at(random.below(static_cast<int>(plates.size())))];
  if (state_->plating_pinned(plate)) return;
  for (int f : state_->feeds_of(plate)) {
    const int k = state_->component_of_feed(f);
    if (state_->problem().components[at(k)].blocks.count > 0) add_component(k);
  }
  plates_.push_back({plate, static_cast<int>(starts_.size())});
  starts_.push_back(state_->plating_start(plate));
  const Tick spread = state_->problem().courses[at(c)].spread_max;
  plate_shift_ = random.percent(50) ? 0 : random.below(spread + 1);
}

void KitchenSearch::choose_meet(int unit, SplitMix& random) {
  const auto courses = state_->courses_of(unit);
  const int c = courses[at(random.below(static_cast<int>(courses.size())))];
  const Course& course = state_->problem().courses[at(c)];
  for (int plate : state_->plates_of(c)) {
    if (state_->plating_pinned(plate)) return;
  }
  for (int k : state_->components_of_course(c)) add_component(k);
  for (int plate : state_->plates_of(c)) {
    plates_.push_back({plate, static_cast<int>(starts_.size())});
    starts_.push_back(state_->plating_start(plate));
  }
  moved_course_ = c;
  old_meet_ = state_->meet(c);
  Tick shift = random.percent(60) ? random.below(3) - 1 : random.below(21) - 10;
  if (random.percent(10)) shift = course.wanted - old_meet_;
  state_->set_meet(c, std::max(course.wanted - course.early_max, old_meet_ + shift));
  plate_shift_ = -1;
}

bool KitchenSearch::put_back(SplitMix& random) {
  for (const Lifted& l : components_) state_->lift(l.index);
  for (const Lifted& l : plates_) state_->lift_plating(l.index);
  const int manner = random.below(4);
  for (const Lifted& l : plates_) {
    const Course& course = state_->problem().courses[at(state_->problem().plates[at(l.index)].course)];
    const Tick meet = state_->meet(state_->problem().plates[at(l.index)].course);
    Tick back = plate_shift_;
    if (back < 0) back = random.percent(70) ? 0 : random.below(course.spread_max + 1);
    if (!state_->fit_plating(l.index, meet - back)) return false;
    new_plates_.push_back(l.index);
  }
  random.shuffle(components_);
  for (const Lifted& l : components_) {
    Bias bias;
    bias.random = &random;
    bias.noise = manner == 3 ? 160 : 15;
    if (manner == 1) bias.stand_percent = random.below(201);
    if (manner == 2 && random.percent(50)) bias.early = random.below(8);
    if (!state_->settle(l.index, bias)) return false;
    new_components_.push_back(l.index);
  }
  return true;
}

void KitchenSearch::undo_small() {
  for (int k : new_components_) state_->lift(k);
  for (int plate : new_plates_) state_->lift_plating(plate);
  if (moved_course_ >= 0) state_->set_meet(moved_course_, old_meet_);
  for (const Lifted& l : plates_) state_->restore_plating(l.index, starts_[at(l.first)]);
  for (const Lifted& l : components_) {
    state_->restore_component(l.index, std::span<const Tick>(starts_).subspan(at(l.first)));
  }
}

bool KitchenSearch::accept(Price before, Price after, Price slack) {
  if (after > before + slack) return false;
  current_ += after - before;
  at_best_ = current_ <= lowest_;
  if (at_best_) lowest_ = current_;
  return true;
}

void KitchenSearch::small_step(SplitMix& random, Price slack) {
  components_.clear();
  plates_.clear();
  starts_.clear();
  new_components_.clear();
  new_plates_.clear();
  moved_course_ = -1;
  plate_shift_ = 0;
  const int centre = draw_by_cost(random);
  out_.assign(1, centre);
  const int kind = random.below(10);
  if (kind < 5) {
    choose_components(centre, random);
  } else if (kind < 7) {
    choose_plate(pool_[at(centre)], random);
  } else {
    choose_meet(pool_[at(centre)], random);
  }
  if (components_.empty() && plates_.empty()) return;
  if (at_best_ && slack > 0) {
    const Tick meet = moved_course_ >= 0 ? state_->meet(moved_course_) : 0;
    if (moved_course_ >= 0) state_->set_meet(moved_course_, old_meet_);
    remember();
    if (moved_course_ >= 0) state_->set_meet(moved_course_, meet);
  }
  Price before = 0;
  for (int i : out_) before += costs_[at(i)];
  bool good = put_back(random);
  Price after = 0;
  new_costs_.assign(out_.size(), 0);
  for (std::size_t i = 0; good && i < out_.size(); ++i) {
    new_costs_[i] = state_->cost(pool_[at(out_[i])]);
    after += new_costs_[i];
  }
  if (!good || !accept(before, after, slack)) {
    undo_small();
    return;
  }
  for (std::size_t i = 0; i < out_.size(); ++i) costs_[at(out_[i])] = new_costs_[i];
}

/// Times exactly: everything when it is little, else what was touched last.
void KitchenSearch::retime() {
  if (at_best_) remember();
  if (pool_.size() <= 4) {
    out_.resize(pool_.size());
    std::iota(out_.begin(), out_.end(), 0);
  }
  timed_.clear();
  for (int i : out_) timed_.push_back(pool_[at(i)]);
  if (!retimer_.run(*state_, timed_)) return;
  for (int i : out_) {
    current_ -= costs_[at(i)];
    costs_[at(i)] = state_->cost(pool_[at(i)]);
    current_ += costs_[at(i)];
  }
  at_best_ = current_ <= lowest_;
  if (at_best_) lowest_ = current_;
}

void KitchenSearch::run(KitchenState& state, const std::vector<int>& pool, const Effort& effort) {
  state_ = &state;
  pool_ = pool;
  costs_.clear();
  for (int unit : pool_) costs_.push_back(state.cost(unit));
  current_ = lowest_ = std::accumulate(costs_.begin(), costs_.end(), Price{0});
  at_best_ = true;
  if (pool_.empty()) return;
  SplitMix random(effort.seed);
  const bool few = pool_.size() <= 4;  // polishing some tables, or moving a whole evening
  for (int i = 0; i < effort.iterations && lowest_ > 0; ++i) {
    // Cooling: what may get worse in one step shrinks with the square of what is left.
    const Price left = effort.iterations - i;
    const Price hot = std::min(lowest_, warmest) * 12 / (10 * static_cast<Price>(pool_.size()));
    const Price warm = hot * left / effort.iterations * left / effort.iterations;
    const Price slack = random.below(static_cast<int>(warm) + 1);
    if (random.percent(few ? 10 : 60)) {
      step(random, slack);
    } else {
      small_step(random, slack);
    }
    if (i % (few ? 10 : 50) == 0) retime();
  }
  return_to_best();
}

}  // namespace nappe::plan
