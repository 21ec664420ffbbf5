// The document of the floor: the card with what is left, the tables as they sit, what to tell them.

#include <fmt/format.h>

#include <algorithm>
#include <boost/describe/enum_to_string.hpp>

#include "common/kitchen/menu.hpp"
#include "common/wire/pass_screen.hpp"

namespace nappe::wire {
namespace {

using line::CourseState;
using nlohmann::json;

constexpr Duration gone_shown = minutes(60);  // so long a table's last course is remembered on the floor

json courses_of_card(const kitchen::Kitchen& kitchen) {
  json courses = json::object();
  int order = 0;
  for (const kitchen::CourseName& course : kitchen.courses)
    courses[course.id] = {{"name", course.name}, {"order", order++}};
  return courses;
}

json dishes_of_card(const line::State& state) {
  json dishes = json::object();
  int order = 0;
  for (const kitchen::Dish& dish : state.kitchen->dishes) {
    json& out = dishes[dish.id];
    out = {{"name", dish.name}, {"letter", dish.letter}, {"course", dish.course}, {"order", order++}};
    const auto left = state.left.find(dish.id);
    if (left != state.left.end()) out["left"] = left->second;
    for (const kitchen::Part& part : dish.parts)
      if (part.can_be_left_off) out["parts"][part.component] = kitchen::spoken(part.component);
  }
  return dishes;
}

void add_times(const View& view, const line::CourseKey& key, const line::Course& course, json& out) {
  const plan::CoursePlan* plan = view.plan_of(key);
  if (course.gone_at) out["gone_ms"] = to_ms(*course.gone_at);
  if (course.clear) out["clear_ms"] = to_ms(*course.clear);
  // The floor speaks words, also of what waits: as its draft did, and as firing will promise.
  if (plan != nullptr && course.state != CourseState::gone) out["word_ms"] = to_ms(plan->word);
}

// What a position wanted, as it would be said again.
json wanted_json(const line::Wanted& wanted) {
  json out = {{"dish", wanted.dish}};
  for (const std::string& part : wanted.left_off) out["left_off"][part] = kitchen::spoken(part);
  if (!wanted.change.empty()) out["change"] = wanted.change;
  return out;
}

// Nothing when the table has left long ago.
std::optional<json> ticket_json(const View& view, const line::Ticket& ticket) {
  const kitchen::Kitchen& kitchen = view.state().kitchen_of(ticket);
  json out = {{"ticket", line::number(ticket.id)}, {"table", ticket.table},     {"covers", ticket.covers()},
              {"sent_ms", to_ms(ticket.sent)},     {"courses", json::object()}, {"positions", json::object()}};
  bool here = false;
  for (const line::Course& course : ticket.courses) {
    if (course.plates.empty()) continue;
    here = here || course.state != CourseState::gone || (course.gone_at && !view.reached(*course.gone_at + gone_shown));
    json& of = out["courses"][course.course];
    of = {{"state", boost::describe::enum_to_string(course.state, "")}};
    add_times(view, {ticket.id, course.course}, course, of);
    for (const auto& [position, plate] : course.plates) {
      const auto* dish = kitchen.find_dish(plate.wanted.dish);
      std::string text = dish == nullptr ? plate.wanted.dish : dish->name;
      if (const std::string change = plate_change(view, ticket, plate); !change.empty()) text += ", " + change;
      json& seat = out["positions"][std::to_string(position)];
      seat["plates"][course.course] = text;
      seat["wanted"][course.course] = wanted_json(plate.wanted);
    }
  }
  if (!here) return std::nullopt;
  for (const auto& [position, allergies] : ticket.allergies)
    if (!allergies.empty()) out["positions"][std::to_string(position)]["allergies"] = allergy_names(allergies);
  if (!ticket.note.empty()) out["note"] = ticket.note;
  if (ticket.pause) out["pause"] = pause_json(*ticket.pause);
  if (ticket.order != line::TicketId{}) out["order"] = line::number(ticket.order);
  return out;
}

}  // namespace

namespace {

// A table cannot be free before a whole minute has begun.
std::string minute_text(const View& view, Instant at) {
  return view.clock(std::chrono::ceil<std::chrono::minutes>(at)).substr(0, 5);
}

}  // namespace

json wanted_json(const View& view) {
  json all = json::object();
  for (const plan::TableWanted& one : view.plan().wanted) {
    const line::Course* last = view.find_course({one.ticket, one.course});
    const bool left = last != nullptr && last->state == CourseState::gone;
    const plan::CoursePlan* plan = left ? nullptr : view.plan_of({one.ticket, one.course});
    const Instant leaves = plan == nullptr ? one.leaves : std::max(plan->word, one.leaves);
    const Instant free = std::max(one.free_from, leaves);
    std::string says =
        fmt::format("table {} is booked for {} and cannot be free before {}: {} {} {}", one.table,
                    minute_text(view, one.booked), minute_text(view, free), one.course, left ? "left at" : "word",
                    left ? view.clock(leaves).substr(0, 5) : minute_text(view, leaves));
    all[fmt::format("{}-{}", one.table, to_ms(one.booked))] = {{"ticket", line::number(one.ticket)},
                                                               {"table", one.table},
                                                               {"booked_ms", to_ms(one.booked)},
                                                               {"covers", one.covers},
                                                               {"course", one.course},
                                                               {"leaves_ms", to_ms(leaves)},
                                                               {"free_ms", to_ms(free)},
                                                               {"says", std::move(says)}};
  }
  return all;
}

json floor_screen(const View& view) {
  json screen;
  screen["service"] = service_of(view);
  for (const char* const collection : {"courses", "dishes", "tables", "tickets", "wanted"})
    screen[collection] = json::object();
  if (view.state().kitchen == nullptr) return screen;
  const kitchen::Kitchen& kitchen = *view.state().kitchen;
  screen["courses"] = courses_of_card(kitchen);
  screen["dishes"] = dishes_of_card(view.state());
  int order = 0;
  for (const kitchen::Table& table : kitchen.tables) {
    const kitchen::Room* room = kitchen.find_room(table.room);
    screen["tables"][table.id] = {{"seats", table.seats},
                                  {"room", room == nullptr ? std::string() : room->name},
                                  {"walk_ms", kitchen.walk_to(table.id).count()},
                                  {"order", order++}};
  }
  for (const auto& [id, ticket] : view.state().tickets) {
    if (ticket.cancelled || ticket.merged != line::TicketId{}) continue;
    if (auto out = ticket_json(view, ticket)) screen["tickets"][std::to_string(line::number(id))] = std::move(*out);
  }
  screen["wanted"] = wanted_json(view);
  return screen;
}

}  // namespace nappe::wire
