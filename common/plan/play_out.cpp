#include "common/plan/play_out.hpp"

#include <algorithm>
#include <array>
#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <set>

#include "common/bits.hpp"

namespace nappe::plan {
namespace {

using kitchen::StepKind;
using line::CourseKey;
using line::Pan;

// Equipment is steadier than hands: the scatter of a wait of which the files say nothing (an assumption, no source; the
// rehearsal's cooks have the same).
constexpr double wait_scatter = 0.07;
// What has taken longer than usual goes on for at least this share of its usual time.
constexpr double least_left = 0.05;

// What is fired later and takes hands and equipment pushes a course by about this share of the way to its end. Measured
// in the rehearsal of the demo restaurant, where without it three in four courses are gone by a word meant for four in
// five (`nappe rehearse` says how many are).
constexpr double fired_later = 0.025;

constexpr Duration aftermath = minutes(5);

constexpr std::size_t table_size = 1024;

// The standard normal at the middles of equal shares of chance.
const std::array<double, table_size>& normal_table() {
  static const auto table = [] {
    std::array<double, table_size> out{};
    const boost::math::normal normal;
    for (std::size_t i = 0; i < table_size; ++i)
      out[i] = boost::math::quantile(normal, (static_cast<double>(i) + 0.5) / table_size);
    return out;
  }();
  return table;
}

std::uint64_t luck(std::uint64_t key, int play) {
  return splitmix64_finish(key + static_cast<std::uint64_t>(play + 1) * splitmix64_step);
}

// A step of a pan still to be done; seconds, from the plan's making.
struct Item {
  std::uint64_t key = 0;  // of its luck
  double usual = 0;
  double sigma = 0;
  double spent = 0;    // of a running step
  double planned = 0;  // latest start
  double slack = 0;    // by hand: so long it may be put off once it could begin
  int group = -1;
  int round = 0;
  bool by_hand = false;
  bool running = false;
  bool first = false;  // nothing of its pan was begun before it: not begun before the plan wants it
};

// The number of rounds that a pan has not come to the end of.
struct Open {
  int group = 0;
  int at_least = 1;
  const kitchen::Rounds* rounds = nullptr;
  std::uint64_t key = 0;
  int drawn = 0;
};

struct Chain {
  std::vector<Item> items;
  std::vector<Open> open;
  std::vector<std::size_t> courses;  // those asked about that it belongs to
  std::size_t at = 0;
};

struct Lane {
  int hands = 1;
  std::vector<Chain> chains;
  int asked = 0;  // chains that belong to a course asked about
};

class Lanes {
 public:
  Lanes(const line::State& state, const Plan& plan, const std::vector<CourseKey>& courses)
      : state_(state), plan_(plan) {
    std::map<CourseKey, std::size_t> index;
    for (std::size_t i = 0; i < courses.size(); ++i) index.emplace(courses[i], i);
    std::map<std::string, Lane> by_station;
    // What the plan begins long after they are up takes no hand from them.
    Instant over = plan.made;
    for (const CourseKey& key : courses)
      if (const auto found = plan.courses.find(key); found != plan.courses.end())
        over = std::max(over, found->second.meet + aftermath);
    for (const auto& [id, pan_plan] : plan.pans) {
      const Pan* pan = state.find_pan(id);
      if (pan == nullptr || pan->finished || pan_plan.slots.empty()) continue;
      Chain chain;
      for (const line::Portion& portion : pan->portions)
        if (const auto found = index.find(portion.plate.of_course()); found != index.end()) {
          auto& of = chain.courses;
          if (std::find(of.begin(), of.end(), found->second) == of.end()) of.push_back(found->second);
        }
      if (chain.courses.empty() && (!pan_plan.scheduled || pan_plan.slots.front().latest > over)) continue;
      Lane& lane = by_station[pan->station];
      lane.asked += chain.courses.empty() ? 0 : 1;
      fill(*pan, pan_plan, chain);
      lane.chains.push_back(std::move(chain));
    }
    for (auto& [station, lane] : by_station) {
      if (lane.asked == 0) continue;
      const auto present = state.hands.find(station);
      lane.hands = std::max<int>(1, present == state.hands.end() ? 0 : static_cast<int>(present->second.size()));
      lanes_.push_back(std::move(lane));
    }
  }

  std::vector<Lane>& all() { return lanes_; }

 private:
  [[nodiscard]] double seconds_from_now(Instant at) const { return in_seconds(at - plan_.made); }

