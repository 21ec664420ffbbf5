#include "common/plan/makespan.hpp"

#include <algorithm>

#include "common/plan/critical_path.hpp"
#include "common/plan/profile.hpp"
#include "common/plan/splitmix.hpp"

namespace nappe::plan {
namespace {

std::size_t at(int index) { return static_cast<std::size_t>(index); }

struct Member {
  std::vector<int> list;
  std::vector<char> critical;  ///< By activity: pushing everything right and left again did not move it.
  std::vector<std::int32_t> start;
  std::int32_t makespan = 0;
};

class Search {
 public:
  Search(const Project& project, const MakespanEffort& effort)
      : p_(project), left_(effort.schedules), random_(effort.seed), bound_(makespan_bound(project)) {
    const std::size_t count = p_.activities.size();
    before_.resize(count);
    after_.resize(count);
    for (const StartLag& lag : p_.lags) {
      before_[at(lag.to)].push_back({lag.from, lag.least});
      after_[at(lag.from)].push_back({lag.to, lag.least});
      horizon_ += lag.least;
    }
    for (const Activity& a : p_.activities) horizon_ += a.duration;
    dates_ = critical_path(p_).path.dates;
    calendar_.resize(p_.capacity.size());
  }

  ProjectSchedule run() {
    while (!done()) {
      start_members();
      int idle = 0;
      while (!done() && idle < patience()) idle = vary() ? 0 : idle + 1;
    }
    return {best_.start, best_.makespan};
  }

 private:
  struct Neighbour {
    int activity;
    std::int32_t least;
  };

  bool done() const { return left_ <= 0 || (best_.makespan <= bound_ && !best_.list.empty()); }

  void clear() {
    for (std::size_t r = 0; r < calendar_.size(); ++r) calendar_[r].reset(p_.capacity[r], 0, horizon_);
    --left_;
  }

  void take(int a, std::int32_t start) {
    const Activity& activity = p_.activities[at(a)];
    for (std::size_t r = 0; r < calendar_.size(); ++r) {
      calendar_[r].place(start, start + activity.duration, activity.demand[r]);
    }
  }

  /// The first start from `start` on at which the activity fits.
  std::int32_t fit_first(int a, std::int32_t start) const {
    const Activity& activity = p_.activities[at(a)];
    for (std::size_t r = 0, agreed = 0; agreed < calendar_.size(); r = (r + 1) % calendar_.size()) {
      const std::int32_t full = calendar_[r].last_full(start, start + activity.duration, activity.demand[r]);
      ++agreed;
      // Every start up to the last full tick still meets it.
      if (full >= start) {
        start = full + 1;
        agreed = 0;
      }
    }
    return start;
  }

  /// The last start up to `start` at which the activity fits.
  std::int32_t fit_last(int a, std::int32_t start) const {
    const Activity& activity = p_.activities[at(a)];
    for (std::size_t r = 0, agreed = 0; agreed < calendar_.size(); r = (r + 1) % calendar_.size()) {
      const std::int32_t end = start + activity.duration;
      const std::int32_t full = calendar_[r].first_full(start, end, activity.demand[r]);
      ++agreed;
      if (full < end) {
        start = full - activity.duration;
        agreed = 0;
      }
    }
    return start;
  }

  void forward(const std::vector<int>& list, std::vector<std::int32_t>& start) {
    clear();
    for (int a : list) {
      std::int32_t earliest = 0;
      for (const Neighbour& n : before_[at(a)]) earliest = std::max(earliest, start[at(n.activity)] + n.least);
      start[at(a)] = fit_first(a, earliest);
      take(a, start[at(a)]);
    }
  }

  void backward(const std::vector<int>& list, std::vector<std::int32_t>& start, std::int32_t end) {
    clear();
    for (auto a = list.rbegin(); a != list.rend(); ++a) {
      std::int32_t latest = end - p_.activities[at(*a)].duration;
      for (const Neighbour& n : after_[at(*a)]) latest = std::min(latest, start[at(n.activity)] - n.least);
      start[at(*a)] = fit_last(*a, latest);
      take(*a, start[at(*a)]);
    }
  }

  std::int32_t end_of(const std::vector<std::int32_t>& start) const {
    std::int32_t end = 0;
    for (std::size_t a = 0; a < start.size(); ++a) end = std::max(end, start[a] + p_.activities[a].duration);
    return end;
  }

  void order_by_start(std::vector<int>& list, const std::vector<std::int32_t>& start) const {
    std::stable_sort(list.begin(), list.end(), [&](int a, int b) { return start[at(a)] < start[at(b)]; });
  }

  /// Generates, then pushes everything right and left again, unless it is longer than `hopeless`.
  void evaluate(Member& member, std::int32_t hopeless) {
    member.start.resize(p_.activities.size());
    forward(member.list, member.start);
    member.makespan = end_of(member.start);
    member.critical.assign(p_.activities.size(), 1);
    while (left_ >= 2 && member.makespan <= hopeless) {
      std::vector<std::int32_t> start = member.start;
      std::vector<int> list = member.list;
      std::stable_sort(list.begin(), list.end(), [&](int a, int b) {
        return start[at(a)] + p_.activities[at(a)].duration < start[at(b)] + p_.activities[at(b)].duration;
      });
      backward(list, start, member.makespan);
      order_by_start(list, start);
      const std::vector<std::int32_t> right = start;
      forward(list, start);
      for (std::size_t a = 0; a < start.size(); ++a) member.critical[a] = right[a] == start[a] ? 1 : 0;
      const std::int32_t end = end_of(start);
      const bool shorter = end < member.makespan;
      if (end <= member.makespan) {
        member.start = start;
        member.makespan = end;
        order_by_start(list, start);
        member.list = list;
      }
      if (!shorter) break;
    }
  }

