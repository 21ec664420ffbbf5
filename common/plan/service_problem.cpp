#include "common/plan/service_problem.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "common/line/covers.hpp"

namespace nappe::plan {
namespace {

using kitchen::StepKind;
using line::Ahead;
using line::CourseKey;
using line::CourseState;
using line::Pan;
using line::PanId;

// A plate that is late by a second, at the middle of fresh ... prompt.
constexpr Price plate_second = 10;
// A component that has to stand for as long as it keeps costs as much as its plates being this late.
constexpr double stand_seconds = 120;
constexpr Price price_move_soon = 5;
constexpr Price price_move_later = 1;
constexpr Duration soon = minutes(5);
// A hand that comes late to a pan on the heat: little for a moment, dear for long, so that no pan is left for a later
// gap in the list however well the rest would then fit.
constexpr Price price_break = 6000;
constexpr Price price_break_second = 30;
constexpr Price price_thaw = 2000;
// Nobody turns a thing to the second: the hand behind a wait may come this much later, at a price, and later still
// where the wait itself bears it.
constexpr Duration hand_slack = seconds(60);
// Longer than any evening.
constexpr Tick forever = 1 << 20;
constexpr std::size_t courses_max = 80;
// A course is planned for before it is fired when its table will be clear within this time.
constexpr Duration expected_ahead = minutes(20);
// A rest that forgives at least this much is begun before the course is fired.
constexpr Duration early_rest_room = minutes(3);
constexpr Price price_slack = 2;
// Where a thing may wait without harm it waits before it rests for longer than it was meant to: a pause is cheaper.
constexpr Price price_pause = 1;
constexpr Price price_rest = 2;

Tick ticks_up(Duration d) {
  const auto t = tick_length.count();
  const auto n = d.count();
  return static_cast<Tick>(n >= 0 ? (n + t - 1) / t : -((-n) / t));
}
Tick ticks_down(Duration d) {
  const auto t = tick_length.count();
  const auto n = d.count();
  return static_cast<Tick>(n >= 0 ? n / t : -((-n + t - 1) / t));
}

// The nearest tick. Where one step ends and the next begins is one instant: rounded alike they never overlap.
Tick ticks_near(Duration d) {
  return static_cast<Tick>(std::llround(static_cast<double>(d.count()) / static_cast<double>(tick_length.count())));
}

// Lateness against standing: a quarter at fresh, four times at prompt.
double prompt_ratio(double prompt) { return std::pow(4.0, 2.0 * std::clamp(prompt, 0.0, 1.0) - 1.0); }

struct Hands {
  int resource = -1;
  double stretch = 1.0;
};

class Builder {
 public:
  Builder(const line::State& state, Instant now, const Plan* before, ServiceProblem& out)
      : s_(state), now_(now), before_(before), out_(out) {}

  void build() {
    out_.origin = first_instant();
    Terms& terms = out_.problem.terms;
    terms.now = at(now_);
    terms.frozen_until = at(now_ + s_.kitchen->settings.freeze);
    terms.price_break = price_break;
    terms.price_break_tick = price_break_second;
    terms.price_thaw = price_thaw;
    add_resources();
    collect();
    keep_nearest();
    for (const auto& [key, pans] : by_course_) add_course(key, pans);
    for (const auto& [id, feeds] : feeds_) add_pan(*s_.find_pan(id), feeds);
    show_pulls();
  }

  // More courses behind all there are; a pan that feeds one of those as well is planned already.
  void extend(const std::vector<Waiting>& waiting) {
    find_resources();
    for (const Waiting& one : waiting) clears_[one.course] = std::max(one.clear, now_);
    std::set<PanId> planned;
    for (const PlacedPan& pan : out_.pans) planned.insert(pan.pan);
    for (const Waiting& one : waiting) {
      std::vector<const Pan*> pans = s_.pans_of(one.course);
      std::erase_if(pans, [&](const Pan* pan) { return planned.count(pan->id) != 0; });
      if (!pans.empty()) add_course(one.course, pans);
    }
    for (const auto& [id, feeds] : feeds_) add_pan(*s_.find_pan(id), feeds);
  }

 private:
  struct Fed {
    int course = 0;
    int plate = 0;
  };

  [[nodiscard]] Tick at(Instant when) const { return ticks_down(when - out_.origin); }

