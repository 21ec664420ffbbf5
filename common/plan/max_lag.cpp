#include "common/plan/max_lag.hpp"

#include <algorithm>

#include "common/plan/splitmix.hpp"

namespace nappe::plan {
namespace {

constexpr std::int32_t none = -(1 << 28);

std::size_t at(int index) { return static_cast<std::size_t>(index); }

/// Longest distances between starts, closed under addition. Node 0 is the project's start, the last its end.
class Distances {
 public:
  explicit Distances(int nodes) : nodes_(nodes), values_(at(nodes) * at(nodes), none) {
    for (int i = 0; i < nodes; ++i) set(i, i, 0);
  }
  std::int32_t get(int from, int to) const { return values_[at(from) * at(nodes_) + at(to)]; }
  void set(int from, int to, std::int32_t value) { values_[at(from) * at(nodes_) + at(to)] = value; }

  /// start(to) - start(from) >= least; false if that contradicts what is there.
  bool add(int from, int to, std::int32_t least) {
    if (least <= get(from, to)) return true;
    if (get(to, from) + least > 0) return false;
    // Where there is no path the sums stay far below any real distance.
    const std::int32_t* beyond = row(to);
    row_.assign(beyond, beyond + nodes_);
    for (int i = 0; i < nodes_; ++i) {
      const std::int32_t way = get(i, from) + least;
      if (way < none / 2) continue;
      std::int32_t* values = row(i);
      for (int j = 0; j < nodes_; ++j) values[j] = std::max(values[j], way + row_[at(j)]);
    }
    return true;
  }

 private:
  std::int32_t* row(int from) { return values_.data() + at(from) * at(nodes_); }

  int nodes_;
  std::vector<std::int32_t> values_;
  std::vector<std::int32_t> row_;
};

struct Order {
  int before;
  int after;
  std::int32_t makespan;  ///< At least this, if posted.
  std::int32_t slack;
};

class Posting {
 public:
  Posting(const Project& project, const LagEffort& effort)
      : p_(project), count_(static_cast<int>(project.activities.size())), left_(effort.nodes), random_(effort.seed) {}

  LagResult run() {
    LagResult result;
    Distances root(count_ + 2);
    bool possible = true;
    for (int a = 0; a < count_ && possible; ++a) {
      possible = root.add(0, a + 1, 0) && root.add(a + 1, count_ + 1, duration(a));
    }
    for (const StartLag& lag : p_.lags) possible = possible && root.add(lag.from + 1, lag.to + 1, lag.least);
    // Each round asks for something shorter than the last; short rounds with other ties, then ever longer ones.
    int round_nodes = 200;
    while (possible && left_ > 0) {
      Distances start = root;
      const bool open = best_.start.empty() || start.add(count_ + 1, 0, 1 - best_.makespan);
      if (!open) {
        result.proven = true;
        break;
      }
      limit_ = left_ - round_nodes;
      found_ = false;
      const bool complete = search(start);
      if (found_) continue;
      if (complete) {
        result.proven = true;
        break;
      }
      round_nodes += round_nodes / 2;
      ++rounds_;
    }
    if (!possible) result.proven = true;
    if (!best_.start.empty()) result.schedule = best_;
    result.nodes = used_;
    return result;
  }

 private:
  std::int32_t duration(int a) const { return p_.activities[at(a)].duration; }

  /// False when it stopped before everything was tried.
  bool search(const Distances& distances) {
    ++used_;
    if (--left_ <= 0 || left_ < limit_) return false;
    std::vector<Order> orders;
    if (!hardest_conflict(distances, orders)) {
      keep(distances);
      return true;
    }
    // Every other round keeps room first and looks at the end second.
    const bool room_first = rounds_ % 2 == 1;
    std::stable_sort(orders.begin(), orders.end(), [&](const Order& a, const Order& b) {
      if (room_first && a.slack != b.slack) return a.slack > b.slack;
      return std::pair(a.makespan, -a.slack) < std::pair(b.makespan, -b.slack);
    });
    Distances rest = distances;
    for (const Order& order : orders) {
      Distances next = rest;
      if (next.add(order.before + 1, order.after + 1, duration(order.before))) {
        if (!search(next)) return false;
        if (found_) return true;
      }
      // From here on this order does not hold: the later one starts before the other ends.
      if (!rest.add(order.after + 1, order.before + 1, 1 - duration(order.before))) return true;
    }
    return true;
  }

