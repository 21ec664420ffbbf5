#pragma once
// The planner's workbench (internal to kitchen_planner.cpp and its tests): the calendar of every resource, what stands
// in it, and how one course is put in and taken out. Courses that share a pan form a unit and go in and out together.

#include <cstdint>
#include <limits>
#include <span>
#include <vector>

#include "common/plan/kitchen_problem.hpp"
#include "common/plan/profile.hpp"
#include "common/plan/splitmix.hpp"

namespace nappe::plan {

inline constexpr Price no_price = std::numeric_limits<Price>::max() / 4;

/// Lists of integers by key, in one vector.
class Lists {
 public:
  /// Builds from (key, value) pairs; values keep their order.
  void build(int keys, const std::vector<std::pair<int, int>>& pairs);
  std::span<int> of(int key) {
    const auto k = static_cast<std::size_t>(key);
    return {values_.data() + first_[k], static_cast<std::size_t>(first_[k + 1] - first_[k])};
  }
  std::span<const int> of(int key) const {
    const auto k = static_cast<std::size_t>(key);
    return {values_.data() + first_[k], static_cast<std::size_t>(first_[k + 1] - first_[k])};
  }

 private:
  std::vector<int> first_;
  std::vector<int> values_;
};

/// How a unit is put in.
struct Manner {
  bool relaxed = false;        ///< Windows may break, at their price.
  bool thawed = false;         ///< Frozen blocks may move, at their price.
  SplitMix* random = nullptr;  ///< Given: orders are shuffled and lags stretched at random.
  int stretch_percent = 0;     ///< Share of the lags that are stretched.
  int meets_max = 4;           ///< How many possible meets are compared.
  int failures_max = 30;       ///< How many meets that are impossible are tried.
  Price bound = no_price;      ///< Nothing that costs this much or more is of use.
};

/// How the price of a component's place is distorted, to make room for others and to choose among equals.
struct Bias {
  Price stand_percent = 100;   ///< Of the standing prices.
  Price early = 0;             ///< For each tick that the last block ends before its latest end.
  SplitMix* random = nullptr;  ///< Given: each start costs up to `noise` sixteenths of a price more.
  int noise = 0;
};

class KitchenState {
 public:
  /// Starts afresh: outages, fixed and frozen blocks stand in the calendar, nothing else. The calendar reaches
  /// `extra` ticks beyond what the problem's terms ask for.
  void load(const KitchenProblem& problem, Tick extra);

  const KitchenProblem& problem() const { return *problem_; }
  int units() const { return unit_count_; }
  /// The end of the calendar.
  Tick horizon() const { return horizon_; }
  int unit_of(int course) const { return unit_of_course_[static_cast<std::size_t>(course)]; }
  std::span<const int> courses_of(int unit) const { return unit_courses_.of(unit); }
  bool placed(int unit) const { return unit_in_[static_cast<std::size_t>(unit)] != 0; }
  /// Something of it has begun.
  bool begun(int unit) const { return unit_begun_[static_cast<std::size_t>(unit)] != 0; }
  bool frozen(int unit) const { return !unit_frozen_.of(unit).empty(); }
  Tick wanted(int unit) const { return unit_wanted_[static_cast<std::size_t>(unit)]; }

  /// Puts the unit where the plan in force has it, if all of that still holds; else changes nothing.
  bool keep(int unit);
  /// Puts the unit in; false, and nothing changed, when the manner allows no way.
  bool insert(int unit, const Manner& manner);
  /// Takes it out again (frozen blocks stay reserved).
  void remove(int unit);
  /// Equipment that stays taken after something begun is wanted by others too: they have to be put in after this unit.
  bool overdraws(int unit) const;
  /// What the unit as placed costs; the sum over all units is the schedule's cost.
  Price cost(int unit) const;