  void fill(const Pan& pan, const PanPlan& planned, Chain& chain) const {
    const auto& component = state_.component_of(pan);
    const int n = std::max(1, pan.portions_in());
    double stretch = 1.0;
    if (const auto present = state_.hands.find(pan.station); present != state_.hands.end())
      if (const double speed = state_.hands_at(pan.station); speed > 0)
        stretch = static_cast<double>(present->second.size()) / speed;
    const auto add = [&](int step_index, int round, double at, bool running) {
      const auto& step = component.steps[static_cast<std::size_t>(step_index)];
      Item item;
      item.key = luck((static_cast<std::uint64_t>(line::number(pan.id)) << 20U) ^
                          (static_cast<std::uint64_t>(step_index) << 8U) ^ static_cast<std::uint64_t>(round),
                      0);
      item.by_hand = step.by_hand();
      item.usual = in_seconds(step.usual(n)) * (item.by_hand ? stretch : 1.0);
      const bool silent = step.kind == StepKind::wait && step.scatter == kitchen::Step{}.scatter;
      item.sigma = step.kind == StepKind::rest ? 0 : silent ? wait_scatter : step.scatter;
      item.planned = at;
      item.group = step.group;
      item.round = round;
      item.running = running;
      if (running) item.spent = std::max(0.0, -seconds_from_now(pan.runs.back().started));
      item.slack = in_seconds(step.pause);
      if (step_index > 0) {
        const auto& before = component.steps[static_cast<std::size_t>(step_index - 1)];
        if (before.kind == StepKind::rest) item.slack = in_seconds(before.rest_max - before.usual(n));
      }
      item.first = chain.items.empty() && !pan.begun();
      chain.items.push_back(item);
    };
    for (std::size_t i = 0; i < planned.slots.size(); ++i) {
      const Slot& slot = planned.slots[i];
      add(slot.step, slot.round, seconds_from_now(slot.latest), slot.running);
      const int group = component.steps[static_cast<std::size_t>(slot.step)].group;
      if (group < 0 || pan.rounds.count(group) != 0) continue;
      const auto& rounds = component.groups[static_cast<std::size_t>(group)];
      const bool last = i + 1 == planned.slots.size() ||
                        component.steps[static_cast<std::size_t>(planned.slots[i + 1].step)].group != group;
      if (!last) continue;
      // Rounds beyond the usual number are there to be drawn.
      const double then = i + 1 < planned.slots.size() ? seconds_from_now(planned.slots[i + 1].latest) : 0;
      int most = rounds.max;
      for (const auto& [count, share] : rounds.seen) most = std::max(most, count);
      for (int round = slot.round + 1; round <= most; ++round)
        for (int step = rounds.first; step <= rounds.last; ++step) add(step, round, then, false);
      const int now_in = component.steps[static_cast<std::size_t>(pan.place.step)].group == group ? pan.place.round : 1;
      chain.open.push_back({group, std::max(rounds.min, now_in), &rounds, luck(chain.items.front().key, 1), 0});
    }
  }

  const line::State& state_;
  const Plan& plan_;
  std::vector<Lane> lanes_;
};

// How many rounds it takes, by the house's counts of those that took at least as many as there were.
int rounds_drawn(const Open& open, int play) {
  double sum = 0;
  for (const auto& [count, share] : open.rounds->seen) sum += count >= open.at_least ? share : 0;
  if (sum <= 0) return std::max(open.rounds->usual, open.at_least);
  const double u = static_cast<double>(luck(open.key, play) >> 11U) * 0x1.0p-53 * sum;
  double below = 0;
  int drawn = open.at_least;
  for (const auto& [count, share] : open.rounds->seen) {
    if (count < open.at_least) continue;
    below += share;
    drawn = count;
    if (u < below) break;
  }
  return drawn;
}

class Play {
 public:
  /// Plays one lane; `ends`: by course asked about, the latest end so far.
  void run(Lane& lane, int play, std::vector<double>& ends) {
    play_ = play;
    events_.clear();
    waiting_.clear();
    free_ = lane.hands;
    open_ = lane.asked;
    lane_ = &lane;
    ends_ = &ends;
    for (std::size_t c = 0; c < lane.chains.size(); ++c) begin(c);
    while (open_ > 0 && !events_.empty()) {
      std::pop_heap(events_.begin(), events_.end(), later);
      const Event event = events_.back();
      events_.pop_back();
      if (event.freed) {
        ++free_;
        ++lane.chains[event.chain].at;
        advance(event.chain, event.at);
      } else {
        waiting_.push_back(event.chain);
      }
      if (!events_.empty() && events_.front().at <= event.at) continue;
      while (free_ > 0 && !waiting_.empty()) take(event.at);
    }
  }