  // Far enough back for all that runs or stands.
  [[nodiscard]] Instant first_instant() const {
    Instant first = now_;
    for (const auto& [id, pan] : s_.pans) {
      if (pan.finished) first = std::min(first, *pan.finished);
      if (const auto* run = pan.running()) first = std::min(first, run->started);
    }
    return std::chrono::floor<std::chrono::seconds>(first) - seconds(2);
  }

  void add_resources() {
    find_resources();
    out_.problem.resources = resources_;
  }
  void find_resources() {
    for (const auto& station : s_.kitchen->stations) {
      const auto present = s_.hands.find(station.id);
      const int pairs = present == s_.hands.end() ? 0 : static_cast<int>(present->second.size());
      const double speed = s_.hands_at(station.id);
      Hands hands;
      hands.resource = add(std::max(1, pairs));
      // Nobody there: the work is planned as if one came, and the station shows how far behind it is.
      if (pairs > 0 && speed > 0) hands.stretch = pairs / speed;
      hands_[station.id] = hands;
      for (const auto& equipment : station.equipment) equipment_[equipment.id] = add(std::max(1, equipment.places));
    }
  }
  int add(int capacity) {
    resources_.push_back({capacity});
    return static_cast<int>(resources_.size()) - 1;
  }

  void collect() {
    for (const auto& [id, pan] : s_.pans)
      for (const line::Portion& portion : pan.portions) {
        const CourseKey key = portion.plate.of_course();
        const line::Course* course = s_.find_ticket(key.ticket)->find_course(key.course);
        const bool fired = course->state == CourseState::fired;
        if (!fired && !expected(*course) && !(course->state != CourseState::gone && pan.begun())) continue;
        auto& pans = by_course_[key];
        if (std::find(pans.begin(), pans.end(), &pan) == pans.end()) pans.push_back(&pan);
      }
  }

  // So many courses at once are no service any more, but a fault or a flood: the nearest meets are planned among each
  // other, the rest alone, and nobody waits for an answer.
  void keep_nearest() {
    if (by_course_.size() <= courses_max) return;
    std::vector<std::pair<Instant, CourseKey>> order;
    for (const auto& [key, pans] : by_course_) {
      const line::Course& course = *s_.find_ticket(key.ticket)->find_course(key.course);
      order.emplace_back(course.meet.value_or(clear_at(key, course)), key);
    }
    std::sort(order.begin(), order.end());
    for (std::size_t i = courses_max; i < order.size(); ++i) by_course_.erase(order[i].second);
  }

  // Not fired, but somebody said when its table will be clear, and that is soon.
  [[nodiscard]] bool expected(const line::Course& course) const {
    return course.state == CourseState::waiting && course.clear && *course.clear < now_ + expected_ahead;
  }
  // Before this nothing of a course that waits for its table is begun, but for what rests for long.
  [[nodiscard]] Instant clear_at(const CourseKey& key, const line::Course& course) const {
    if (const auto said = clears_.find(key); said != clears_.end()) return said->second;
    return std::max(course.clear.value_or(now_), now_);
  }

  // The meet that an expected course could have if it were fired when its table is clear.
  [[nodiscard]] Instant meet_expected(const CourseKey& key, const line::Course& course,
                                      const std::vector<const Pan*>& pans) const {
    Duration longest{};
    for (const Pan* pan : pans) {
      if (pan->finished) continue;
      const auto& component = s_.component_of(*pan);
      const auto ahead = line::steps_ahead(component, *pan, now_);
      const std::size_t from = after_early_rest(component, ahead);
      longest = std::max(
          longest, line::time_left(std::vector<Ahead>(ahead.begin() + static_cast<std::ptrdiff_t>(from), ahead.end())));
    }
    return clear_at(key, course) + longest;
  }

  // Behind the last rest that forgives a lot: what has to wait until the course is fired. 0: all of it.
  static std::size_t after_early_rest(const kitchen::Component& component, const std::vector<Ahead>& ahead) {
    for (std::size_t i = ahead.size(); i-- > 0;) {
      const auto& step = component.steps[static_cast<std::size_t>(ahead[i].step)];
      if (step.kind == StepKind::rest && step.rest_max - step.usual(1) >= early_rest_room) return i + 1;
    }
    return 0;
  }