  std::span<const int> components_of(int unit) const { return unit_components_.of(unit); }
  /// Takes one component out and leaves the rest; puts it back at the cheapest place there is (false if none), or
  /// where it was.
  void lift(int k) { drop_component(k); }
  bool settle(int k, const Bias& bias);
  void save_component(int k, std::vector<Tick>& starts) const;
  void restore_component(int k, std::span<const Tick> starts);
  /// Nothing of it can move.
  bool component_pinned(int k) const;
  std::span<const int> plates_of(int course) const { return course_plates_.of(course); }
  bool plating_pinned(int plate) const { return pinned(plating(plate)); }
  /// Takes a plating out (its components must be out), puts it back to end at or before `latest_end` inside the spread
  /// of its course's meet, or where it was.
  void lift_plating(int plate) { drop(plating(plate)); }
  bool fit_plating(int plate, Tick latest_end);
  void restore_plating(int plate, Tick start) { take(plating(plate), start); }
  Tick plating_start(int plate) const { return start_[static_cast<std::size_t>(plating(plate))]; }
  std::span<const int> blocks_of(int unit) const { return unit_blocks_.of(unit); }
  bool block_placed(int b) const { return block_in(b); }
  bool block_pinned(int b) const { return pinned(b); }
  /// Shown to start before the freeze ends, whether or not it still does.
  bool shown_frozen(int b) const {
    return block(b).shown_start != no_tick && block(b).shown_start < problem_->terms.frozen_until;
  }
  Tick earliest_start(int b) const { return earliest(b); }
  Tick meet(int course) const { return meet_[static_cast<std::size_t>(course)]; }
  void set_meet(int course, Tick meet) { meet_[static_cast<std::size_t>(course)] = meet; }
  std::span<const int> components_of_course(int course) const { return course_components_.of(course); }
  std::span<const int> feeds_of(int plate) const { return plate_feeds_.of(plate); }
  int component_of_feed(int feed) const { return component_of_feed_[static_cast<std::size_t>(feed)]; }

  /// Where a unit stands, to come back to.
  struct Saved {
    int unit = -1;
    std::vector<Tick> starts;
    std::vector<std::uint8_t> pins;
    std::vector<Tick> meets;
    std::vector<int> pulls;
  };
  void save(int unit, Saved& saved) const;
  /// The unit must be out.
  void restore(const Saved& saved);
  /// Puts the unit at the starts of this schedule without asking whether they fit.
  /// `pin_frozen`: frozen blocks that stand where they were shown cannot be moved by anybody.
  void adopt(int unit, const Schedule& schedule, bool pin_frozen = true);

  /// The whole answer; every unit must be placed.
  Schedule schedule() const;

  const std::vector<Profile>& calendar() const { return calendar_; }
  Tick start(int block) const { return start_[static_cast<std::size_t>(block)]; }

 private:
  enum Pin : std::uint8_t { movable = 0, fixed = 1, frozen_here = 2 };
  struct Attempt {
    bool fits = false;
    Price cost = 0;
    int blocker = -1;
    bool crowded = false;  ///< Other components of the course stood when the blocker failed.
    Tick later = 0;        ///< The next later meet worth trying.
    Tick sooner = 0;       ///< The next earlier one.
  };
  struct Window {
    Tick low = 0;
    Tick high = 0;
  };

  const Block& block(int b) const { return problem_->blocks[static_cast<std::size_t>(b)]; }
  const Component& component(int k) const { return problem_->components[static_cast<std::size_t>(k)]; }
  const Course& course(int c) const { return problem_->courses[static_cast<std::size_t>(c)]; }
  int plating(int plate) const { return problem_->plates[static_cast<std::size_t>(plate)].block; }
  Tick end(int b) const { return start_[static_cast<std::size_t>(b)] + block(b).length; }
  bool pinned(int b) const { return pin_[static_cast<std::size_t>(b)] != movable; }
  bool fixed_block(int b) const { return pin_[static_cast<std::size_t>(b)] == fixed; }
  bool block_in(int b) const { return in_[static_cast<std::size_t>(b)] != 0; }

  void build_index();
  void build_units();
  void load_calendar(Tick extra);
  void load_pins();