  /// A list drawn with a bias to what must finish early (latest finish, regret).
  Member sampled(bool plain) {
    const std::size_t count = p_.activities.size();
    std::vector<int> waiting(count, 0);
    std::vector<int> ready;
    for (std::size_t a = 0; a < count; ++a) {
      waiting[a] = static_cast<int>(before_[a].size());
      if (waiting[a] == 0) ready.push_back(static_cast<int>(a));
    }
    Member member;
    while (!ready.empty()) {
      std::int32_t worst = 0;
      for (int a : ready) worst = std::max(worst, dates_[at(a)].late_finish);
      std::size_t chosen = 0;
      if (plain) {
        for (std::size_t i = 1; i < ready.size(); ++i) {
          if (dates_[at(ready[i])].late_finish < dates_[at(ready[chosen])].late_finish) chosen = i;
        }
      } else {
        std::int64_t sum = 0;
        for (int a : ready) sum += worst - dates_[at(a)].late_finish + 1;
        auto ticket = static_cast<std::int64_t>(random_.next() % static_cast<std::uint64_t>(sum));
        for (; chosen + 1 < ready.size(); ++chosen) {
          ticket -= worst - dates_[at(ready[chosen])].late_finish + 1;
          if (ticket < 0) break;
        }
      }
      const int a = ready[chosen];
      ready.erase(ready.begin() + static_cast<std::ptrdiff_t>(chosen));
      member.list.push_back(a);
      for (const Neighbour& n : after_[at(a)]) {
        if (--waiting[at(n.activity)] == 0) ready.push_back(n.activity);
      }
    }
    return member;
  }

  int patience() const { return 400 + 20 * static_cast<int>(p_.activities.size()); }

  /// Samples, and keeps the two best.
  void start_members() {
    members_.clear();
    std::vector<Member> pool;
    for (int i = 0; i < 24 && !done(); ++i) {
      Member member = sampled(i == 0);
      evaluate(member, horizon_);
      note(member);
      pool.push_back(std::move(member));
    }
    std::stable_sort(pool.begin(), pool.end(),
                     [](const Member& a, const Member& b) { return a.makespan < b.makespan; });
    pool.resize(std::min<std::size_t>(pool.size(), 2));
    members_ = std::move(pool);
  }

  void note(const Member& member) {
    if (best_.list.empty() || member.makespan < best_.makespan) best_ = member;
  }

  /// Re-inserts three to ten activities of one of the two, critical ones above all; true if that became shorter.
  bool vary() {
    Member& parent = members_[at(random_.below(static_cast<int>(members_.size())))];
    Member child = parent;
    const int moves = 3 + random_.below(8);
    for (int i = 0; i < moves; ++i) {
      int from = random_.below(static_cast<int>(child.list.size()));
      for (int tries = 0; tries < 8 && parent.critical[at(child.list[at(from)])] == 0 && i % 4 != 3; ++tries) {
        from = random_.below(static_cast<int>(child.list.size()));
      }
      reinsert(child.list, from);
    }
    evaluate(child, parent.makespan + parent.makespan / 20);
    note(child);
    const bool shorter = child.makespan < parent.makespan;
    if (child.makespan <= parent.makespan) parent = std::move(child);
    return shorter;
  }

  /// Anywhere between its predecessors and successors.
  void reinsert(std::vector<int>& list, int from) {
    const int a = list[at(from)];
    int low = from;
    while (low > 0 && !follows(list[at(low - 1)], a)) --low;
    int high = from;
    while (high + 1 < static_cast<int>(list.size()) && !follows(a, list[at(high + 1)])) ++high;
    const int to = low + random_.below(high - low + 1);
    list.erase(list.begin() + from);
    list.insert(list.begin() + to, a);
  }

  bool follows(int before, int after) const {
    const auto& next = after_[at(before)];
    return std::any_of(next.begin(), next.end(), [&](const Neighbour& n) { return n.activity == after; });
  }

  const Project& p_;
  int left_;
  SplitMix random_;
  std::int32_t bound_;
  std::int32_t horizon_ = 1;
  std::vector<std::vector<Neighbour>> before_, after_;
  std::vector<ActivityDates> dates_;
  std::vector<Profile> calendar_;
  std::vector<Member> members_;
  Member best_;
};

}  // namespace

std::int32_t makespan_bound(const Project& project) {
  std::int32_t bound = critical_path(project).path.length;
  for (std::size_t r = 0; r < project.capacity.size(); ++r) {
    std::int64_t work = 0;
    for (const Activity& a : project.activities) work += std::int64_t{a.duration} * a.demand[r];
    if (project.capacity[r] == 0) continue;
    bound = std::max(bound, static_cast<std::int32_t>((work + project.capacity[r] - 1) / project.capacity[r]));
  }
  return bound;
}

ProjectSchedule shorten_project(const Project& project, const MakespanEffort& effort) {
  if (project.activities.empty()) return {};
  return Search(project, effort).run();
}

}  // namespace nappe::plan
