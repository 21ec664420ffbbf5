#include "common/plan/kitchen_planner.hpp"

#include <algorithm>
#include <numeric>
#include <vector>

#include "common/plan/kitchen_follow.hpp"
#include "common/plan/kitchen_retime.hpp"
#include "common/plan/kitchen_search.hpp"
#include "common/plan/kitchen_state.hpp"

namespace nappe::plan {
namespace {

std::size_t at(int index) { return static_cast<std::size_t>(index); }

// Nobody who was promised a meet pays for what is new with more than so many ticks: a minute of a live service.
constexpr Tick put_off_max = 60;

}  // namespace

struct KitchenPlanner::Impl {
  KitchenState state;
  KitchenSearch search;
  Follower follower;
  Retimer retimer;
  std::vector<int> timed;  // units that keep their turns
  std::vector<int> first;  // units that go in before all others
  std::vector<int> queue;  // units in the order they are put in
  KitchenState::Saved spare;

  Schedule place_all(const KitchenProblem& problem, bool keep_shown);
  bool place_rest(bool keep_shown);
  void follow();
  bool dispatch(const KitchenProblem& problem);
  void adopt_followed();
  bool find_overdrawn();
  bool insert_somehow(const KitchenProblem& problem, int unit);
  bool consider(int unit, const Manner& manner, Price& cheapest);
  void load_for(const KitchenProblem& problem, const Schedule& from, Tick extra);
  void load_schedule(const KitchenProblem& problem, const Schedule& from);
  Schedule add(const KitchenProblem& problem, const Schedule& from);
  Schedule cheaper(const KitchenProblem& problem, const Schedule& from) const;
};

/// Puts the unit in this way if that costs less than `cheapest` (where it may stand already).
bool KitchenPlanner::Impl::consider(int unit, const Manner& manner, Price& cheapest) {
  const bool was_in = state.placed(unit);
  if (was_in) {
    state.save(unit, spare);
    state.remove(unit);
  }
  Manner bounded = manner;
  bounded.bound = cheapest;
  if (state.insert(unit, bounded)) {
    const Price cost = state.cost(unit);
    if (cost < cheapest) {
      cheapest = cost;
      return true;
    }
    state.remove(unit);
  }
  if (was_in) state.restore(spare);
  return false;
}

/// Strictly if that is possible at a bearable price; else the cheapest of moving frozen blocks and breaking windows.
bool KitchenPlanner::Impl::insert_somehow(const KitchenProblem& problem, int unit) {
  Price cheapest = no_price;
  Manner manner;
  consider(unit, manner, cheapest);
  const bool frozen = state.frozen(unit);
  manner.thawed = true;
  if (frozen && cheapest > problem.terms.price_thaw) consider(unit, manner, cheapest);
  if (!state.placed(unit)) {
    SplitMix random(static_cast<std::uint64_t>(unit) + 1);
    Manner shaken;
    shaken.random = &random;
    shaken.stretch_percent = 25;
    shaken.failures_max = 8;
    for (int i = 0; i < 3 && !state.placed(unit); ++i) consider(unit, shaken, cheapest);
  }
  if (cheapest <= problem.terms.price_break) return true;
  manner.relaxed = true;
  manner.meets_max = 3;
  manner.failures_max = 6;
  manner.thawed = false;
  consider(unit, manner, cheapest);
  manner.thawed = true;
  if (frozen) consider(unit, manner, cheapest);
  manner.failures_max = 5000;
  if (!state.placed(unit)) consider(unit, manner, cheapest);
  return state.placed(unit);
}

void KitchenPlanner::Impl::adopt_followed() {
  timed.clear();
  for (int u = 0; u < state.units(); ++u) {
    if (!follower.followed(u)) continue;
    state.adopt(u, follower.schedule(), false);
    timed.push_back(u);
  }
}

/// What has a place in the plan in force keeps its turn, timed exactly; the rest stays out.
void KitchenPlanner::Impl::follow() {
  if (!follower.run(state)) return;
  adopt_followed();
  if (!follower.moved()) return;
  retimer.run(state, timed);
  // What is wanted at another time than it was may do better elsewhere.
  for (int u : timed) {
    const auto courses = state.courses_of(u);
    const bool anew =
        std::any_of(courses.begin(), courses.end(), [&](int c) { return state.problem().courses[at(c)].anew; });
    if (!anew) continue;
    Price cheapest = state.cost(u);
    consider(u, Manner{}, cheapest);
  }
}

/// Everything anew by least time in hand; false if facts do not let it.
bool KitchenPlanner::Impl::dispatch(const KitchenProblem& problem) {
  state.load(problem, 0);
  if (!follower.dispatch(state)) return false;
  adopt_followed();
  retimer.run(state, timed);
  return true;
}

/// `first` before all others; then units that keep their shown starts, those that have begun, and by wanted meet.
bool KitchenPlanner::Impl::place_rest(bool keep_shown) {
  const KitchenProblem& problem = state.problem();
  queue.clear();
  for (int u : first) {
    if (state.placed(u)) continue;
    if (!insert_somehow(problem, u)) return false;
  }
  for (int u = 0; u < state.units(); ++u) {
    if (!state.placed(u) && (!keep_shown || !state.keep(u))) queue.push_back(u);
  }
  std::stable_sort(queue.begin(), queue.end(), [&](int a, int b) {
    if (state.begun(a) != state.begun(b)) return state.begun(a);
    return state.wanted(a) < state.wanted(b);
  });
  return std::all_of(queue.begin(), queue.end(), [&](int u) { return insert_somehow(problem, u); });
}

/// Units whose begun work needs equipment that others were given; false if there is no new one.
bool KitchenPlanner::Impl::find_overdrawn() {
  const std::size_t before = first.size();
  for (int u = 0; u < state.units(); ++u) {
    if (!state.begun(u) || !state.overdraws(u)) continue;
    if (std::find(first.begin(), first.end(), u) == first.end()) first.push_back(u);
  }
  return first.size() > before;
}

Schedule KitchenPlanner::Impl::place_all(const KitchenProblem& problem, bool keep_shown) {
  first.clear();
  do {
    // The calendar grows until everything has room; beyond the outages and fixed blocks it is empty, so it ends.
    for (Tick extra = 0;; extra = 2 * extra + 4096) {
      state.load(problem, extra);
      if (keep_shown) follow();
      if (place_rest(keep_shown) || extra > (1 << 24)) break;
    }
  } while (find_overdrawn());
  return state.schedule();
}

/// An empty calendar with room for all of this schedule, and `extra`.
void KitchenPlanner::Impl::load_for(const KitchenProblem& problem, const Schedule& from, Tick extra) {
  Tick last = problem.terms.now;
  for (std::size_t b = 0; b < from.block_start.size(); ++b)
    last = std::max(last, from.block_start[b] + problem.blocks[b].length);
  for (Tick meet : from.meet) last = std::max(last, meet);
  state.load(problem, extra);
  if (last > state.horizon()) state.load(problem, extra + last - state.horizon() + 1);
}

Schedule KitchenPlanner::Impl::add(const KitchenProblem& problem, const Schedule& from) {
  Schedule known = from;
  known.block_start.resize(problem.blocks.size(), problem.terms.now);
  known.meet.resize(problem.courses.size(), problem.terms.now);
  known.pull.resize(problem.courses.size(), -1);
  known.pull_block.resize(problem.courses.size(), -1);
  // The calendar grows until all of them have room.
  for (Tick extra = 0;; extra = 2 * extra + 4096) {
    load_for(problem, from, extra);
    for (std::size_t c = 0; c < from.meet.size(); ++c) {
      const int unit = state.unit_of(static_cast<int>(c));
      if (!state.placed(unit)) state.adopt(unit, known);
    }
    if (place_rest(false) || extra > (1 << 24)) return state.schedule();
  }
}

void KitchenPlanner::Impl::load_schedule(const KitchenProblem& problem, const Schedule& from) {
  load_for(problem, from, 0);
  for (int u = 0; u < state.units(); ++u) state.adopt(u, from);
}

/// The search never makes a plan dearer; told again by the price of the whole schedule.
Schedule KitchenPlanner::Impl::cheaper(const KitchenProblem& problem, const Schedule& from) const {
  Schedule priced = from;
  price_schedule(problem, priced);
  Schedule found = state.schedule();
  return found.cost.total() < priced.cost.total() ? found : priced;
}

namespace {

/// A course that nobody asks anything of is put off for one that is new, or wanted at another time.
bool puts_off(const KitchenProblem& problem, const Schedule& kept, const Schedule& other) {
  for (std::size_t c = 0; c < problem.courses.size(); ++c) {
    const Course& course = problem.courses[c];
    if (!course.anew && other.meet[c] > std::max(kept.meet[c], course.wanted) + put_off_max) return true;
  }
  return false;
}

}  // namespace

KitchenPlanner::KitchenPlanner() : impl_(std::make_unique<Impl>()) {}
KitchenPlanner::~KitchenPlanner() = default;
KitchenPlanner::KitchenPlanner(KitchenPlanner&&) noexcept = default;
KitchenPlanner& KitchenPlanner::operator=(KitchenPlanner&&) noexcept = default;

Schedule KitchenPlanner::repair(const KitchenProblem& problem) {
  Schedule kept = impl_->place_all(problem, true);
  const bool anew =
      std::any_of(problem.courses.begin(), problem.courses.end(), [](const Course& course) { return course.anew; });
  if (!anew || !impl_->dispatch(problem)) return kept;
  Schedule other = impl_->state.schedule();
  return other.cost.total() < kept.cost.total() && !puts_off(problem, kept, other) ? other : kept;
}

Schedule KitchenPlanner::add(const KitchenProblem& problem, const Schedule& from) {
  impl_->first.clear();
  return impl_->add(problem, from);
}

Schedule KitchenPlanner::replan(const KitchenProblem& problem) { return impl_->place_all(problem, false); }

Schedule KitchenPlanner::improve(const KitchenProblem& problem, const Schedule& from, const Effort& effort) {
  impl_->load_schedule(problem, from);
  std::vector<int> pool(at(impl_->state.units()));
  std::iota(pool.begin(), pool.end(), 0);
  impl_->search.run(impl_->state, pool, effort);
  return impl_->cheaper(problem, from);
}

Schedule KitchenPlanner::polish(const KitchenProblem& problem, const Schedule& from, const std::vector<int>& courses,
                                const Effort& effort) {
  impl_->load_schedule(problem, from);
  std::vector<int> pool;
  for (int c : courses) pool.push_back(impl_->state.unit_of(c));
  std::sort(pool.begin(), pool.end());
  pool.erase(std::unique(pool.begin(), pool.end()), pool.end());
  impl_->search.run(impl_->state, pool, effort);
  return impl_->cheaper(problem, from);
}

}  // namespace nappe::plan
