// Sending, changing and cancelling tickets; allergies.
#include <fmt/format.h>

#include <algorithm>

#include "common/kitchen/allergen.hpp"
#include "common/kitchen/menu.hpp"
#include "common/line/batches.hpp"
#include "common/line/decide.hpp"
#include "common/line/ticket_line.hpp"

namespace nappe::line {
namespace {

// What is left of each counted dish covers what is wanted.
Status check_left(const State& state, const std::map<std::string, int>& wanted, const std::string& table) {
  for (const auto& [dish, portions] : wanted) {
    const auto left = state.left.find(dish);
    if (left == state.left.end() || portions <= left->second) continue;
    const auto* known = state.kitchen->find_dish(dish);
    const std::string name = known == nullptr ? dish : known->name;
    if (left->second <= 0)
      return Error{Errc::refused, fmt::format("{} is off: table {} must choose again", name, table)};
    return Error{Errc::refused, fmt::format("only {} {} {} left that nobody has been promised; table {} asks for {}",
                                            left->second, name, left->second == 1 ? "is" : "are", table, portions)};
  }
  return Done{};
}

// So do the counted batches its components are drawn from.
Status check_batches(const State& state, const std::map<std::string, int>& wanted, const std::string& table) {
  if (state.record().batches.empty()) return Done{};
  std::map<std::string, int> components;
  for (const auto& [dish, portions] : wanted) {
    const auto* known = state.kitchen->find_dish(dish);
    if (known == nullptr) continue;
    for (const kitchen::Part& part : known->parts) components[part.component] += portions;
  }
  for (const auto& [component, portions] : components) {
    const auto left = portions_unpromised(state, component);
    if (!left || portions <= *left) continue;
    const std::string& name = state.kitchen->find_component(component)->name;
    return Error{Errc::refused,
                 fmt::format("{} of {} are left in batches fit to be used that nobody has been promised; table {} asks "
                             "for {}: make more, count again, or choose another dish",
                             std::max(0, *left), name, table, portions)};
  }
  return Done{};
}

constexpr Duration twice_within = minutes(1);

// What a ticket holds now, in the shape it was sent in.
Order as_ordered(const Ticket& ticket) {
  Order order{ticket.table, {}, {}, ticket.note};
  for (const auto& [position, allergies] : ticket.allergies)
    if (!allergies.empty()) order.guests.push_back({position, allergies});
  for (const Course& course : ticket.courses) {
    if (course.plates.empty()) continue;
    CourseOrder& out = order.courses.emplace_back(CourseOrder{course.course, {}});
    for (const auto& [position, plate] : course.plates) out.plates.push_back(plate.wanted);
  }
  return order;
}

Order in_one_shape(Order order, const kitchen::Kitchen& kitchen) {
  std::erase_if(order.guests, [](const Guest& guest) { return guest.allergies.empty(); });
  for (Guest& guest : order.guests) guest.allergies = in_order(std::move(guest.allergies));
  std::sort(order.guests.begin(), order.guests.end(),
            [](const Guest& a, const Guest& b) { return a.position < b.position; });
  const auto eaten = [&](const CourseOrder& course) {
    return std::find_if(kitchen.courses.begin(), kitchen.courses.end(),
                        [&](const kitchen::CourseName& name) { return name.id == course.course; });
  };
  std::sort(order.courses.begin(), order.courses.end(),
            [&](const CourseOrder& a, const CourseOrder& b) { return eaten(a) < eaten(b); });
  for (CourseOrder& course : order.courses)
    std::sort(course.plates.begin(), course.plates.end(),
              [](const Wanted& a, const Wanted& b) { return a.position < b.position; });
  return order;
}

// Two people (or one, twice) sent what the table wants: a repeated command is answered once, but a second ticket is not
// known by its id.
Status check_twice(const Asked& asked, const SendTicket& action) {
  if (action.sure) return Done{};
  for (auto it = asked.state.tickets.rbegin(); it != asked.state.tickets.rend(); ++it) {
    const Ticket& ticket = it->second;
    if (asked.now - ticket.sent > twice_within) break;
    if (ticket.cancelled || ticket.table != action.order.table || ticket.merged != TicketId{}) continue;
    const auto& kitchen = *asked.state.kitchen;
    if (in_one_shape(as_ordered(ticket), kitchen) != in_one_shape(action.order, kitchen)) continue;
    return Error{Errc::refused, fmt::format("table {} already has this order, sent at {} (ticket {}): say it again to "
                                            "send the same once more",
                                            ticket.table, clock_text(ticket.sent, utc_offset(asked.state)).substr(0, 5),
                                            number(ticket.id))};
  }
  return Done{};
}

// What an allergy told now (`news`) means for one pan that holds a portion of the guest's. What has not been begun can
// still be made without it, when the component knows how.
void tell_pan(const Asked& asked, const Ticket& as_told, const Pan& pan, const PlateKey& plate,
              const std::vector<std::string>& news, PanOpener& opener, Happenings& out) {
  const auto& component = asked.state.component_of(pan);
  const auto held = pan.begun() ? kitchen::clashes(component, news) : kitchen::clashes_left(component, news);
  if (!held.empty()) out.push_back(PlateBlocked{plate, pan.component, held.front().allergen});
  if (pan.begun()) return;
  free_portion(pan, plate, "it needs a clean pan of its own", out);
  opener.open_one(as_told, plate, pan.component, pan.refire, out);
}

}  // namespace

Decision decide_on(const Asked& asked, const SendTicket& action) {
  const auto& kitchen = *asked.state.kitchen;
  if (Status fine = check_order(action.order, kitchen); !fine) return fine.error();
  if (Status fine = check_twice(asked, action); !fine) return fine.error();
  std::map<std::string, int> wanted;
  for (const CourseOrder& course : action.order.courses)
    for (const Wanted& plate : course.plates) ++wanted[plate.dish];
  if (Status fine = check_left(asked.state, wanted, action.order.table); !fine) return fine.error();
  if (Status fine = check_batches(asked.state, wanted, action.order.table); !fine) return fine.error();

  const TicketId id{asked.state.tickets_made + 1};
  Happenings out{TicketSent{id, kitchen.version, action.order}};
  Ticket ticket;
  ticket.id = id;
  ticket.version = kitchen.version;
  for (const Guest& guest : action.order.guests) ticket.allergies[guest.position] = in_order(guest.allergies);
  PanOpener opener(asked.state);
  for (const CourseOrder& course : action.order.courses) opener.open_course(ticket, course.course, course.plates, out);
  return out;
}

Decision decide_on(const Asked& asked, const ChangePlate& action) {
  const auto found = ticket_of(asked.state, action.ticket);
  if (!found) return found.error();
  const Ticket& ticket = **found;
  const auto& kitchen = asked.state.kitchen_of(ticket);
  const PlateKey key{action.ticket, action.course, action.plate.position};
  const Course* course = ticket.find_course(action.course);
  const Plate* before = asked.state.find_plate(key);
  const std::string where = fmt::format("{} of {}", action.course, position_text(ticket, key.position));
  if (before != nullptr && before->gone)
    return Error{Errc::conflict, fmt::format("the {} has gone already: refire it instead", where)};
  if (before == nullptr && action.plate.dish.empty())
    return Error{Errc::unknown, fmt::format("there is nothing to take away: no {} was ordered", where)};
  if (course != nullptr && course->state == CourseState::gone)
    return Error{Errc::conflict, fmt::format("the {} of table {} have gone already", action.course, ticket.table)};

  if (!action.plate.dish.empty()) {
    Order check;
    check.table = ticket.table;
    check.guests.push_back({key.position, ticket.allergies_of(key.position)});
    check.courses.push_back({action.course, {action.plate}});
    if (Status fine = check_order(check, kitchen, seats_of(asked.state, ticket)); !fine) return fine.error();
    const bool same = before != nullptr && before->wanted.dish == action.plate.dish;
    if (!same) {
      if (Status fine = check_left(asked.state, {{action.plate.dish, 1}}, ticket.table); !fine) return fine.error();
      if (Status fine = check_batches(asked.state, {{action.plate.dish, 1}}, ticket.table); !fine) return fine.error();
    }
  }

  const auto pans = asked.state.pans_of(key);
  const auto begun = std::find_if(pans.begin(), pans.end(), [](const Pan* pan) { return pan->begun(); });
  if (begun != pans.end() && !action.sure)
    return Error{Errc::refused, fmt::format("the {} for {} has been begun: say it again to change it all the same",
                                            asked.state.component_of(**begun).name, where)};
  Happenings out;
  for (const Pan* pan : pans) free_portion(*pan, key, "the guest changed", out);
  out.push_back(PlateChanged{action.ticket, action.course, action.plate});
  if (action.plate.dish.empty()) {
    Trial after(asked);
    after.add(std::move(out));
    const Ticket& changed = *after.state().find_ticket(action.ticket);
    Happenings closing;
    close_course(after.asked(), {&changed, changed.find_course(action.course)}, closing);
    after.add(std::move(closing));
    return after.take();
  }
  PanOpener opener(asked.state);
  opener.open_course(ticket, action.course, {action.plate}, out);
  return out;
}

Decision decide_on(const Asked& asked, const TellAllergy& action) {
  const auto found = ticket_of(asked.state, action.ticket);
  if (!found) return found.error();
  const Ticket& ticket = **found;
  if (action.allergies.empty()) return Error{Errc::invalid, "say which allergy", "/allergies"};
  std::vector<std::string> news;
  for (const std::string& name : action.allergies) {
    const auto* known = kitchen::find_allergen(name);
    if (known == nullptr) {
      const auto near = kitchen::nearest_allergen(name);
      return Error{Errc::invalid,
                   fmt::format("\"{}\" is none of the fourteen allergens{}", name,
                               near ? fmt::format("; did you mean \"{}\"?", *near) : std::string()),
                   "/allergies"};
    }
    const auto before = ticket.allergies_of(action.position);
    if (std::find(before.begin(), before.end(), known->name) == before.end()) news.emplace_back(known->name);
  }
  if (news.empty()) return Happenings{};

  Ticket as_told = ticket;
  auto& allergies = as_told.allergies[action.position];
  allergies.insert(allergies.end(), news.begin(), news.end());
  allergies = in_order(std::move(allergies));
  Happenings out{AllergyTold{action.ticket, action.position, news}};
  PanOpener opener(asked.state);
  for (const Course& course : ticket.courses) {
    const auto plate = course.plates.find(action.position);
    if (plate == course.plates.end() || plate->second.gone) continue;
    const PlateKey key{action.ticket, course.course, action.position};
    for (const Pan* pan : asked.state.pans_of(key)) tell_pan(asked, as_told, *pan, key, news, opener, out);
  }
  return out;
}

Decision decide_on(const Asked& asked, const ChangeTicket& action) {
  const auto found = ticket_of(asked.state, action.ticket);
  if (!found) return found.error();
  const Ticket& ticket = **found;
  if (action.order.table != ticket.table)
    return Error{
        Errc::invalid,
        fmt::format("ticket {} is of table {}, not of {}", number(ticket.id), ticket.table, action.order.table),
        "/order/table"};
  const auto& kitchen = asked.state.kitchen_of(ticket);
  // Judged as a whole first, with what is known of each guest: one sentence says where it is wrong.
  Order whole = action.order;
  for (const auto& [position, names] : ticket.allergies) {
    const auto guest = std::find_if(whole.guests.begin(), whole.guests.end(),
                                    [&, at = position](const Guest& one) { return one.position == at; });
    if (guest == whole.guests.end()) {
      whole.guests.push_back({position, names});
    } else {
      guest->allergies.insert(guest->allergies.end(), names.begin(), names.end());
      guest->allergies = in_order(std::move(guest->allergies));
    }
  }
  if (Status fine = check_order(whole, kitchen, seats_of(asked.state, ticket)); !fine) return fine.error();
  Trial trial(asked);
  for (const Guest& guest : action.order.guests) {
    if (guest.allergies.empty()) continue;
    if (Status fine = trial.ask(TellAllergy{ticket.id, guest.position, guest.allergies}); !fine) return fine.error();
  }
  for (const CourseOrder& course : action.order.courses)
    for (const Wanted& plate : course.plates) {
      const Plate* before = asked.state.find_plate({ticket.id, course.course, plate.position});
      if (before != nullptr && before->wanted == plate) continue;
      if (Status fine = trial.ask(ChangePlate{ticket.id, course.course, plate, action.sure}); !fine)
        return fine.error();
    }
  return trial.take();
}

Decision decide_on(const Asked& asked, const CancelTicket& action) {
  const auto found = ticket_of(asked.state, action.ticket);
  if (!found) return found.error();
  const std::string why = fmt::format("table {} cancelled", (*found)->table);
  Happenings out;
  for (const auto& [id, pan] : asked.state.pans) {
    std::size_t freed = 0;
    for (const Portion& portion : pan.portions) {
      if (portion.plate.ticket != action.ticket || asked.state.find_plate(portion.plate)->gone) continue;
      out.push_back(PortionFreed{id, portion.plate, why});
      ++freed;
    }
    if (freed > 0 && freed == pan.portions.size()) out.push_back(PanDropped{id, why});
  }
  out.push_back(TicketCancelled{action.ticket, action.reason});
  return out;
}

}  // namespace nappe::line
