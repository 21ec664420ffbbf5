#include "common/plan/kitchen_retime.hpp"

#include <algorithm>
#include <tuple>

namespace nappe::plan {
namespace {

constexpr Tick unbounded = 1 << 28;
constexpr Tick reach = 96;  ///< Nobody moves further than this in one run, so only what is near matters.

std::size_t at(int index) { return static_cast<std::size_t>(index); }

}  // namespace

bool Retimer::run(KitchenState& state, const std::vector<int>& units) {
  state_ = &state;
  units_ = &units;
  collect_nodes();
  if (blocks_.empty()) return false;
  for (int unit : units) collect_terms(unit);
  collect_items();
  order_items();
  link_arcs();
  bool moved = false;
  for (bool up = true, again = true; again; up = !up) {
    const bool moves = descend(up);
    again = moves || up;
    moved = moved || moves;
  }
  if (moved) write_back();
  return moved;
}

/// One variable for each block that can move, one for each course.
void Retimer::collect_nodes() {
  const KitchenProblem& p = state_->problem();
  node_.assign(p.blocks.size(), -1);
  course_node_.assign(p.courses.size(), -1);
  blocks_.clear();
  value_.clear();
  low_.clear();
  high_.clear();
  arcs_.clear();
  for (int unit : *units_) {
    for (int c : state_->courses_of(unit)) {
      course_node_[at(c)] = static_cast<int>(blocks_.size());
      blocks_.push_back(-1 - c);
      value_.push_back(state_->meet(c));
      low_.push_back(std::max(p.terms.now, p.courses[at(c)].wanted - p.courses[at(c)].early_max));
      high_.push_back(state_->horizon());
    }
    for (int b : state_->blocks_of(unit)) {
      if (state_->block_pinned(b) || node_[at(b)] >= 0) continue;
      node_[at(b)] = static_cast<int>(blocks_.size());
      blocks_.push_back(b);
      value_.push_back(start_of(b));
      // What a cook was told for the next moments may be put off, never brought forward.
      low_.push_back(state_->shown_frozen(b) ? start_of(b) : state_->earliest_start(b));
      high_.push_back(state_->horizon() - p.blocks[at(b)].length);
    }
  }
  for (std::size_t i = 0; i < blocks_.size(); ++i) {
    low_[i] = std::max(low_[i], value_[i] - reach);
    high_[i] = std::min(high_[i], value_[i] + reach);
  }
  linear_.assign(blocks_.size(), 0);
}

void Retimer::add_arc(int from, int to, Tick least) { arcs_.push_back({from, to, least}); }

void Retimer::bound_low(int node, Tick low) { low_[at(node)] = std::max(low_[at(node)], low); }

void Retimer::bound_high(int node, Tick high) { high_[at(node)] = std::min(high_[at(node)], high); }

/// The difference to - from lies in [least, most] and costs `price` for each tick. Either end may be an instant (node
/// -1).
void Retimer::relate(const End& from, const End& to, Tick least, Tick most, Price price) {
  if (from.node < 0 && to.node < 0) return;
  if (from.node < 0) {
    bound_low(to.node, from.value + least);
    bound_high(to.node, from.value + most);
  } else if (to.node < 0) {
    bound_high(from.node, to.value - least);
    bound_low(from.node, to.value - most);
  } else {
    add_arc(from.node, to.node, least);
    add_arc(to.node, from.node, -most);
  }
  if (to.node >= 0) linear_[at(to.node)] += price;
  if (from.node >= 0) linear_[at(from.node)] -= price;
}

/// Windows and prices of one unit. A window that is broken may not break further, and closing it is worth its price.
void Retimer::collect_terms(int unit) {
  const KitchenProblem& p = state_->problem();
  const auto window = [&](Tick from, Tick to, Tick length, Tick lag_min, Tick lag_max, Price price, const End& a,
                          const End& b) {
    const Tick lag = to - from - length;
    const Price broken = lag > lag_max ? p.terms.price_break_tick : 0;
    relate(a, b, length + lag_min, length + std::max(lag, lag_max), price + broken);
  };
  for (int c : state_->courses_of(unit)) {
    const Course& course = p.courses[at(c)];
    for (int plate : state_->plates_of(c)) {
      const int b = p.plates[at(plate)].block;
      window(start_of(b), state_->meet(c), p.blocks[at(b)].length, 0, course.spread_max, course.price_spread, end_of(b),
             {course_node_[at(c)], state_->meet(c)});
    }
  }
  for (int k : state_->components_of(unit)) {
    const Component& item = p.components[at(k)];
    const int last = item.blocks.end() - 1;
    for (int b = item.blocks.first; b < last; ++b) {
      const Link& link = p.blocks[at(b)].next;
      window(start_of(b), start_of(b + 1), p.blocks[at(b)].length, link.lag_min, link.lag_max, link.price_stand,
             end_of(b), end_of(b + 1));
    }
    for (int f = item.feeds.first; f < item.feeds.end(); ++f) {
      const Feed& feed = p.feeds[at(f)];
      const int b = p.plates[at(feed.plate)].block;
      window(start_of(last), start_of(b), p.blocks[at(last)].length, feed.lag_min, feed.lag_max, feed.price_stand,
             end_of(last), end_of(b));
    }
  }
}

void Retimer::add_item(const Use& use, const End& from, Tick from_offset, const End& to, Tick to_offset) {
  if (resource_used_[at(use.resource)] == 0 || use.units <= 0) return;
  const Item item{use.resource,        use.units, from.node, from_offset, to.node, to_offset, from.value + from_offset,
                  to.value + to_offset};
  const bool moves = from.node >= 0 || to.node >= 0;
  if (item.end <= item.start && !moves) return;
  if (!moves && (item.end < first_ || item.start > last_)) return;
  items_.push_back(item);
}

/// Everything that takes a resource which one of these variables takes, near enough to matter.
void Retimer::collect_items() {
  const KitchenProblem& p = state_->problem();
  items_.clear();
  resource_used_.assign(p.resources.size(), 0);
  first_ = unbounded;
  last_ = -unbounded;
  const auto mark = [&](Range uses) {
    for (int u = uses.first; u < uses.end(); ++u) resource_used_[at(p.uses[at(u)].resource)] = 1;
  };
  for (std::size_t i = 0; i < blocks_.size(); ++i) {
    first_ = std::min(first_, low_[i]);
    last_ = std::max(last_, high_[i]);
    if (blocks_[i] < 0) continue;
    last_ = std::max(last_, high_[i] + p.blocks[at(blocks_[i])].length);
    mark(p.blocks[at(blocks_[i])].uses);
    mark(p.blocks[at(blocks_[i])].next.held);
  }
  for (int unit : *units_) {
    for (int k : state_->components_of(unit)) mark(p.components[at(k)].held);
  }
  for (const Outage& o : p.outages) {
    add_item({o.resource, o.units, 0, 0}, {-1, o.from}, 0, {-1, std::min(o.to, state_->horizon())}, 0);
  }
  for (std::size_t i = 0; i < p.blocks.size(); ++i) {
    const int b = static_cast<int>(i);
    if (!state_->block_placed(b)) continue;
    const Range uses = p.blocks[i].uses;
    for (int u = uses.first; u < uses.end(); ++u) {
      const Use& use = p.uses[at(u)];
      if (use.to > use.from) add_item(use, end_of(b), use.from, end_of(b), use.to);
    }
  }
  for (std::size_t k = 0; k < p.components.size(); ++k) collect_held(p.components[k]);
}

void Retimer::collect_held(const Component& item) {
  const KitchenProblem& p = state_->problem();
  if (item.blocks.count == 0) return;
  const int last = item.blocks.end() - 1;
  for (int b = item.blocks.first; b < last; ++b) {
    const Range held = p.blocks[at(b)].next.held;
    if (held.count == 0 || !state_->block_placed(b) || !state_->block_placed(b + 1)) continue;
    for (int u = held.first; u < held.end(); ++u) {
      add_item(p.uses[at(u)], end_of(b), p.blocks[at(b)].length, end_of(b + 1), 0);
    }
  }
  if (item.held.count == 0 || !state_->block_placed(last)) return;
  int until = -1;  // the plating that starts last stays the last
  for (int f = item.feeds.first; f < item.feeds.end(); ++f) {
    const int b = p.plates[at(p.feeds[at(f)].plate)].block;
    if (until < 0 || start_of(b) > start_of(until)) until = b;
  }
  for (int f = item.feeds.first; f < item.feeds.end(); ++f) {
    const int b = p.plates[at(p.feeds[at(f)].plate)].block;
    if (b != until) relate(end_of(b), end_of(until), 0, unbounded, 0);
  }
  for (int u = item.held.first; u < item.held.end(); ++u) {
    add_item(p.uses[at(u)], end_of(last), p.blocks[at(last)].length, end_of(until), 0);
  }
}

/// Deals the items of each resource, in order of time, to its units; whoever follows on a unit keeps following.
void Retimer::order_items() {
  std::sort(items_.begin(), items_.end(), [](const Item& a, const Item& b) {
    return std::tie(a.resource, a.start, a.end, a.start_node) < std::tie(b.resource, b.start, b.end, b.start_node);
  });
  int resource = -1;
  for (std::size_t i = 0; i < items_.size(); ++i) {
    const Item& item = items_[i];
    if (item.resource != resource) {
      resource = item.resource;
      tracks_.assign(at(state_->problem().resources[at(resource)].capacity), {-unbounded, -1});
    }
    for (int unit = 0; unit < item.units; ++unit) {
      int found = -1;
      for (int t = 0; t < static_cast<int>(tracks_.size()); ++t) {
        if (tracks_[at(t)].first > item.start) continue;
        if (found < 0 || tracks_[at(t)].first > tracks_[at(found)].first) found = t;
      }
      if (found < 0) break;  // facts overdraw it: nothing to keep
      const int before = tracks_[at(found)].second;
      if (before >= 0) {
        const Item& b = items_[at(before)];
        const End from{b.end_node, b.end - b.end_offset};
        const End to{item.start_node, item.start - item.start_offset};
        if (from.node < 0 || from.node != to.node) {
          relate(from, to, b.end_offset - item.start_offset, unbounded, 0);
        }
      }
      tracks_[at(found)] = {item.end, static_cast<int>(i)};
    }
  }
}

/// Arcs by their ends.
void Retimer::link_arcs() {
  const std::size_t nodes = blocks_.size();
  std::erase_if(arcs_, [](const Arc& a) { return a.least <= -unbounded / 2; });
  out_.build(nodes, arcs_, [](const Arc& a) { return a.from; });
  in_.build(nodes, arcs_, [](const Arc& a) { return a.to; });
  flow_.assign(arcs_.size(), 0);
  stamp_.assign(nodes, 0);
  stamp_now_ = 0;
}

/// What one tick up (or down) costs by the variable's own price.
Price Retimer::slope(int node, bool up) const {
  const KitchenProblem& p = state_->problem();
  const Tick x = value_[at(node)];
  Price cost = up ? linear_[at(node)] : -linear_[at(node)];
  if (blocks_[at(node)] < 0) {
    const Course& c = p.courses[at(-1 - blocks_[at(node)])];
    const Tick late = x - c.wanted;
    if (up) return cost + (late < 0 ? -c.price_early : c.price_late + (late >= c.late_after ? c.price_late_more : 0));
    return cost + (late <= 0 ? c.price_early : -c.price_late - (late > c.late_after ? c.price_late_more : 0));
  }
  const Block& b = p.blocks[at(blocks_[at(node)])];
  if (b.shown_start == no_tick) return cost;
  if (up) return cost + (x < b.shown_start ? -b.price_move : b.price_move);
  return cost + (x > b.shown_start ? -b.price_move : b.price_move);
}

/// How far the variable can go until its own price changes slope.
Tick Retimer::kink(int node, bool up) const {
  const KitchenProblem& p = state_->problem();
  const Tick x = value_[at(node)];
  Tick nearest = unbounded;
  const auto consider = [&](Tick point) {
    const Tick way = up ? point - x : x - point;
    if (way > 0) nearest = std::min(nearest, way);
  };
  if (blocks_[at(node)] < 0) {
    const Course& c = p.courses[at(-1 - blocks_[at(node)])];
    consider(c.wanted);
    consider(c.wanted + c.late_after);
  } else if (p.blocks[at(blocks_[at(node)])].shown_start != no_tick) {
    consider(p.blocks[at(blocks_[at(node)])].shown_start);
  }
  return nearest;
}

/// Sends up to `amount` of gain from a node along tight constraints to nodes that lose by moving; what was sent.
Price Retimer::push_flow(int node, Price amount, bool up) {
  stamp_[at(node)] = stamp_now_;
  if (drain_[at(node)] > 0) {
    const Price sent = std::min(amount, drain_[at(node)]);
    drain_[at(node)] -= sent;
    return sent;
  }
  const auto forward = up ? out_.of(node) : in_.of(node);
  for (int a : forward) {
    const Arc& arc = arcs_[at(a)];
    if (value_[at(arc.to)] - value_[at(arc.from)] != arc.least) continue;
    const int next = up ? arc.to : arc.from;
    if (stamp_[at(next)] == stamp_now_) continue;
    const Price sent = push_flow(next, amount, up);
    flow_[at(a)] += sent;
    if (sent > 0) return sent;
  }
  const auto backward = up ? in_.of(node) : out_.of(node);
  for (int a : backward) {
    if (flow_[at(a)] == 0) continue;
    const int next = up ? arcs_[at(a)].from : arcs_[at(a)].to;
    if (stamp_[at(next)] == stamp_now_) continue;
    const Price sent = push_flow(next, std::min(amount, flow_[at(a)]), up);
    flow_[at(a)] -= sent;
    if (sent > 0) return sent;
  }
  return 0;
}

/// Moves sets of variables one way as long as that gains.
bool Retimer::descend(bool up) {
  const auto nodes = static_cast<int>(blocks_.size());
  bool moved = false;
  while (true) {
    excess_.assign(at(nodes), 0);
    drain_.assign(at(nodes), 0);
    std::fill(flow_.begin(), flow_.end(), 0);
    for (int i = 0; i < nodes; ++i) {
      const bool stuck = up ? value_[at(i)] >= high_[at(i)] : value_[at(i)] <= low_[at(i)];
      const Price price = slope(i, up);
      if (price < 0) excess_[at(i)] = -price;
      if (price > 0) drain_[at(i)] = price;
      if (stuck) drain_[at(i)] = no_price;
    }
    // A closure of positive gain is what gain cannot be drained from.
    stack_.clear();
    for (int i = 0; i < nodes; ++i) {
      while (excess_[at(i)] > 0) {
        ++stamp_now_;
        const Price sent = push_flow(i, excess_[at(i)], up);
        if (sent == 0) break;
        excess_[at(i)] -= sent;
      }
    }
    for (int i = 0; i < nodes; ++i) {
      if (excess_[at(i)] > 0) stack_.push_back(i);
    }
    if (stack_.empty()) return moved;
    move_closure(up);
    moved = true;
  }
}

/// The set reachable from stack_ along tight constraints moves as far as everything stays linear and feasible.
void Retimer::move_closure(bool up) {
  ++stamp_now_;
  for (int i : stack_) stamp_[at(i)] = stamp_now_;
  for (std::size_t done = 0; done < stack_.size(); ++done) {
    const int node = stack_[done];
    for (int a : up ? out_.of(node) : in_.of(node)) {
      const Arc& arc = arcs_[at(a)];
      const int next = up ? arc.to : arc.from;
      if (value_[at(arc.to)] - value_[at(arc.from)] != arc.least || stamp_[at(next)] == stamp_now_) continue;
      stamp_[at(next)] = stamp_now_;
      stack_.push_back(next);
    }
    for (int a : up ? in_.of(node) : out_.of(node)) {
      const int next = up ? arcs_[at(a)].from : arcs_[at(a)].to;
      if (flow_[at(a)] == 0 || stamp_[at(next)] == stamp_now_) continue;
      stamp_[at(next)] = stamp_now_;
      stack_.push_back(next);
    }
  }
  Tick way = unbounded;
  for (int node : stack_) {
    way = std::min(way, up ? high_[at(node)] - value_[at(node)] : value_[at(node)] - low_[at(node)]);
    way = std::min(way, kink(node, up));
    for (int a : up ? out_.of(node) : in_.of(node)) {
      const Arc& arc = arcs_[at(a)];
      if (stamp_[at(up ? arc.to : arc.from)] == stamp_now_) continue;
      way = std::min(way, value_[at(arc.to)] - value_[at(arc.from)] - arc.least);
    }
  }
  for (int node : stack_) value_[at(node)] += up ? way : -way;
}

void Retimer::write_back() {
  for (int unit : *units_) {
    state_->save(unit, saved_);
    const auto blocks = state_->blocks_of(unit);
    for (std::size_t i = 0; i < blocks.size(); ++i) {
      if (node_of(blocks[i]) >= 0) saved_.starts[i] = value_[at(node_of(blocks[i]))];
    }
    const auto courses = state_->courses_of(unit);
    for (std::size_t i = 0; i < courses.size(); ++i) saved_.meets[i] = value_[at(course_node_[at(courses[i])])];
    state_->remove(unit);
    state_->restore(saved_);
  }
}

}  // namespace nappe::plan
