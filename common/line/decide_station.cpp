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
            (last == nullptr || *course.fired_at >= *last->fired_at)) {
          last = &course;
          of = &ticket;
        }
    if (last == nullptr || asked.at - *last->fired_at > settings.undo_fire)
      return Error{Errc::conflict, "nothing was fired in the last moments: hold the course instead"};
    for (const Pan* pan : asked.state.pans_of(CourseKey{of->id, last->course}))
      if (pan->begun())
        return Error{Errc::conflict,
                     fmt::format("the {} of table {} have been begun: hold them instead", last->course, of->table)};
    Happenings out{CourseUnfired{of->id, last->course}};
    const auto always = [](const Pan&) { return true; };
    unshare_pans(asked.state, *of, {of->id, last->course}, always, out);
    return out;
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

}  // namespace nappe::line
