#include "common/plan/play_out.hpp"

#include <algorithm>
#include <array>
#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <limits>
#include <memory>
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
// Nobody looks again for less (seconds).
constexpr double least_wait = 1;

constexpr Duration aftermath = minutes(5);

constexpr std::size_t table_size = 1024;
constexpr double never = std::numeric_limits<double>::infinity();

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
  const double* factors = nullptr;  // of its scatter: what a draw takes of the usual time; null when it has none
  double spent = 0;                 // of a running step
  double planned = 0;               // latest start
  double slack = 0;                 // by hand: so long it may be put off once it could begin
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
  std::size_t lane = 0;              // its station's
  double ready = 0;                  // when the plan has it finished
  double may = 0;                    // since when its next move could have begun
  double over = never;               // while it is in hand: when the plan has that ended
  std::size_t at = 0;
};

// The stations at work for the courses asked about.
class Lanes {
 public:
  Lanes(const line::State& state, const Plan& plan, const std::vector<CourseKey>& courses)
      : state_(state), plan_(plan) {
    std::map<CourseKey, std::size_t> index;
    for (std::size_t i = 0; i < courses.size(); ++i) index.emplace(courses[i], i);
    // What the plan begins long after they are up takes no hand from them.
    Instant over = plan.made;
    for (const CourseKey& key : courses)
      if (const auto found = plan.courses.find(key); found != plan.courses.end())
        over = std::max(over, found->second.meet + aftermath);
    std::map<std::string, std::size_t> lane_of;
    for (const auto& [id, planned] : plan.pans) {
      const Pan* pan = live(id, planned);
      if (pan == nullptr) continue;
      std::vector<std::size_t> of;
      for (const line::Portion& portion : pan->portions)
        if (const auto found = index.find(portion.plate.of_course()); found != index.end())
          if (std::find(of.begin(), of.end(), found->second) == of.end()) of.push_back(found->second);
      if (of.empty()) continue;
      const auto [lane, fresh] = lane_of.emplace(pan->station, hands_.size());
      if (fresh) hands_.push_back(pairs_at(pan->station));
      add_chain(*pan, planned, lane->second, std::move(of));
    }
    asked_ = chains_.size();
    // Whoever else wants those hands; what the plan begins long after the courses are up takes none from them.
    for (const auto& [id, planned] : plan.pans) {
      const Pan* pan = live(id, planned);
      if (pan == nullptr || !planned.scheduled || planned.slots.front().latest > over) continue;
      const auto lane = lane_of.find(pan->station);
      const bool here = std::any_of(pan->portions.begin(), pan->portions.end(), [&](const line::Portion& portion) {
        return index.count(portion.plate.of_course()) != 0;
      });
      if (lane != lane_of.end() && !here) add_chain(*pan, planned, lane->second, {});
    }
  }

  std::vector<Chain>& chains() { return chains_; }
  [[nodiscard]] const std::vector<int>& hands() const { return hands_; }
  /// The first so many chains are of courses asked about.
  [[nodiscard]] std::size_t asked() const { return asked_; }

 private:
  [[nodiscard]] double seconds_from_now(Instant at) const { return in_seconds(at - plan_.made); }

  [[nodiscard]] const Pan* live(line::PanId id, const PanPlan& planned) const {
    const Pan* pan = state_.find_pan(id);
    return pan == nullptr || pan->finished || planned.slots.empty() ? nullptr : pan;
  }
  [[nodiscard]] int pairs_at(const std::string& station) const {
    const auto present = state_.hands.find(station);
    return std::max<int>(1, present == state_.hands.end() ? 0 : static_cast<int>(present->second.size()));
  }

  // The log-normal factors of a scatter; a kitchen has few different ones.
  const double* factors_of(double sigma) {
    if (sigma <= 0) return nullptr;
    for (const auto& [known, table] : factors_)
      if (known == sigma) return table->data();
    auto table = std::make_unique<std::array<double, table_size>>();
    std::transform(normal_table().begin(), normal_table().end(), table->begin(),
                   [&](double z) { return std::exp(sigma * z); });
    return factors_.emplace_back(sigma, std::move(table)).second->data();
  }

  void add_chain(const Pan& pan, const PanPlan& planned, std::size_t lane, std::vector<std::size_t> courses) {
    Chain& chain = chains_.emplace_back();
    chain.lane = lane;
    chain.courses = std::move(courses);
    chain.ready = seconds_from_now(planned.ready);
    fill(pan, planned, chain);
  }

