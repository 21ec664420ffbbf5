#pragma once
// The plan in force carried on to the present facts with its order kept (internal to the planner and its tests). Steps
// take longer or shorter than planned all the time; whoever comes after then moves by as much, instead of looking for
// another gap in the evening: a course whose gap closed by ten seconds would otherwise land minutes later.

#include <cstdint>
#include <vector>

#include "common/plan/kitchen_state.hpp"
#include "common/plan/profile.hpp"

namespace nappe::plan {

class Follower {
 public:
  /// Starts for all blocks of the units of `state` that have a place in the plan in force and are not to be placed
  /// anew, each as soon after its shown start as facts, chain and resources allow, in the order of their shown starts.
  /// `state` must have just been loaded. Units whose platings want resources are left to others. Lags may come out too
  /// long; the meets are the soonest that the components allow. False when begun work blocks the way for ever: then the
  /// plan in force cannot be followed.
  bool run(const KitchenState& state);

  /// All units, whatever stands in the plan in force: each course as near to its wanted meet as its own chains allow,
  /// and of what could be done the block with the least time in hand first. False when platings want resources, or
  /// begun work blocks the way for ever.
  bool dispatch(const KitchenState& state);

  /// By unit: it has been followed.
  [[nodiscard]] bool followed(int unit) const { return followed_[static_cast<std::size_t>(unit)] != 0; }
  /// Something had to move, or an event gave reason to time everything again.
  [[nodiscard]] bool moved() const { return moved_; }
  /// Starts and meets of the units followed; of others nothing that means anything.
  [[nodiscard]] const Schedule& schedule() const { return out_; }

 private:
  struct Next {
    Tick shown;
    int block;
    friend bool operator>(const Next& a, const Next& b) {
      return a.shown != b.shown ? a.shown > b.shown : a.block > b.block;
    }
  };

  [[nodiscard]] bool wants_resources(const Plate& plate) const;
  void choose_units();
  bool pass();
  void reset(const KitchenState& state);
  [[nodiscard]] bool as_shown() const;
  void keep_meets();
  void aim_alone();
  void aim_at_meets();
  void load_calendar();
  void take_fixed();
  void queue_next(int component, int block);
  bool place(int block);
  void set_meets();
  void take(Range uses, Tick from, Tick to, bool taken);
  [[nodiscard]] Range held_after(int block) const;
  [[nodiscard]] Tick end(int block) const;

  const KitchenState* state_ = nullptr;
  std::vector<std::uint8_t> followed_;
  std::vector<Profile> calendar_;
  Tick horizon_ = 0;
  std::vector<int> component_of_;  // by block; -1: a plating
  std::vector<Tick> aim_;          // by block: not before this, and in this order; no_tick: right after the one before
  std::vector<Next> ready_;
  std::vector<Next> stuck_;
  Schedule out_;
  bool moved_ = true;
};

}  // namespace nappe::plan
