// The cheapest way to put one component into the calendar as it is, everything else staying: exact, by dynamic
// programming over the starts of its blocks from the last to the first. A lag's price is linear, so the best successor
// for every start is a minimum over a sliding window.

#include <algorithm>
#include <cstdlib>

#include "common/plan/kitchen_state.hpp"

namespace nappe::plan {
namespace {

constexpr Price fine = 16;  ///< Prices are counted in sixteenths here, so that noise can decide between equals.

std::size_t at(int index) { return static_cast<std::size_t>(index); }

Price noise_of(const Bias& bias) { return bias.random == nullptr ? 0 : bias.random->below(bias.noise + 1); }

}  // namespace

/// Sets a bit for every start in [low, high] at which the block does not fit.
void KitchenState::blocked_starts(int b, Tick low, Tick high) {
  const auto count = at(high - low + 1);
  const std::size_t words = (count + 63) / 64;
  blocked_.assign(words, 0);
  const Range uses = block(b).uses;
  for (int u = uses.first; u < uses.end(); ++u) {
    const Use& use = problem_->uses[at(u)];
    const Tick length = use.to - use.from;
    if (length <= 0 || use.units <= 0) continue;
    calendar_[at(use.resource)].full_bits(low + use.from, high + use.to, use.units, full_);
    // Bit i: full at tick low + from + i. Blocked at start low + i when any of the bits i .. i + length - 1 is set.
    for (Tick covered = 1; covered < length;) {
      const Tick shift = std::min(covered, length - covered);
      const std::size_t whole = at(shift) / 64;
      const auto part = static_cast<unsigned>(shift % 64);
      for (std::size_t w = 0; w < full_.size(); ++w) {
        std::uint64_t moved = w + whole < full_.size() ? full_[w + whole] >> part : 0;
        if (part != 0 && w + whole + 1 < full_.size()) moved |= full_[w + whole + 1] << (64 - part);
        full_[w] |= moved;
      }
      covered += shift;
    }
    for (std::size_t w = 0; w < words; ++w) blocked_[w] |= full_[w];
  }
}

/// What a start of this block costs by itself (stability).
Price KitchenState::start_price(int b, Tick start) const {
  const Block& item = block(b);
  if (item.shown_start == no_tick) return 0;
  const Terms& terms = problem_->terms;
  const bool thawed = item.shown_start < terms.frozen_until && start < std::max(item.shown_start, terms.now);
  return item.price_move * std::abs(start - item.shown_start) + (thawed ? terms.price_thaw : 0);
}

/// Fills the table of one block: for each start in its window, the least price of it and everything after it.
void KitchenState::settle_block(int b, const Bias& bias, Stage& stage, const Stage* next) {
  const int count = stage.high - stage.low + 1;
  stage.price.assign(at(count), no_price);
  stage.choice.resize(at(count));
  if (!pinned(b)) blocked_starts(b, stage.low, stage.high);
  const auto possible = [&](Tick start) {
    if (pinned(b)) return start == start_[at(b)];
    const auto i = at(start - stage.low);
    return (blocked_[i / 64] >> (i % 64) & 1U) == 0;
  };
  if (next == nullptr) return;
  const Link& link = block(b).next;
  const Tick length = block(b).length;
  const bool history = fixed_block(b) && fixed_block(b + 1);
  const Price price = history ? 0 : fine * link.price_stand * bias.stand_percent / 100;
  queue_.clear();
  std::size_t front = 0;
  Tick entered = next->high + 1;  // successors from here up have been seen
  for (Tick start = stage.high; start >= stage.low; --start) {
    const Tick ready = start + length;
    const Tick low = history ? next->low : ready + link.lag_min;
    Tick high = history ? next->high : ready + link.lag_max;
    for (Tick s = std::min(entered - 1, next->high); s >= std::max(low, next->low); --s) {
      const Price value = next->price[at(s - next->low)];
      entered = s;
      if (value >= no_price) continue;
      const Price key = value + price * s;
      while (queue_.size() > front && queue_.back().first >= key) queue_.pop_back();
      queue_.emplace_back(key, s);
    }
    if (!possible(start)) continue;
    if (link.held.count > 0 && !history) high = std::min(high, hold_end(link.held, ready, std::max(ready, high)));
    while (front < queue_.size() && queue_[front].second > high) ++front;
    if (front == queue_.size()) continue;
    const Price after = queue_[front].first - (history ? 0 : price * (ready + link.lag_min));
    stage.price[at(start - stage.low)] = after + fine * start_price(b, start) + noise_of(bias);
    stage.choice[at(start - stage.low)] = queue_[front].second;
  }
}

/// The last block: priced by how long each plate of it stands.
void KitchenState::settle_last(int k, const Bias& bias, Stage& stage) {
  const Component& item = component(k);
  const int b = item.blocks.end() - 1;
  const Tick length = block(b).length;
  settle_block(b, bias, stage, nullptr);
  Price slope = 0;
  Price level = 0;
  Tick plated = no_tick;
  for (int f = item.feeds.first; f < item.feeds.end(); ++f) {
    const Feed& feed = problem_->feeds[at(f)];
    const int p = plating(feed.plate);
    if (!block_in(p)) continue;
    const Price price = fine * feed.price_stand * bias.stand_percent / 100;
    slope += price;
    level += price * (start_[at(p)] - feed.lag_min);
    plated = std::max(plated, start_[at(p)]);
  }
  Tick low = stage.low;
  if (item.held.count > 0 && plated != no_tick) {
    low = std::max(low, hold_begin(item.held, stage.low + length, plated) - length);
  }
  for (Tick start = std::max(low, stage.low); start <= stage.high; ++start) {
    if (pinned(b) ? start != start_[at(b)]
                  : (blocked_[at(start - stage.low) / 64] >> (at(start - stage.low) % 64) & 1U) != 0) {
      continue;
    }
    stage.price[at(start - stage.low)] = level - slope * (start + length) +
                                         fine * (start_price(b, start) + bias.early * (stage.high - start)) +
                                         noise_of(bias);
  }
}

bool KitchenState::settle(int k, const Bias& bias) {
  const Component& item = component(k);
  const int last = item.blocks.end() - 1;
  const Window window = window_of(k);
  if (window.high < window.low) return false;
  if (stages_.size() < at(item.blocks.count)) stages_.resize(at(item.blocks.count));
  Tick end_low = window.low;
  Tick end_high = window.high;
  for (int b = last; b >= item.blocks.first; --b) {
    Stage& stage = stages_[at(b - item.blocks.first)];
    stage.low = std::max(end_low - block(b).length, fixed_block(b) ? end_low - block(b).length : earliest(b));
    stage.high = end_high - block(b).length;
    if (pinned(b)) {
      const bool history = b < last && fixed_block(b) && fixed_block(b + 1);
      if (!history && (start_[at(b)] < stage.low || start_[at(b)] > stage.high)) return false;
      stage.low = stage.high = start_[at(b)];
    }
    if (stage.low > stage.high) return false;
    if (b == last) {
      settle_last(k, bias, stage);
    } else {
      settle_block(b, bias, stage, &stages_[at(b + 1 - item.blocks.first)]);
    }
    if (b == item.blocks.first) break;
    end_low = stage.low - block(b - 1).next.lag_max;
    end_high = stage.high - block(b - 1).next.lag_min;
  }
  const Stage& first = stages_[0];
  Tick start = no_tick;
  Price least = no_price;
  for (Tick s = first.high; s >= first.low; --s) {
    if (first.price[at(s - first.low)] >= least) continue;
    least = first.price[at(s - first.low)];
    start = s;
  }
  if (start == no_tick) return false;
  for (int b = item.blocks.first; b <= last; ++b) {
    const Stage& stage = stages_[at(b - item.blocks.first)];
    trial_[at(b)] = start;
    if (b < last) start = stage.choice[at(start - stage.low)];
  }
  commit_component(k);
  return true;
}

}  // namespace nappe::plan