  void add_course(const CourseKey& key, const std::vector<const Pan*>& pans) {
    const line::Ticket& ticket = *s_.find_ticket(key.ticket);
    const line::Course& state = *ticket.find_course(key.course);
    const auto& settings = s_.kitchen->settings;
    const auto plates = static_cast<double>(line::plates_here(state));
    const double waited = std::max(0.0, in_seconds(now_ - state.fired_at.value_or(now_)) / 600.0);
    const double late =
        static_cast<double>(plate_second) * std::max(1.0, plates) * (1.0 + waited) * prompt_ratio(settings.prompt);
    Course course;
    const bool waits = state.state == CourseState::waiting;
    course.wanted = at(waits ? meet_expected(key, state, pans) : state.meet.value_or(now_));
    course.price_late = static_cast<Price>(std::lround(late));
    course.late_after = ticks_up(minutes(3));
    course.price_late_more = course.price_late;
    course.price_early = course.price_late * 2;
    course.early_max = 0;
    course.spread_max = ticks_up(settings.spread);
    course.anew = anew(key, state) || recut(pans);
    course.changed = course.anew || changed(pans);
    if (before_ != nullptr)
      if (const auto shown = before_->courses.find(key); shown != before_->courses.end() && planned(shown->second))
        course.shown_meet = at(shown->second.meet);
    const int index = plan::add_course(out_.problem, course);
    out_.courses.push_back(key);
    // The meet itself is one plate without work: every component is done within its keep before it.
    Block plating;
    plating.shown_start = course.shown_meet;
    const int plate = add_plate(out_.problem, index, plating, {});
    for (const Pan* pan : pans) feeds_[pan->id].push_back({index, plate});
  }

  void show_pulls() {
    if (before_ == nullptr) return;
    for (std::size_t c = 0; c < out_.courses.size(); ++c) {
      const auto shown = before_->courses.find(out_.courses[c]);
      if (shown == before_->courses.end() || !planned(shown->second)) continue;
      for (std::size_t k = 0; k < out_.pans.size(); ++k)
        if (out_.pans[k].pan == shown->second.pull) out_.problem.courses[c].shown_pull = static_cast<int>(k);
    }
  }

  // The course is new to the plan, or people moved its meet.
  [[nodiscard]] bool anew(const CourseKey& key, const line::Course& course) const {
    if (before_ == nullptr) return true;
    const auto shown = before_->courses.find(key);
    if (shown == before_->courses.end() || shown->second.promised != course.meet) return true;
    return shown->second.tentative && !(shown->second.expected && course.state == CourseState::waiting);
  }
  // Somebody came to a station that cooks for it, or left: its list is cut anew.
  [[nodiscard]] bool recut(const std::vector<const Pan*>& pans) const {
    if (before_ == nullptr) return false;
    return std::any_of(pans.begin(), pans.end(), [&](const Pan* pan) {
      const auto station = before_->stations.find(pan->station);
      return !pan->finished && station != before_->stations.end() && station->second.hands != s_.hands_at(pan->station);
    });
  }
  static bool planned(const CoursePlan& shown) { return shown.expected || !shown.tentative; }

  // An event touched a pan of it: it stands elsewhere than was planned.
  [[nodiscard]] bool changed(const std::vector<const Pan*>& pans) const {
    return std::any_of(pans.begin(), pans.end(), [&](const Pan* pan) {
      const auto planned = before_->pans.find(pan->id);
      if (planned == before_->pans.end()) return true;
      const PanPlan& was = planned->second;
      return was.portions != static_cast<int>(pan->portions.size()) || was.place != pan->place ||
             was.begun != (pan->running() != nullptr);
    });
  }

  std::vector<Use> uses_of(const Pan& pan, const kitchen::Step& step, int n, Tick from, Tick to) const {
    std::vector<Use> uses;
    if (step.by_hand() && to > from) uses.push_back({hands_.at(pan.station).resource, 1, from, to});
    for (const auto& use : step.uses) {
      const auto found = equipment_.find(use.equipment);
      if (found == equipment_.end() || to <= from) continue;
      const int capacity = out_.problem.resources[static_cast<std::size_t>(found->second)].capacity;
      uses.push_back({found->second, std::min(capacity, use.of(n)), from, to});
    }
    return uses;
  }

  // A ring that the pan keeps from one step to the next is taken once.
  static void hold_on(std::vector<Use>& uses, const Use& use) {
    for (Use& held : uses) {
      if (held.resource != use.resource || held.units != use.units || held.to != use.from) continue;
      held.to = use.to;
      return;
    }
    uses.push_back(use);
  }

