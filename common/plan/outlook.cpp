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

bool wanted_now(const line::State& state, const Pan& pan) {
  if (pan.begun()) return true;
  return std::any_of(pan.portions.begin(), pan.portions.end(), [&](const line::Portion& portion) {
    const line::Course* course = course_of(state, portion.plate.of_course());
    return course != nullptr && course->state == CourseState::fired;
  });
}

std::map<std::string, std::vector<Work>> work_by_station(const line::State& state, const Plan& plan) {
  std::map<std::string, std::vector<Work>> work;
  for (const auto& [id, pan_plan] : plan.pans) {
    const Pan* pan = state.find_pan(id);
    if (pan == nullptr || pan->portions.empty() || !wanted_now(state, *pan)) continue;
    const line::Ticket* ticket = state.find_ticket(pan->portions.front().plate.ticket);
    for (const Slot& slot : pan_plan.slots)
      if (slot.by_hand)
        work[pan->station].push_back({slot.latest + slot.takes, slot.takes, slot.latest, ticket->table});
  }
  for (auto& [station, list] : work)
    std::stable_sort(list.begin(), list.end(), [](const Work& a, const Work& b) { return a.due < b.due; });
  return work;
}

void find_behind(const std::vector<Work>& work, double hands, Instant now, StationPlan& station) {
  Duration sum{};
  for (const Work& one : work) {
    sum += one.takes;
    const Duration need = hands > 0 ? from_seconds(in_seconds(sum) / hands) : load_horizon;
    const Duration behind = need - (one.due - now);
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

void look_at_stations(const line::State& state, Plan& plan) {
  const auto work = work_by_station(state, plan);
  for (const auto& here : state.kitchen->stations) {
    StationPlan& station = plan.stations[here.id];
    station.station = here.id;
    const auto list = work.find(here.id);
    if (list == work.end()) continue;
    const double hands = state.hands_at(here.id);
    find_behind(list->second, hands, plan.made, station);
    add_load(list->second, hands, plan.made, station);
  }
}

}  // namespace nappe::plan
