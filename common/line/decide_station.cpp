// What cooks press.
#include <fmt/format.h>

#include <algorithm>

#include "common/line/decide.hpp"

namespace nappe::line {
namespace {

Result<Place> place_of(const kitchen::Component& component, const std::string& step, int round) {
  const auto* found = component.find_step(step);
  if (found == nullptr)
    return Error{Errc::unknown, fmt::format("{} has no step \"{}\"", component.name, step), "/step"};
  if (found->group >= 0 && round < 1)
    return Error{Errc::invalid, fmt::format("{} comes in rounds: say which one", found->word), "/round"};
  if (found->group < 0 && round != 0)
    return Error{Errc::invalid, fmt::format("{} does not come in rounds", found->word), "/round"};
  if (round > 1000) return Error{Errc::invalid, "no pan takes that many rounds", "/round"};
  return Place{static_cast<int>(found - component.steps.data()), round};
}

// Runs `press` on a copy of the pan and gives the events, the letter first when the press begins the pan.
template <class Press>
Decision press_pan(const Asked& asked, PanId id, Press press) {
  const auto pan = pan_of(asked.state, id);
  if (!pan) return pan.error();
  Happenings out;
  if (!(*pan)->begun()) give_letters(asked.state, {*pan}, out);
  PanScript script(asked.state, **pan);
  script.remember_press();
  if (Status fine = press(script); !fine) return fine.error();
  for (Happening& one : script.take()) out.push_back(std::move(one));
  return out;
}

}  // namespace

Decision decide_on(const Asked& asked, const StartStep& action) {
  return press_pan(asked, action.pan, [&](PanScript& script) -> Status {
    const auto place = place_of(script.component(), action.step, action.round);
    if (!place) return place.error();
    return script.start(*place, {asked.by, asked.at, action.sure, false});
  });
}

Decision decide_on(const Asked& asked, const FinishStep& action) {
  return press_pan(asked, action.pan, [&](PanScript& script) -> Status {
    const auto place = place_of(script.component(), action.step, action.round);
    if (!place) return place.error();
    return script.finish(*place, {asked.by, asked.at, action.sure, false});
  });
}

Decision decide_on(const Asked& asked, const OneMore& action) {
  return press_pan(asked, action.pan, [&](PanScript& script) {
    return script.one_more({asked.by, asked.at, false, false});
  });
}

Decision decide_on(const Asked& asked, const ItsThere& action) {
  return press_pan(asked, action.pan, [&](PanScript& script) {
    return script.its_there({asked.by, asked.at, false, false});
  });
}

Decision decide_on(const Asked& asked, const PlatePortion& action) {
  return press_pan(asked, action.pan, [&](PanScript& script) {
    return script.plate(action.plate, {asked.by, asked.at, action.sure, false});
  });
}

Decision decide_on(const Asked& asked, const Undo& action) {
  const auto& settings = asked.state.kitchen->settings;
  if (action.station == "pass") {
    const Course* last = nullptr;
    const Ticket* of = nullptr;
    for (const auto& [id, ticket] : asked.state.tickets)
      for (const Course& course : ticket.courses)
        if (course.state == CourseState::fired && course.fired_at &&
            (last == nullptr || *course.fired_at > *last->fired_at)) {
          last = &course;
          of = &ticket;
        }
    if (last == nullptr || asked.at - *last->fired_at > settings.undo_fire)
      return Error{Errc::conflict, "nothing was fired in the last moments: hold the course instead"};
    for (const Pan* pan : asked.state.pans_of(CourseKey{of->id, last->course}))
      if (pan->begun())
        return Error{Errc::conflict,
                     fmt::format("the {} of table {} have been begun: hold them instead", last->course, of->table)};
    return Happenings{CourseUnfired{of->id, last->course}};
  }
  const auto press = asked.state.presses.find(action.station);
  if (press == asked.state.presses.end() || asked.at - press->second.at > settings.undo)
    return Error{Errc::conflict,
                 fmt::format("there is no press of the last {} seconds to take back", settings.undo.count() / 1000)};
  const auto pan = pan_of(asked.state, press->second.pan);
  if (!pan) return pan.error();
  return Happenings{StepReopened{press->second.pan, press->second.step, press->second.round, press->second.begun}};
}

Decision decide_on(const Asked& asked, const JoinPans& action) {
  const auto from = pan_of(asked.state, action.from);
  if (!from) return from.error();
  const auto into = pan_of(asked.state, action.into);
  if (!into) return into.error();
  if (Status fine = may_join(asked.state, **from, **into); !fine) return fine.error();
  Happenings out;
  std::vector<PlateKey> plates;
  for (const Portion& portion : (*from)->portions) plates.push_back(portion.plate);
  out.push_back(PortionsMoved{action.from, action.into, plates});
  out.push_back(PanDropped{action.from, "cooked in one pan"});
  return out;
}

Status may_join(const State& state, const Pan& from, const Pan& into) {
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
  if (into.begun()) {
    bool open = component.join_before_step && into.place.step < *component.join_before_step;
    const int group = component.steps[static_cast<std::size_t>(into.place.step)].group;
    for (std::size_t g = 0; g < component.groups.size(); ++g) {
      const auto& rounds = component.groups[g];
      if (rounds.join_before == 0 || into.rounds.count(static_cast<int>(g)) != 0) continue;
      if (into.place.step < rounds.first) open = true;
      if (group == static_cast<int>(g) && into.place.round < rounds.join_before) open = true;
    }
    if (!open) return refuse("it is past the point where another portion may join");
  }
  std::optional<Instant> first;
  std::optional<Instant> last;
  for (const Pan* pan : {&from, &into})
    for (const Portion& portion : pan->portions) {
      const Ticket* ticket = state.find_ticket(portion.plate.ticket);
      const Course* course = ticket == nullptr ? nullptr : ticket->find_course(portion.plate.course);
      if (course == nullptr || !course->meet) return refuse("both courses must be fired");
      first = std::min(first.value_or(*course->meet), *course->meet);
      last = std::max(last.value_or(*course->meet), *course->meet);
    }
  if (*last - *first >= component.keep)
    return refuse(fmt::format("the first table would wait {} for the last, it keeps {}", span_text(*last - *first),
                              span_text(component.keep)));
  return Done{};
}

}  // namespace nappe::line
