#include "common/wire/screen_view.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "common/line/chain.hpp"

namespace nappe::wire {
namespace {

using line::Pan;
using line::Run;

template <class Map, class Key>
const std::vector<const PanView*>& listed(const Map& map, const Key& key) {
  static const std::vector<const PanView*> none;
  const auto found = map.find(key);
  return found == map.end() ? none : found->second;
}

// What the plan would say about a pan it does not know yet: no waiting, ready as soon as can be.
std::vector<plan::Slot> slots_without_plan(const kitchen::Component& component, const Pan& pan, Instant now) {
  const auto ahead = line::steps_ahead(component, pan, now);
  const auto latest = line::latest_starts(ahead, now + line::time_left(ahead));
  std::vector<plan::Slot> slots;
  Instant soonest = now;
  for (std::size_t i = 0; i < ahead.size(); ++i) {
    slots.push_back(
        {ahead[i].step, ahead[i].round, latest[i], soonest, ahead[i].takes, ahead[i].running, ahead[i].by_hand});
    soonest += ahead[i].left;
  }
  return slots;
}

}  // namespace

std::string PanView::name() const {
  return pan->letter.empty() ? component->name : component->name + " " + pan->letter;
}

View::View(const line::State& state, const plan::Plan& plan, Instant now) : state_(state), plan_(plan), now_(now) {
  for (const auto& [id, pan] : state.pans) add(pan);
}

void View::add(const Pan& pan) {
  PanView& view = pans_.emplace_back();
  view.pan = &pan;
  view.component = &state_.component_of(pan);
  view.key = fmt::format("p{}", line::number(pan.id));
  view.n = std::max(1, pan.portions_in());
  view.allergies = !pan.allergies.empty();
  const auto planned = plan_.pans.find(pan.id);
  if (planned != plan_.pans.end()) {
    view.planned = &planned->second;
    view.slots = &planned->second.slots;
  } else {
    view.slots = &own_slots_.emplace_back(slots_without_plan(*view.component, pan, now_));
  }
  std::vector<std::string> tables;
  for (const line::Portion& portion : pan.portions) {
    by_plate_[portion.plate].push_back(&view);
    const line::Plate* plate = state_.find_plate(portion.plate);
    const line::Ticket* ticket = state_.find_ticket(portion.plate.ticket);
    if (plate == nullptr || ticket == nullptr || plate->gone) continue;
    tables.push_back(ticket->table);
    const auto allergies = ticket->allergies.find(portion.plate.position);
    view.allergies |= allergies != ticket->allergies.end() && !allergies->second.empty();
    view.changes |= !plate->wanted.change.empty();
    view.courses.push_back(portion.plate.of_course());
  }
  std::sort(view.courses.begin(), view.courses.end());
  view.courses.erase(std::unique(view.courses.begin(), view.courses.end()), view.courses.end());
  view.tables = joined_tables(std::move(tables));
  by_id_[pan.id] = &view;
  by_station_[pan.station].push_back(&view);
  for (const line::CourseKey& course : view.courses) by_course_[course].push_back(&view);
}

bool View::reached(Instant at) const {
  if (now_ >= at) return true;
  if (!changes_at_ || at < *changes_at_) changes_at_ = at;
  return false;
}

const std::vector<const PanView*>& View::pans_at(const std::string& station) const {
  return listed(by_station_, station);
}
const std::vector<const PanView*>& View::pans_of(const line::CourseKey& course) const {
  return listed(by_course_, course);
}
const std::vector<const PanView*>& View::pans_of(const line::PlateKey& plate) const { return listed(by_plate_, plate); }

const PanView* View::find_pan(line::PanId id) const {
  const auto found = by_id_.find(id);
  return found == by_id_.end() ? nullptr : found->second;
}

const plan::CoursePlan* View::plan_of(const line::CourseKey& course) const {
  const auto found = plan_.courses.find(course);
  return found == plan_.courses.end() ? nullptr : &found->second;
}

const line::Course* View::find_course(const line::CourseKey& key) const {
  const line::Ticket* ticket = state_.find_ticket(key.ticket);
  return ticket == nullptr ? nullptr : ticket->find_course(key.course);
}

std::string View::station_name(const std::string& id) const {
  const auto* station = state_.kitchen == nullptr ? nullptr : state_.kitchen->find_station(id);
  return station == nullptr ? id : station->name;
}

std::string View::clock(Instant at) const {
  const std::int64_t offset = state_.kitchen == nullptr ? 0 : state_.kitchen->settings.utc_offset_minutes;
  return clock_text(at, minutes(offset));
}

StepTimes times_of(const PanView& pan, const Run& run) {
  const kitchen::Step& step = pan.step(run.step);
  const Duration usual = step.usual(pan.n);
  return {run.started, run.started + usual, run.started + std::max(usual, step.longest(pan.n))};
}

std::string_view over_of(const View& view, const StepTimes& times) {
  if (!view.reached(times.usual)) return {};
  return view.reached(times.most) ? "most" : "usual";
}

Instant hand_wanted(const PanView& pan, const Run& run) {
  Instant at = times_of(pan, run).usual;
  for (const plan::Slot& slot : *pan.slots) {
    if (slot.by_hand) break;
    if (!slot.running) at += slot.takes;
  }
  return at;
}

const kitchen::Step* next_by_hand(const PanView& pan) {
  for (const plan::Slot& slot : *pan.slots) {
    if (slot.by_hand && !slot.running) return &pan.step(slot.step);
  }
  return nullptr;
}

Instant keep_end(const PanView& pan) { return pan.pan->finished.value_or(Instant{}) + pan.component->keep; }

int open_group(const PanView& pan) {
  if (pan.pan->finished) return -1;
  const line::Place place = pan.pan->place;
  const int here = pan.step(place.step).group;
  if (here >= 0) return here;
  for (std::size_t g = 0; g < pan.component->groups.size(); ++g) {
    const bool right_behind = pan.component->groups[g].last + 1 == place.step && pan.pan->running() == nullptr;
    if (right_behind && pan.pan->rounds.count(static_cast<int>(g)) == 0) return static_cast<int>(g);
  }
  return -1;
}

int rounds_begun(const PanView& pan, int group) {
  int rounds = 0;
  for (const Run& run : pan.pan->runs) {
    if (pan.step(run.step).group == group) rounds = std::max(rounds, run.round);
  }
  return rounds;
}

bool is_plated(const PanView& pan, const line::PlateKey& plate) {
  if (pan.pan->finished) return true;
  const line::Portion* portion = pan.pan->portion_of(plate);
  return portion != nullptr && portion->plated.has_value();
}

bool nobody_at(const View& view, const kitchen::Station& station) {
  if (view.state().hands_at(station.id) > 0.0) return false;
  const auto& pans = view.pans_at(station.id);
  return std::any_of(pans.begin(), pans.end(), [&](const PanView* pan) {
    if (pan->pan->finished) return false;
    return pan->pan->begun() || std::any_of(pan->courses.begin(), pan->courses.end(), [&](const line::CourseKey& key) {
             const line::Course* course = view.find_course(key);
             return course != nullptr && course->state == line::CourseState::fired;
           });
  });
}

double hundredths(double value) { return std::round(value * 100.0) / 100.0; }

nlohmann::json people_of(const View& view, const kitchen::Station& station) {
  nlohmann::json people = nlohmann::json::object();
  const auto here = view.state().hands.find(station.id);
  for (const kitchen::Person& person : station.people) {
    const bool present = here != view.state().hands.end() && here->second.count(person.id) != 0;
    people[person.id] = {{"name", person.name}, {"counts", hundredths(person.counts)}, {"present", present}};
  }
  return people;
}

nlohmann::json service_of(const View& view) {
  const auto& kitchen = view.state().kitchen;
  nlohmann::json service = {{"name", view.state().name},
                            {"open", view.state().service == line::ServiceState::open},
                            {"utc_offset_minutes", kitchen == nullptr ? 0 : kitchen->settings.utc_offset_minutes}};
  if (view.state().closed) service["closed_ms"] = to_ms(*view.state().closed);
  return service;
}

}  // namespace nappe::wire
