#include "common/plan/outlook.hpp"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <cmath>

namespace nappe::plan {
namespace {

using line::CourseKey;
using line::CourseState;
using line::Pan;

constexpr Duration slot_length = minutes(5);
constexpr Duration load_horizon = minutes(60);
// Less than this is nobody's being behind.
constexpr Duration noticeable = seconds(10);

// Variance of what is left of a pan, in square seconds.
double variance_left(const kitchen::Component& component, const PanPlan& plan) {
  double sum = 0.0;
  for (const Slot& slot : plan.slots) {
    const double sd = component.steps[static_cast<std::size_t>(slot.step)].scatter * in_seconds(slot.takes);
    sum += sd * sd;
  }
  return sum;
}

// A hand's work at a station: begins at the latest at `start`, then takes `takes`.
struct Work {
  Instant due{};  ///< End, when begun at the latest start.
  Duration takes{};
  Instant start{};
  std::string table;
};

const line::Course* course_of(const line::State& state, const CourseKey& key) {
  const line::Ticket* ticket = state.find_ticket(key.ticket);
  return ticket == nullptr ? nullptr : ticket->find_course(key.course);
}

const line::Course* fired_course(const line::State& state, const CourseKey& key) {
  const line::Course* course = course_of(state, key);
  return course != nullptr && course->state == CourseState::fired ? course : nullptr;
}

bool wanted_now(const line::State& state, const Pan& pan) {
  if (pan.begun()) return true;
  return std::any_of(pan.portions.begin(), pan.portions.end(), [&](const line::Portion& portion) {
    return fired_course(state, portion.plate.of_course()) != nullptr;
  });
}

// All that the hands of a station are asked for: what is fired or begun, and what the plan begins before its course is
// fired.
std::map<std::string, std::vector<Work>> work_by_station(const line::State& state, const Plan& plan) {
  std::map<std::string, std::vector<Work>> work;
  for (const auto& [id, pan_plan] : plan.pans) {
    const Pan* pan = state.find_pan(id);
    if (pan == nullptr || pan->portions.empty() || !(pan_plan.scheduled || wanted_now(state, *pan))) continue;
    const line::Ticket* ticket = state.find_ticket(pan->portions.front().plate.ticket);
    for (const Slot& slot : pan_plan.slots)
      if (slot.by_hand)
        work[pan->station].push_back({slot.latest + slot.takes, slot.takes, slot.latest, ticket->table});
  }
  return work;
}

// By course and station: when the last of it there can be ready at the soonest.
using Ends = std::map<CourseKey, std::map<std::string, Instant>>;

Ends ends_of(const line::State& state, const Plan& alone) {
  Ends ends;
  for (const auto& [id, planned] : alone.pans) {
    const Pan* pan = state.find_pan(id);
    if (pan == nullptr) continue;
    for (const line::Portion& portion : pan->portions) {
      Instant& end = ends[portion.plate.of_course()][pan->station];
      end = std::max(end, planned.forecast);
    }
  }
  return ends;
}

// When a station's work for a fired course is wanted: as promised by whoever would be last, by the others when that one
// can be ready. Nobody is behind for waiting on somebody else.
Instant wanted_at(const line::Course& course, const std::map<std::string, Instant>& ends, const std::string& station) {
  const auto last =
      std::max_element(ends.begin(), ends.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  return ends.at(station) >= last->second ? *course.meet : std::max(*course.meet, last->second);
}

// What each station's hands owe to fired courses, by due time.
std::map<std::string, std::vector<Work>> owed_by_station(const line::State& state, const Plan& alone) {
  const Ends ends = ends_of(state, alone);
  std::map<std::string, std::vector<Work>> owed;
  for (const auto& [id, planned] : alone.pans) {
    const Pan* pan = state.find_pan(id);
    if (pan == nullptr || pan->finished) continue;
    // The slots end at the soonest of its courses' meets, each course alone; due is what was promised.
    std::optional<Instant> ready;
    std::optional<Instant> wanted;
    const line::Ticket* first = nullptr;
    for (const line::Portion& portion : pan->portions) {
      const CourseKey key = portion.plate.of_course();
      if (const auto found = alone.courses.find(key); found != alone.courses.end())
        ready = std::min(ready.value_or(found->second.meet), found->second.meet);
      const line::Course* course = fired_course(state, key);
      if (course == nullptr || !course->meet) continue;
      const Instant at = wanted_at(*course, ends.at(key), pan->station);
      if (wanted && *wanted <= at) continue;
      wanted = at;
      first = state.find_ticket(key.ticket);
    }
    if (!wanted || !ready) continue;
    for (const Slot& slot : planned.slots) {
      if (!slot.by_hand) continue;
      const Instant end = slot.latest + slot.takes;
      const Duration left =
          slot.running ? std::clamp(slot.soonest + slot.takes - alone.made, Duration::zero(), slot.takes) : slot.takes;
      owed[pan->station].push_back({end - (*ready - *wanted), left, slot.latest, first->table});
    }
  }
  for (auto& [station, list] : owed)
    std::stable_sort(list.begin(), list.end(), [](const Work& a, const Work& b) { return a.due < b.due; });
  return owed;
}

void add_behind(const std::vector<Work>& work, double hands, Instant now, StationPlan& station) {
  Duration sum{};
  for (const Work& one : work) {
    sum += one.takes;
    const Duration behind = from_seconds(in_seconds(sum) / hands) - (one.due - now);
    if (behind < noticeable) continue;
    if (station.behind == Duration::zero()) {
      station.hurts_table = one.table;
      station.behind_from = one.due;
    }
    station.behind = std::max(station.behind, behind);
  }
}

void add_load(const std::vector<Work>& work, double hands, Instant now, StationPlan& station) {
  if (hands <= 0) return;
  const std::int64_t length = slot_length.count();
  for (const Work& one : work) {
    // What ought to have begun already is done from now on.
    Instant at = std::max(one.start, now);
    const Instant end = at + one.takes;
    while (at < end && at < now + load_horizon) {
      const std::int64_t slot = to_ms(at) / length * length;
      const Instant until = std::min(end, from_ms(slot + length));
      station.load[slot] += static_cast<double>((until - at).count()) / (hands * static_cast<double>(length));
      at = until;
    }
  }
}

}  // namespace

void give_words(const line::State& state, Plan& plan) {
  const double chance = state.kitchen->settings.word_chance;
  std::map<CourseKey, std::vector<const PanPlan*>> open;
  for (const auto& [id, pan_plan] : plan.pans) {
    const Pan* pan = state.find_pan(id);
    if (pan == nullptr || pan->finished) continue;
    for (const line::Portion& portion : pan->portions) {
      auto& pans = open[portion.plate.of_course()];
      if (pans.empty() || pans.back() != &pan_plan) pans.push_back(&pan_plan);
    }
  }
  for (auto& [key, course] : plan.courses) {
    Instant word = course.meet;
    const auto& pans = open[key];
    if (!pans.empty()) {
      const double each = std::pow(chance, 1.0 / static_cast<double>(pans.size()));
      const double z = boost::math::quantile(boost::math::normal(), each);
      for (const PanPlan* one : pans) {
        const auto& component = state.component_of(*state.find_pan(one->pan));
        word = std::max(word, one->forecast + from_seconds(z * std::sqrt(variance_left(component, *one))));
      }
    }
    course.word = std::chrono::ceil<std::chrono::minutes>(word);
  }
}

void find_behind(const line::State& state, const Plan& alone, Plan& plan) {
  const auto owed = owed_by_station(state, alone);
  for (const auto& here : state.kitchen->stations) {
    StationPlan& station = plan.stations[here.id];
    station.station = here.id;
    station.hands = state.hands_at(here.id);
    const auto list = owed.find(here.id);
    if (list == owed.end()) continue;
    if (station.hands > 0) {
      add_behind(list->second, station.hands, plan.made, station);
    } else {
      station.nobody = true;
      station.hurts_table = list->second.front().table;
      station.behind_from = list->second.front().due;
    }
  }
}

void look_ahead(const line::State& state, Plan& plan) {
  for (const auto& [id, work] : work_by_station(state, plan)) {
    StationPlan& station = plan.stations[id];
    station.station = id;
    add_load(work, state.hands_at(id), plan.made, station);
  }
}

}  // namespace nappe::plan