  void add_pan(const Pan& pan, const std::vector<Fed>& feeds) {
    const auto& component = s_.component_of(pan);
    const int n = std::max(1, pan.portions_in());
    PlacedPan placed;
    placed.pan = pan.id;
    begin_component(out_.problem);
    if (pan.finished) {
      Block done;
      done.length = 1;
      done.fixed_start = at(*pan.finished) - 1;
      placed.last_block = add_block(out_.problem, done, {});
    } else {
      add_steps(pan, component, n, moved(feeds), placed);
    }
    std::vector<Feed> out;
    for (const Fed& fed : feeds) {
      Feed feed;
      feed.plate = fed.plate;
      feed.lag_min = pan.finished ? 0 : pad(component, placed);
      feed.price_stand = stand_price(pan, component);
      const CourseKey& key = out_.courses[static_cast<std::size_t>(fed.course)];
      const Duration at_pass = component.keep - s_.kitchen->walk_to(s_.find_ticket(key.ticket)->table);
      feed.lag_max = std::max(feed.lag_min, ticks_down(at_pass));
      // What is past its keep already is past it whatever is planned: no other table waits or hurries for it.
      if (pan.finished && *pan.finished + at_pass < now_) {
        feed.lag_max = forever;
        feed.price_stand = 1;
      }
      out.push_back(feed);
    }
    end_component(out_.problem, out);
    out_.pans.push_back(std::move(placed));
  }

  // What a second of standing costs.
  static Price stand_price(const Pan& pan, const kitchen::Component& component) {
    const double keep_s = std::max(1.0, in_seconds(component.keep));
    return std::max<Price>(1, std::lround(static_cast<double>(plate_second) * static_cast<double>(pan.portions.size()) *
                                          stand_seconds / keep_s));
  }

  // The allowance that a chain's own scatter asks for before the meet: a share of its standard deviation, never more
  // than half of what it keeps, and none when the house allows none.
  [[nodiscard]] Tick pad(const kitchen::Component& component, const PlacedPan& placed) const {
    const auto& settings = s_.kitchen->settings;
    if (settings.finish_allowance <= Duration::zero()) return 0;
    double variance = 0;
    for (const Placed& one : placed.steps) {
      const auto& step = component.steps[static_cast<std::size_t>(one.step.step)];
      if (one.step.running) continue;
      const double sd = step.scatter * in_seconds(one.step.takes);
      variance += sd * sd;
    }
    const Duration wish = std::min(from_seconds(std::sqrt(variance)), settings.finish_allowance);
    return ticks_down(std::min(wish, component.keep / 2));
  }

  // How long this hand step may be put off after what comes before it.
  static Duration slack_before(const kitchen::Component& component, const std::vector<Ahead>& ahead, std::size_t i,
                               int n) {
    const auto& step = component.steps[static_cast<std::size_t>(ahead[i].step)];
    if (ahead[i].running || !step.by_hand() || i == 0) return Duration::zero();
    const auto& before = component.steps[static_cast<std::size_t>(ahead[i - 1].step)];
    if (before.kind != StepKind::wait) return step.pause;
    return std::max({step.pause, hand_slack, before.longest(n) - before.usual(n)});
  }

  // The time at which its table should be clear, for a pan of which no course has been fired.
  [[nodiscard]] std::optional<Instant> waits_for(const Pan& pan) const {
    std::optional<Instant> clear;
    for (const line::Portion& portion : pan.portions) {
      const line::Course* course = s_.find_ticket(portion.plate.ticket)->find_course(portion.plate.course);
      if (course->state != CourseState::waiting) return std::nullopt;
      const Instant at = clear_at(portion.plate.of_course(), *course);
      clear = std::max(clear.value_or(at), at);
    }
    return clear;
  }