  void keep(const Distances& distances) {
    best_.start.resize(at(count_));
    best_.makespan = 0;
    for (int a = 0; a < count_; ++a) {
      best_.start[at(a)] = distances.get(0, a + 1);
      best_.makespan = std::max(best_.makespan, best_.start[at(a)] + duration(a));
    }
    found_ = true;
  }

  /// Where the earliest schedule overdraws a resource: the ways out of the conflict that leaves fewest. False if there
  /// is no conflict; no ways at all if one of them cannot be resolved.
  bool hardest_conflict(const Distances& distances, std::vector<Order>& orders) {
    bool conflict = false;
    for (std::size_t r = 0; r < p_.capacity.size(); ++r) {
      for (int peak = 0; peak < count_; ++peak) {
        if (p_.activities[at(peak)].demand[r] == 0 || duration(peak) == 0) continue;
        const std::int32_t tick = distances.get(0, peak + 1);
        crowd_.clear();
        int used = 0;
        for (int a = 0; a < count_; ++a) {
          const std::int32_t start = distances.get(0, a + 1);
          if (p_.activities[at(a)].demand[r] == 0 || tick < start || tick >= start + duration(a)) continue;
          crowd_.push_back(a);
          used += p_.activities[at(a)].demand[r];
        }
        if (used <= p_.capacity[r]) continue;
        shrink(r, used);
        std::vector<Order> ways = ways_out(distances);
        if (!conflict || ways.size() < orders.size()) orders = std::move(ways);
        conflict = true;
        if (orders.empty()) return true;
      }
    }
    return conflict;
  }

  /// Leaves a set that is too much but would not be with any one less: the small demands go first.
  void shrink(std::size_t r, int used) {
    if (rounds_ > 0) random_.shuffle(crowd_);
    std::stable_sort(crowd_.begin(), crowd_.end(),
                     [&](int a, int b) { return p_.activities[at(a)].demand[r] < p_.activities[at(b)].demand[r]; });
    std::erase_if(crowd_, [&](int a) {
      const int demand = p_.activities[at(a)].demand[r];
      if (used - demand <= p_.capacity[r]) return false;
      used -= demand;
      return true;
    });
  }

  std::vector<Order> ways_out(const Distances& distances) {
    std::vector<Order> ways;
    const std::int32_t makespan = distances.get(0, count_ + 1);
    for (int a : crowd_) {
      for (int b : crowd_) {
        if (a == b || distances.get(b + 1, a + 1) + duration(a) > 0) continue;
        const std::int32_t start = distances.get(0, a + 1) + duration(a);
        const std::int32_t slack = -distances.get(b + 1, a + 1) - duration(a);
        const std::int32_t end = std::max(makespan, start + distances.get(b + 1, count_ + 1));
        ways.push_back({a, b, end, std::min(slack, 1 << 20)});
      }
    }
    if (rounds_ > 0) random_.shuffle(ways);
    return ways;
  }

  const Project& p_;
  int count_;
  int left_;
  int limit_ = 0;
  int used_ = 0;
  int rounds_ = 0;
  bool found_ = false;
  SplitMix random_;
  std::vector<int> crowd_;
  ProjectSchedule best_;
};

}  // namespace

LagResult shorten_lagged_project(const Project& project, const LagEffort& effort) {
  return Posting(project, effort).run();
}

}  // namespace nappe::plan
