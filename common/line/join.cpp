// One pan for several tables: when it may be, when it is done by itself, and how it is undone.
#include <fmt/format.h>

#include <algorithm>

#include "common/line/decide.hpp"

namespace nappe::line {
namespace {

const Course* course_of_plate(const State& state, const PlateKey& plate) {
  const Ticket* ticket = state.find_ticket(plate.ticket);
  return ticket == nullptr ? nullptr : ticket->find_course(plate.course);
}

// The first and the last meet among these pans' courses; `fired` stands for a course that is being fired with this
// meet.
struct Meets {
  std::optional<Instant> first;
  std::optional<Instant> last;
  bool known = true;

  void add(const State& state, const Pan& pan, const Firing* fired) {
    for (const Portion& portion : pan.portions) {
      const Course* course = course_of_plate(state, portion.plate);
      std::optional<Instant> meet = course == nullptr ? std::nullopt : course->meet;
      if (fired != nullptr && portion.plate.of_course() == fired->course) meet = fired->meet;
      if (!meet) {
        known = false;
        return;
      }
      first = std::min(first.value_or(*meet), *meet);
      last = std::max(last.value_or(*meet), *meet);
    }
  }
};

// Whether another portion may still come into a pan that has been begun.
bool open_to_join(const kitchen::Component& component, const Pan& into) {
  if (!into.begun()) return true;
  if (component.join_before_step && into.place.step < *component.join_before_step) return true;
  const int group = component.steps[static_cast<std::size_t>(into.place.step)].group;
  for (std::size_t g = 0; g < component.groups.size(); ++g) {
    const auto& rounds = component.groups[g];
    if (rounds.join_before == 0 || into.rounds.count(static_cast<int>(g)) != 0) continue;
    if (into.place.step < rounds.first) return true;
    if (group == static_cast<int>(g) && into.place.round < rounds.join_before) return true;
  }
  return false;
}

}  // namespace

Status may_join(const State& state, const Pan& from, const Pan& into) { return may_join(state, from, into, nullptr); }

Status may_join(const State& state, const Pan& from, const Pan& into, const Firing* fired) {
  const auto& component = state.component_of(into);
  const auto refuse = [&](std::string_view why) -> Status {
    return Error{Errc::refused,
                 fmt::format("these two {} cannot share a {}: {}", component.name, component.vessel, why)};
  };
  if (from.id == into.id || from.component != into.component || from.version != into.version)
    return refuse("they are not the same thing");
  if (from.allergies != into.allergies) return refuse("an allergy keeps them apart");
  if (from.begun()) return refuse("both have been begun");
  const int together = into.portions_in() + static_cast<int>(from.portions.size());
  if (together > component.cap) return refuse(fmt::format("{} is more than it takes ({})", together, component.cap));
  if (into.finished) return refuse("one is done");
  if (!open_to_join(component, into)) return refuse("it is past the point where another portion may join");
  Meets meets;
  for (const Pan* pan : {&from, &into}) meets.add(state, *pan, fired);
  if (!meets.known || !meets.first) return refuse("both courses must be fired");
  if (*meets.last - *meets.first >= component.keep)
    return refuse(fmt::format("the first table would wait {} for the last, it keeps {}",
                              span_text(*meets.last - *meets.first), span_text(component.keep)));
  return Done{};
}

std::vector<const Pan*> share_pans(const State& state, const std::vector<const Pan*>& pans, const Firing& fired,
                                   Happenings& out) {
  std::vector<const Pan*> own;
  std::map<PanId, int> added;
  for (const Pan* pan : pans) {
    const auto& component = state.component_of(*pan);
    const Pan* into = nullptr;
    for (const auto& [id, other] : state.pans) {
      const bool ours = std::find(pans.begin(), pans.end(), &other) != pans.end();
      if (ours || other.component != pan->component || pan->refire || !may_join(state, *pan, other, &fired)) continue;
      const bool all_fired = std::all_of(other.portions.begin(), other.portions.end(), [&](const Portion& portion) {
        return course_of_plate(state, portion.plate)->state == CourseState::fired;
      });
      const int together = other.portions_in() + added[id] + static_cast<int>(pan->portions.size());
      if (all_fired && together <= component.cap) into = &other;
    }
    if (into == nullptr) {
      own.push_back(pan);
      continue;
    }
    added[into->id] += static_cast<int>(pan->portions.size());
    std::vector<PlateKey> plates;
    for (const Portion& portion : pan->portions) plates.push_back(portion.plate);
    out.push_back(PortionsMoved{pan->id, into->id, plates});
    out.push_back(PanDropped{pan->id, "cooked in one pan"});
  }
  return own;
}

void unshare_pans(const State& state, const Ticket& ticket, const CourseKey& course,
                  const std::function<bool(const Pan&)>& apart, Happenings& out) {
  PanOpener opener(state);
  for (const Pan* pan : state.pans_of(course)) {
    if (pan->begun()) continue;
    std::vector<PlateKey> plates;
    for (const Portion& portion : pan->portions)
      if (portion.plate.of_course() == course) plates.push_back(portion.plate);
    if (plates.size() == pan->portions.size() || !apart(*pan)) continue;
    for (const PlateKey& plate : plates) out.push_back(PortionFreed{pan->id, plate, "its table meets at another time"});
    opener.open(ticket, pan->component, plates, pan->allergies, pan->refire, out);
  }
}

}  // namespace nappe::line