 private:
  struct Event {
    double at;
    std::size_t chain;
    bool freed;
  };
  static bool later(const Event& a, const Event& b) { return a.at != b.at ? a.at > b.at : a.chain > b.chain; }

  void push(double at, std::size_t chain, bool freed) {
    events_.push_back({at, chain, freed});
    std::push_heap(events_.begin(), events_.end(), later);
  }

  double takes(const Item& item) const {
    double time = item.usual;
    if (item.sigma > 0) time *= std::exp(item.sigma * normal_[luck(item.key, play_) % table_size]);
    return item.running ? std::max(time - item.spent, least_left * item.usual) : time;
  }

  void begin(std::size_t c) {
    Chain& chain = lane_->chains[c];
    chain.at = 0;
    for (Open& open : chain.open) open.drawn = rounds_drawn(open, play_);
    const Item& first = chain.items.front();
    if (!first.running || !first.by_hand) return advance(c, 0);
    --free_;  // whoever is at it goes on
    push(takes(first), c, true);
  }

  // Through waits and rests to the next move, or to the end.
  void advance(std::size_t c, double at) {
    Chain& chain = lane_->chains[c];
    for (; chain.at < chain.items.size(); ++chain.at) {
      const Item& item = chain.items[chain.at];
      if (skipped(chain, item)) continue;
      if (!item.by_hand) {
        at += takes(item);
        continue;
      }
      const double due = item.first ? std::max(at, item.planned) : std::clamp(item.planned, at, at + item.slack);
      return push(due, c, false);
    }
    if (chain.courses.empty()) return;
    --open_;
    for (const std::size_t course : chain.courses) (*ends_)[course] = std::max((*ends_)[course], at);
  }

  static bool skipped(const Chain& chain, const Item& item) {
    if (item.group < 0) return false;
    for (const Open& open : chain.open)
      if (open.group == item.group) return item.round > open.drawn;
    return false;
  }

  // A free hand takes what can least be put off.
  void take(double at) {
    std::size_t best = 0;
    for (std::size_t i = 1; i < waiting_.size(); ++i)
      if (planned(waiting_[i]) < planned(waiting_[best])) best = i;
    const std::size_t chain = waiting_[best];
    waiting_[best] = waiting_.back();
    waiting_.pop_back();
    --free_;
    push(at + takes(item_of(chain)), chain, true);
  }
  const Item& item_of(std::size_t chain) const { return lane_->chains[chain].items[lane_->chains[chain].at]; }
  double planned(std::size_t chain) const { return item_of(chain).planned; }

  const std::array<double, table_size>& normal_ = normal_table();
  int play_ = 0;
  int free_ = 0;
  int open_ = 0;
  Lane* lane_ = nullptr;
  std::vector<double>* ends_ = nullptr;
  std::vector<Event> events_;
  std::vector<std::size_t> waiting_;
};

}  // namespace

std::map<CourseKey, Instant> play_out(const line::State& state, const Plan& plan, const std::vector<CourseKey>& courses,
                                      double chance, int times) {
  std::map<CourseKey, Instant> out;
  if (courses.empty() || times < 1) return out;
  Lanes lanes(state, plan, courses);
  constexpr double nothing = -1;
  std::vector<std::vector<double>> ends(courses.size());
  Play play;
  std::vector<double> last;
  for (int i = 0; i < times; ++i) {
    last.assign(courses.size(), nothing);
    for (Lane& lane : lanes.all()) play.run(lane, i, last);
    for (std::size_t c = 0; c < courses.size(); ++c)
      if (last[c] > nothing) ends[c].push_back(last[c]);
  }
  for (std::size_t c = 0; c < courses.size(); ++c) {
    if (ends[c].empty()) continue;
    const auto rank = static_cast<std::ptrdiff_t>(std::clamp(
        std::ceil(chance * static_cast<double>(ends[c].size())) - 1, 0.0, static_cast<double>(ends[c].size() - 1)));
    std::nth_element(ends[c].begin(), ends[c].begin() + rank, ends[c].end());
    out[courses[c]] = plan.made + from_seconds((1 + fired_later) * ends[c][static_cast<std::size_t>(rank)]);
  }
  return out;
}

}  // namespace nappe::plan