  // Calendar.
  void take(int b, Tick start);
  void drop(int b);
  void hold(Range uses, Tick from, Tick to, bool taken);
  bool fits_at(int b, Tick start) const;
  bool hold_free(Range uses, Tick from, Tick to) const;
  Tick fit_latest(int b, Tick high, Tick low) const;
  Tick hold_begin(Range uses, Tick from, Tick to) const;
  Tick hold_end(Range uses, Tick from, Tick to) const;

  // Chains.
  Tick earliest(int b) const;
  Tick chain_end(int first, int b, Window ends, bool relaxed);
  Tick pinned_end(int first, int b, Window ends, bool relaxed);
  Tick next_end(int k, Tick after, bool relaxed);
  Window window_of(int k) const;
  Tick last_plating(int k) const;
  bool place_component(int k, const Manner& manner, Attempt& attempt, Tick meet);
  bool place_broken(int k, Window window);
  void commit_component(int k);
  void drop_component(int k);

  // The cheapest place for one component (kitchen_settle.cpp).
  struct Stage {
    Tick low = 0;
    Tick high = 0;
    std::vector<Price> price;
    std::vector<Tick> choice;
  };
  void blocked_starts(int b, Tick low, Tick high);
  Price start_price(int b, Tick start) const;
  void settle_block(int b, const Bias& bias, Stage& stage, const Stage* next);
  void settle_last(int k, const Bias& bias, Stage& stage);

  // Courses.
  bool insert_course(int c, const Manner& manner);
  Attempt place_at(int c, Tick meet, const Manner& manner, Price bound);
  bool place_platings(int c, Tick meet, const Manner& manner, Attempt& attempt);
  Window plating_window(int plate, Tick meet, const Manner& manner) const;
  bool extend_holds(int c, bool relaxed);
  void undo_course();
  void remember_best(Tick meet, int blocker);
  void recall_best(int c);
  void draw_stretches(int c, const Manner& manner);
  Window meets_allowed(int c, const Manner& manner) const;
  Price meet_price(int c, Tick meet) const;
  Price component_cost(int k, int only_course, bool inner) const;
  Price block_cost(int b) const;
  Price broken_price(Tick by) const;
  int fallback_pull(int c) const;
  void thaw(int unit);
  void freeze(int unit);
  bool shown_holds(int unit) const;
  bool shown_fits(int k);

  const KitchenProblem* problem_ = nullptr;
  std::vector<Profile> calendar_;
  Tick horizon_ = 0;

  // The index: constant after load.
  Lists course_plates_, course_components_, plate_feeds_, unit_courses_, unit_blocks_, unit_components_, unit_frozen_;
  std::vector<int> component_of_feed_;
  std::vector<int> unit_of_course_;
  std::vector<std::uint8_t> unit_begun_;
  std::vector<Tick> unit_wanted_;
  std::vector<std::uint8_t> component_shared_;
  int unit_count_ = 0;

  // What stands where.
  std::vector<Tick> start_;
  std::vector<std::uint8_t> in_;   // by block: in the calendar
  std::vector<std::uint8_t> pin_;  // by block
  std::vector<std::uint8_t> component_in_;
  std::vector<Tick> held_until_;  // by component
  std::vector<Tick> meet_;
  std::vector<int> pull_;
  std::vector<std::uint8_t> unit_in_;

  // The course being put in.
  std::vector<Tick> trial_;  // by block: what chain_end last found
  std::vector<Tick> extra_;  // by block: the lag after it is stretched by this
  std::vector<int> new_plates_, new_components_;
  struct Extension {
    int component;
    Tick until;
  };
  std::vector<Extension> extensions_;
  std::vector<std::pair<int, Tick>> best_;
  std::vector<int> best_components_;
  Tick best_meet_ = 0;
  Price bound_ = no_price;   // of the attempt under way
  bool want_later_ = true;   // whether place_at looks for the next later meet when one is impossible,
  bool want_sooner_ = true;  // and for the next earlier one
  int best_pull_ = -1;
  std::vector<int> order_;
  std::vector<std::pair<int, int>> pairs_;
  std::vector<Stage> stages_;
  std::vector<std::uint64_t> blocked_, full_;
  std::vector<std::pair<Price, Tick>> queue_;
};

}  // namespace nappe::plan