  // Rigid runs of steps become blocks; a rest or a pause point is the link between two.
  void add_steps(const Pan& pan, const kitchen::Component& component, int n, bool moved, PlacedPan& placed) {
    const auto ahead = line::steps_ahead(component, pan, now_);
    const std::optional<Instant> clear = waits_for(pan);
    const std::size_t held_back = clear ? after_early_rest(component, ahead) : 0;
    const double stretch = hands_.at(pan.station).stretch;
    std::vector<Use> uses;
    Block block;
    Duration length{};
    std::vector<std::size_t> inside;
    bool fixed = false;
    const auto close = [&](Link link) {
      if (inside.empty()) return;
      block.length = std::max<Tick>(1, ticks_near(length));
      block.next = link;
      if (clear && !fixed && inside.front() >= held_back) block.release = at(*clear);
      const int index = add_block(out_.problem, block, uses);
      for (const std::size_t i : inside) placed.steps[i].block = index;
      placed.last_block = index;
      placed.last_length = length;
      block = Block{};
      length = Duration::zero();
      uses.clear();
      inside.clear();
      fixed = false;
    };
    for (std::size_t i = 0; i < ahead.size(); ++i) {
      const Ahead& one = ahead[i];
      const auto& step = component.steps[static_cast<std::size_t>(one.step)];
      placed.steps.push_back({one, -1, {}});
      if (step.kind == StepKind::rest) {
        Link link;
        link.lag_min = ticks_up(one.takes);
        link.lag_max = std::max(link.lag_min, ticks_down(step.rest_max));
        // The guess may be wrong either way: the rest is centred on it.
        if (clear && i + 1 == held_back && !one.running) link.lag_min = (link.lag_min + link.lag_max) / 2;
        link.price_stand = price_rest;
        link.held = add_held(out_.problem, uses_of(pan, step, n, 0, 1));
        if (one.running) {
          // It has begun: an instant of the past from which it counts.
          block.length = 1;
          block.fixed_start = at(pan.runs.back().started) - 1;
          block.next = link;
          placed.last_block = add_block(out_.problem, block, {});
          block = Block{};
        } else {
          close(link);
        }
        continue;
      }
      if (const Duration slack = slack_before(component, ahead, i, n); slack > Duration::zero() && !inside.empty()) {
        Link link;
        link.lag_max = ticks_down(slack);
        link.price_stand = step.pause > Duration::zero() ? price_pause : price_slack + stand_price(pan, component);
        const auto& held_by = component.steps[static_cast<std::size_t>(ahead[i - 1].step)];
        auto held = uses_of(pan, held_by, n, 0, 1);
        if (held_by.by_hand() && !held.empty()) held.erase(held.begin());
        link.held = add_held(out_.problem, held);
        close(link);
      }
      Duration takes = one.by_hand ? from_seconds(in_seconds(one.takes) * stretch) : one.takes;
      if (one.running) {
        const Instant started = pan.runs.back().started;
        block.fixed_start = at(started);
        fixed = true;
        takes = std::max(takes, now_ - started);
      }
      if (inside.empty()) show_start(pan, one, block, fixed);
      if (moved) block.price_move = 0;
      const Tick from = ticks_near(length);
      placed.steps.back().into = length;
      length += takes;
      for (const Use& use : uses_of(pan, step, n, from, ticks_near(length))) hold_on(uses, use);
      inside.push_back(placed.steps.size() - 1);
    }
    close(Link{});
  }

  // People asked for other times of all that it feeds, or have other hands for it: that it moves is what they want.
  [[nodiscard]] bool moved(const std::vector<Fed>& feeds) const {
    return std::all_of(feeds.begin(), feeds.end(),
                       [&](const Fed& fed) { return out_.problem.courses[static_cast<std::size_t>(fed.course)].anew; });
  }

  void show_start(const Pan& pan, const Ahead& first, Block& block, bool fixed) const {
    if (before_ == nullptr || fixed) return;
    const auto planned = before_->pans.find(pan.id);
    if (planned == before_->pans.end() || !planned->second.scheduled) return;
    for (const Slot& slot : planned->second.slots) {
      if (slot.step != first.step || slot.round != first.round) continue;
      block.shown_start = at(slot.latest);
      block.price_move = slot.latest < now_ + soon ? price_move_soon : price_move_later;
      return;
    }
  }

  const line::State& s_;
  Instant now_;
  const Plan* before_;
  ServiceProblem& out_;
  std::vector<Resource> resources_;
  std::map<CourseKey, Instant> clears_;  // of courses that `extend` was told of
  std::map<std::string, Hands> hands_;
  std::map<std::string, int> equipment_;
  std::map<CourseKey, std::vector<const Pan*>> by_course_;
  std::map<PanId, std::vector<Fed>> feeds_;
};

}  // namespace

ServiceProblem make_problem(const line::State& state, Instant now, const Plan* before) {
  ServiceProblem out;
  Builder(state, now, before, out).build();
  return out;
}

void add_waiting(ServiceProblem& service, const line::State& state, Instant now, const std::vector<Waiting>& waiting) {
  Builder(state, now, nullptr, service).extend(waiting);
}

}  // namespace nappe::plan
