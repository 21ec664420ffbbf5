#pragma once
// Improving a placed schedule, anytime: take some courses out, put them back in another way, keep what is cheaper
// (internal to kitchen_planner.cpp and its tests).

#include <vector>

#include "common/plan/kitchen_planner.hpp"
#include "common/plan/kitchen_retime.hpp"
#include "common/plan/kitchen_state.hpp"

namespace nappe::plan {

class KitchenSearch {
 public:
  /// Works on the units of the pool only. Every unit must be placed; afterwards the state is the cheapest schedule met.
  void run(KitchenState& state, const std::vector<int>& pool, const Effort& effort);

 private:
  int draw_by_cost(SplitMix& random) const;
  void choose(SplitMix& random);
  bool reinsert(SplitMix& random, Price allowed, Price& cost);
  void step(SplitMix& random, Price slack);
  // Small moves: some components, one plate, or one course at another meet; everything else stays.
  void small_step(SplitMix& random, Price slack);
  void choose_components(int centre, SplitMix& random);
  void choose_plate(int unit, SplitMix& random);
  void choose_meet(int unit, SplitMix& random);
  void add_component(int k);
  bool put_back(SplitMix& random);
  bool accept(Price before, Price after, Price slack);
  void undo_small();
  void retime();
  void remember();
  void return_to_best();

  KitchenState* state_ = nullptr;
  Retimer retimer_;
  std::vector<int> timed_;
  std::vector<int> pool_;
  std::vector<Price> costs_;  // by position in pool_
  std::vector<int> out_;      // positions taken out
  std::vector<int> near_;
  std::vector<Price> new_costs_;
  std::vector<KitchenState::Saved> saved_;  // by position in out_
  std::vector<KitchenState::Saved>
      best_;  // by position in pool_: the cheapest schedule, when the current one is not it
  std::vector<Price> best_costs_;
  struct Lifted {
    int index;      ///< Component or plate.
    int first = 0;  ///< Of its starts in starts_.
  };
  std::vector<Lifted> components_, plates_;
  std::vector<Tick> starts_;
  std::vector<int> new_components_, new_plates_;
  int moved_course_ = -1;
  Tick old_meet_ = 0;
  Tick plate_shift_ = 0;
  Price current_ = 0;
  Price lowest_ = 0;
  bool at_best_ = true;
};

}  // namespace nappe::plan
