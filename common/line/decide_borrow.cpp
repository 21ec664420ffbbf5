// Borrow and replace: the soonest way to cook a plate again is often another table's portion.
#include <fmt/format.h>

#include <algorithm>

#include "common/kitchen/menu.hpp"
#include "common/line/decide.hpp"

namespace nappe::line {

std::optional<Lender> lender_of(const State& state, const Ticket& ticket, int position, const std::string& component,
                                Instant now, std::optional<TicketId> only) {
  const auto* wanted = state.kitchen_of(ticket).find_component(component);
  if (wanted == nullptr) return std::nullopt;
  const Duration chain = chain_time(*wanted, 1);
  std::optional<Lender> best;
  for (const auto& [id, pan] : state.pans) {
    const bool could = pan.component == component && pan.version == ticket.version && pan.begun() && !pan.finished &&
                       pan.allergies == ticket.allergies_of(position);
    if (!could) continue;
    const Instant ready = now + time_left(steps_ahead(*wanted, pan, now));
    if (ready >= now + chain) continue;
    for (const Portion& portion : pan.portions) {
      const TicketId owner = portion.plate.ticket;
      if (portion.plated || owner == ticket.id || (only && owner != *only)) continue;
      const Course* course = state.find_ticket(owner)->find_course(portion.plate.course);
      const Plate& plate = course->plates.at(portion.plate.position);
      if (plate.gone || !plate.blocked.empty() || course->state != CourseState::fired || !course->meet) continue;
      const Duration give = *course->meet - (now + chain);
      if (give < Duration::zero() || (best && give <= best->give)) continue;
      best = Lender{id, portion.plate, give, ready};
    }
  }
  return best;
}

Decision decide_on(const Asked& asked, const Borrow& action) {
  const State& state = asked.state;
  const auto found = course_of(state, action.ticket, action.course);
  if (!found) return found.error();
  if (Status fine = know_positions(*found, {action.position}); !fine) return fine.error();
  if (action.reason.empty()) return Error{Errc::invalid, "say why it is cooked again", "/reason"};
  if (found->course->state == CourseState::waiting)
    return Error{Errc::conflict,
                 fmt::format("the {} have not been fired: there is nothing to borrow for", course_text(*found))};
  const auto components = components_again(state, *found, action.position, action.components);
  if (!components) return components.error();
  if (Status fine = can_be_cooked_again(state, *found, action.position, *components); !fine) return fine.error();

  const Ticket& ticket = *found->ticket;
  const auto& kitchen = state.kitchen_of(ticket);
  const PlateKey key{action.ticket, action.course, action.position};
  Trial trial(asked);
  trial.add(RefireOrdered{key, *components, action.reason});
  lift_blocks(*found, key, *components, trial);
  Instant ready = asked.now;
  bool any = false;
  for (const std::string& component : *components) {
    const auto lender = lender_of(trial.state(), ticket, action.position, component, asked.now, action.lender);
    PanOpener opener(trial.state());
    Happenings out;
    if (!lender) {
      opener.open_one(ticket, key, component, true, out);
      ready = std::max(ready, asked.now + chain_time(*kitchen.find_component(component), 1));
    } else {
      out.push_back(PortionLent{lender->pan, lender->plate, key});
      opener.open_one(*trial.state().find_ticket(lender->plate.ticket), lender->plate, component, true, out);
      ready = std::max(ready, lender->ready);
      any = true;
    }
    trial.add(std::move(out));
  }
  if (!any) {
    const auto& first = *kitchen.find_component(components->front());
    return Error{
        Errc::refused,
        fmt::format("nobody can lend {}: a new one takes {}, and no table that has one in the pan has so long; "
                    "cook it again instead",
                    first.name, span_text(chain_time(first, 1)))};
  }
  Happenings nobody_eats;
  forget_house_guess(*found, nobody_eats);
  trial.add(std::move(nobody_eats));
  const Instant soonest = std::chrono::ceil<std::chrono::seconds>(ready);
  trial.add(MeetMoved{action.ticket, action.course, to_ms(std::max(soonest, found->course->meet.value_or(soonest)))});
  return trial.take();
}

}  // namespace nappe::line
