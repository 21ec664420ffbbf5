#include "common/line/decide.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "common/kitchen/near.hpp"
#include "common/line/batches.hpp"

namespace nappe::line {
namespace {

std::string letter_text(int index) {
  std::string text(1, static_cast<char>('A' + index % 26));
  if (index >= 26) text += std::to_string(index / 26 + 1);
  return text;
}

// The person who answers for what goes into the record, as the house writes the name; a probe by itself is one too.
// Somebody from outside has to be called that, so that a slip of the finger makes nobody up.
Result<std::string> who_answers(const State& state, const Command& command) {
  if (command.by.empty() || command.device || !state.kitchen) return command.by;
  std::vector<std::string> known;
  for (const auto& station : state.kitchen->stations)
    for (const auto& person : station.people) {
      if (person.id == command.by || person.name == command.by) return person.name;
      known.push_back(person.name);
    }
  if (command.stranger) return command.by + " (not of the house)";
  const std::string near = kitchen::suggest(command.by, known);
  return Error{Errc::unknown,
               fmt::format("nobody called \"{}\" works here{}{}{} Whoever is from outside says so with --stranger "
                           "(\"stranger\": true)",
                           command.by, near.empty() ? "" : "; ", near, near.ends_with('?') ? "" : "."),
               "/by"};
}

// A command may wait in a queue for long, but nothing may be dated before the service or after its arrival.
Instant pressed_at(const State& state, const Command& command, Instant now) {
  if (state.service == ServiceState::closed) return now;
  return std::clamp(command.at, std::min(state.opened, now), now);
}

}  // namespace

Result<const Ticket*> ticket_of(const State& state, TicketId id) {
  const Ticket* ticket = state.find_ticket(id);
  if (ticket == nullptr) return Error{Errc::unknown, fmt::format("there is no ticket {}", number(id))};
  if (ticket->cancelled)
    return Error{Errc::conflict, fmt::format("ticket {} of table {} was cancelled", number(id), ticket->table)};
  if (ticket->merged != TicketId{}) {
    const Ticket* into = state.find_ticket(ticket->merged);
    return Error{Errc::conflict, fmt::format("ticket {} of table {} sits at table {} now", number(id), ticket->table,
                                             into == nullptr ? std::string("another") : into->table)};
  }
  return ticket;
}

Result<Found> course_of(const State& state, TicketId id, const std::string& course) {
  const auto ticket = ticket_of(state, id);
  if (!ticket) return ticket.error();
  const Course* found = (*ticket)->find_course(course);
  if (found == nullptr)
    return Error{Errc::unknown, fmt::format("table {} has no course \"{}\"", (*ticket)->table, course)};
  return Found{*ticket, found};
}

Result<const Pan*> pan_of(const State& state, PanId id) {
  if (const Pan* pan = state.find_pan(id)) return pan;
  if (state.past.count(id) != 0) return Error{Errc::conflict, "its plates have gone already"};
  if (number(id) <= state.pans_made && number(id) > 0)
    return Error{Errc::conflict, "that pan is no longer wanted: its portions were cancelled or joined to another"};
  return Error{Errc::unknown, fmt::format("there is no pan {}", number(id))};
}

std::string course_text(const Found& found) {
  return fmt::format("{} of table {}", found.course->course, found.ticket->table);
}

std::string position_text(const Ticket& ticket, int position) {
  return fmt::format("position {} of table {}", position, ticket.table);
}

PanId PanOpener::open(const Ticket& ticket, const std::string& component, const std::vector<PlateKey>& plates,
                      const std::vector<std::string>& allergies, bool refire, Happenings& out) {
  const auto* found = state_.kitchen_of(ticket).find_component(component);
  const PanId id{++next_};
  out.push_back(PanOpened{id, component, found->station, ticket.version, plates, allergies, refire});
  return id;
}

PanId PanOpener::open_one(const Ticket& ticket, const PlateKey& plate, const std::string& component, bool refire,
                          Happenings& out) {
  return open(ticket, component, {plate}, ticket.allergies_of(plate.position), refire, out);
}

void PanOpener::open_course(const Ticket& ticket, const std::string& course, const std::vector<Wanted>& plates,
                            Happenings& out) {
  const auto& kitchen = state_.kitchen_of(ticket);
  using Group = std::pair<std::string, std::vector<std::string>>;  // component, allergies
  std::map<Group, std::vector<PlateKey>> groups;
  for (const Wanted& wanted : plates) {
    const auto* dish = kitchen.find_dish(wanted.dish);
    for (const auto& part : dish->parts) {
      const auto& off = wanted.left_off;
      if (std::find(off.begin(), off.end(), part.component) != off.end()) continue;
      groups[{part.component, ticket.allergies_of(wanted.position)}].push_back({ticket.id, course, wanted.position});
    }
  }
  for (const auto& [group, keys] : groups) {
    const std::size_t cap = static_cast<std::size_t>(std::max(1, kitchen.find_component(group.first)->cap));
    const std::size_t pans = (keys.size() + cap - 1) / cap;
    // As even as they go: five portions under a cap of four are three and two, not four and one.
    std::size_t from = 0;
    for (std::size_t i = 0; i < pans; ++i) {
      const std::size_t to = keys.size() * (i + 1) / pans;
      const auto at = keys.begin();
      open(ticket, group.first, {at + static_cast<std::ptrdiff_t>(from), at + static_cast<std::ptrdiff_t>(to)},
           group.second, false, out);
      from = to;
    }
  }
}

void free_portion(const Pan& pan, const PlateKey& plate, const std::string& why, Happenings& out) {
  out.push_back(PortionFreed{pan.id, plate, why});
  if (pan.portions.size() == 1) out.push_back(PanDropped{pan.id, why});
}

void give_letters(const State& state, const std::vector<const Pan*>& pans, Happenings& out) {
  using Shelf = std::pair<std::string, std::string>;  // station, vessel
  std::map<Shelf, std::set<std::string>> taken;
  for (const auto& [id, pan] : state.pans)
    if (!pan.letter.empty()) taken[{pan.station, state.component_of(pan).vessel}].insert(pan.letter);
  for (const Pan* pan : pans) {
    if (!pan->letter.empty()) continue;
    auto& used = taken[{pan->station, state.component_of(*pan).vessel}];
    int index = 0;
    while (used.count(letter_text(index)) != 0) ++index;
    used.insert(letter_text(index));
    out.push_back(LetterGiven{pan->id, letter_text(index)});
  }
}

bool concerns_record(const Action& action) {
  static const std::size_t first = Action(MakeBatch{}).index();
  return action.index() >= first;
}

bool concerns_record(const Happening& happening) {
  static const std::size_t first = Happening(RulesAdopted{}).index();
  return happening.index() >= first;
}

Result<std::vector<Event>> decide(const State& state, const Command& command, Instant now) {
  const bool opens = std::holds_alternative<OpenService>(command.action);
  const bool record = concerns_record(command.action);
  if (state.service == ServiceState::closed && !opens && !(record && state.kitchen))
    return Error{Errc::conflict, "no service is open: open one first"};
  Asked asked{state, command.by, pressed_at(state, command, now), now, command.device};
  if (record) {
    auto who = who_answers(state, command);
    if (!who) return who.error();
    asked.by = std::move(who).value();
  }
  Decision decision = std::visit([&](const auto& action) { return decide_on(asked, action); }, command.action);
  if (!decision) return decision.error();
  if (!record) add_drawn(state, *decision);
  std::vector<Event> events;
  events.reserve(decision->size());
  for (Happening& happening : *decision) events.push_back({now, std::move(happening)});
  return events;
}

}  // namespace nappe::line