  void fill(const Pan& pan, const PanPlan& planned, Chain& chain) {
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
      item.factors = factors_of(step.kind == StepKind::rest ? 0 : silent ? wait_scatter : step.scatter);
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
  std::vector<Chain> chains_;
  std::vector<int> hands_;  // by lane
  std::size_t asked_ = 0;
  std::vector<std::pair<double, std::unique_ptr<std::array<double, table_size>>>> factors_;  // by scatter
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
  /// Plays all of it once; `ends`: by course asked about, when the last of it was done.
  void run(Lanes& lanes, int play, std::vector<double>& ends) {
    play_ = play;
    events_.clear();
    lanes_ = &lanes;
    ends_ = &ends;
    free_ = lanes.hands();
    waiting_.resize(free_.size());
    for (auto& one : waiting_) one.clear();
    late_.assign(ends.size(), 0);
    open_ = lanes.asked();
    for (std::size_t c = 0; c < lanes.chains().size(); ++c) begin(c);
    while (open_ > 0 && !events_.empty()) {
      const double now = events_.front().at;
      while (!events_.empty() && events_.front().at <= now) {
        std::pop_heap(events_.begin(), events_.end(), Later{});
        const Event event = events_.back();
        events_.pop_back();
        happen(event);
      }
      for (std::size_t lane = 0; lane < free_.size(); ++lane)
        while (free_[lane] > 0 && !waiting_[lane].empty()) take(lane, now);
    }
  }

 private:
  struct Event {
    double at;
    std::size_t chain;
    bool freed;
  };
  struct Later {
    bool operator()(const Event& a, const Event& b) const { return a.at != b.at ? a.at > b.at : a.chain > b.chain; }
  };

  void push(double at, std::size_t chain, bool freed) {
    events_.push_back({at, chain, freed});
    std::push_heap(events_.begin(), events_.end(), Later{});
  }

  double takes(const Item& item) const {
    double time = item.usual;
    if (item.factors != nullptr) time *= item.factors[luck(item.key, play_) % table_size];
    return item.running ? std::max(time - item.spent, least_left * item.usual) : time;
  }

  Chain& chain_of(std::size_t c) { return lanes_->chains()[c]; }

  void begin(std::size_t c) {
    Chain& chain = chain_of(c);
    chain.at = 0;
    chain.over = never;
    for (Open& open : chain.open) open.drawn = rounds_drawn(open, play_);
    const Item& first = chain.items.front();
    if (!first.running || !first.by_hand) return advance(c, 0);
    work(c, 0);  // whoever is at it goes on
  }

  void work(std::size_t c, double at) {
    Chain& chain = chain_of(c);
    --free_[chain.lane];
    chain.over = chain.at + 1 < chain.items.size() ? chain.items[chain.at + 1].planned : chain.ready;
    push(at + takes(chain.items[chain.at]), c, true);
  }

  void happen(const Event& event) {
    Chain& chain = chain_of(event.chain);
    if (event.freed) {
      ++free_[chain.lane];
      chain.over = never;
      ++chain.at;
      return advance(event.chain, event.at);
    }
    // Its course has been put off since, or something of it is still in hand that should be over: so is this put off.
    for (std::size_t c = 0; c < lanes_->asked(); ++c)
      if (chain_of(c).over < event.at) put_off(chain_of(c), event.at - chain_of(c).over);
    const double due = due_at(chain, event.at);
    if (due > event.at + least_wait) return push(due, event.chain, false);
    waiting_[chain.lane].push_back(event.chain);
  }

  // Through waits and rests to the next move, or to the end.
  void advance(std::size_t c, double at) {
    Chain& chain = chain_of(c);
    for (; chain.at < chain.items.size(); ++chain.at) {
      const Item& item = chain.items[chain.at];
      if (skipped(chain, item)) continue;
      if (!item.by_hand) {
        at += takes(item);
        continue;
      }
      put_off(chain, at - item.planned);
      chain.may = at;
      return push(due_at(chain, at), c, false);
    }
    if (chain.courses.empty()) return;
    put_off(chain, at - chain.ready);
    --open_;
    for (const std::size_t course : chain.courses) (*ends_)[course] = std::max((*ends_)[course], at);
  }

  // The course follows the slowest of its components: what is not begun yet is begun that much later, and what stands
  // waits where it can.
  void put_off(const Chain& chain, double late) {
    for (const std::size_t course : chain.courses) late_[course] = std::max(late_[course], late);
  }
  double due_at(const Chain& chain, double now) const {
    const Item& item = chain.items[chain.at];
    double late = chain.courses.empty() ? 0 : late_[chain.courses.front()];
    for (const std::size_t course : chain.courses) late = std::min(late, late_[course]);
    const double due = item.planned + late;
    return std::max(now, item.first ? due : std::min(due, chain.may + item.slack));
  }

  static bool skipped(const Chain& chain, const Item& item) {
    if (item.group < 0) return false;
    for (const Open& open : chain.open)
      if (open.group == item.group) return item.round > open.drawn;
    return false;
  }

  // A free hand takes what can least be put off.
  void take(std::size_t lane, double at) {
    auto& waiting = waiting_[lane];
    std::size_t best = 0;
    for (std::size_t i = 1; i < waiting.size(); ++i)
      if (planned(waiting[i]) < planned(waiting[best])) best = i;
    const std::size_t chain = waiting[best];
    waiting[best] = waiting.back();
    waiting.pop_back();
    work(chain, at);
  }
  const Item& item_of(std::size_t chain) const { return lanes_->chains()[chain].items[lanes_->chains()[chain].at]; }
  double planned(std::size_t chain) const { return item_of(chain).planned; }

  int play_ = 0;
  std::vector<int> free_;  // by lane
  std::size_t open_ = 0;
  Lanes* lanes_ = nullptr;
  std::vector<double>* ends_ = nullptr;
  std::vector<double> late_;  // by course asked about
  std::vector<Event> events_;
  std::vector<std::vector<std::size_t>> waiting_;  // by lane
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
    play.run(lanes, i, last);
    for (std::size_t c = 0; c < courses.size(); ++c)
      if (last[c] > nothing) ends[c].push_back(last[c]);
  }
  for (std::size_t c = 0; c < courses.size(); ++c) {
    if (ends[c].empty()) continue;
    const auto rank = static_cast<std::ptrdiff_t>(std::clamp(
        std::ceil(chance * static_cast<double>(ends[c].size())) - 1, 0.0, static_cast<double>(ends[c].size() - 1)));
    std::nth_element(ends[c].begin(), ends[c].begin() + rank, ends[c].end());
    out[courses[c]] = plan.made + from_seconds(ends[c][static_cast<std::size_t>(rank)]);
  }
  return out;
}

}  // namespace nappe::plan
