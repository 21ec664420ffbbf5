#pragma once
// Exact timing for a fixed order (internal to the search and its tests). Keeps which block follows which on every unit
// of every resource and finds starts and meets of least price: a linear cost over difference constraints plus convex
// terms of single variables, the dual of a minimum-cost flow. Solved by steepest descent: while there is a set of
// variables that can move together one way at a gain, the set of greatest gain (a maximum-weight closure of the tight
// constraints, by maximum flow) moves until a constraint or a kink stops it. The function is L-natural-convex, so a
// point without such a set is optimal (Murota, "Discrete Convex Analysis", SIAM 2003).

#include <span>
#include <vector>

#include "common/plan/kitchen_state.hpp"

namespace nappe::plan {

class Retimer {
 public:
  /// Times the placed units of `units` anew, everything else staying. Never dearer; true if something moved.
  bool run(KitchenState& state, const std::vector<int>& units);

 private:
  struct Arc {
    int from;
    int to;
    Tick least;  ///< value[to] - value[from] >= least
  };
  /// A variable with its present value, or (node -1) an instant.
  struct End {
    int node;
    Tick value;
  };
  /// One taking of a resource, from and to an offset of an End.
  struct Item {
    int resource;
    int units;
    int start_node;
    Tick start_offset;
    int end_node;
    Tick end_offset;
    Tick start;
    Tick end;
  };
  /// Arcs by one of their ends.
  class Star {
   public:
    template <class Key>
    void build(std::size_t nodes, const std::vector<Arc>& arcs, Key key) {
      first_.assign(nodes + 2, 0);
      arcs_.resize(arcs.size());
      for (const Arc& a : arcs) ++first_[static_cast<std::size_t>(key(a)) + 2];
      for (std::size_t i = 1; i < first_.size(); ++i) first_[i] += first_[i - 1];
      for (std::size_t a = 0; a < arcs.size(); ++a) {
        arcs_[static_cast<std::size_t>(first_[static_cast<std::size_t>(key(arcs[a])) + 1]++)] = static_cast<int>(a);
      }
    }
    std::span<const int> of(int node) const {
      const auto n = static_cast<std::size_t>(node);
      return {arcs_.data() + first_[n], static_cast<std::size_t>(first_[n + 1] - first_[n])};
    }

   private:
    std::vector<int> first_;
    std::vector<int> arcs_;
  };

  void collect_nodes();
  void collect_terms(int unit);
  void collect_items();
  void collect_held(const Component& item);
  void add_item(const Use& use, const End& from, Tick from_offset, const End& to, Tick to_offset);
  void order_items();
  void add_arc(int from, int to, Tick least);
  void bound_low(int node, Tick low);
  void bound_high(int node, Tick high);
  void relate(const End& from, const End& to, Tick least, Tick most, Price price);
  void link_arcs();
  Price slope(int node, bool up) const;
  Tick kink(int node, bool up) const;
  bool descend(bool up);
  Price push_flow(int node, Price amount, bool up);
  void move_closure(bool up);
  void write_back();
  int node_of(int block) const { return node_[static_cast<std::size_t>(block)]; }
  Tick start_of(int block) const { return state_->start(block); }
  End end_of(int block) const { return {node_of(block), start_of(block)}; }

  KitchenState* state_ = nullptr;
  const std::vector<int>* units_ = nullptr;
  std::vector<int> node_;         // by block; -1: does not move
  std::vector<int> course_node_;  // by course; -1: not of these units
  std::vector<int> blocks_;       // by node: its block, or -1 - course
  std::vector<Tick> value_, low_, high_;
  std::vector<Price> linear_;  // by node
  std::vector<Arc> arcs_;
  Star out_, in_;
  std::vector<Item> items_;
  std::vector<std::uint8_t> resource_used_;
  Tick first_ = 0;
  Tick last_ = 0;
  std::vector<std::pair<Tick, int>> tracks_;  // by unit: end of the last item, and which
  std::vector<Price> excess_, drain_, flow_;
  std::vector<int> stamp_;
  int stamp_now_ = 0;
  std::vector<int> stack_;
  KitchenState::Saved saved_;
};

}  // namespace nappe::plan
