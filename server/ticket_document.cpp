#include "server/ticket_document.hpp"

#include <nlohmann/json.hpp>

#include "common/wire/parse.hpp"

namespace nappe::server {

namespace {

using nlohmann::json;

const char* name_of(line::CourseState state) {
  switch (state) {
    case line::CourseState::waiting:
      return "waiting";
    case line::CourseState::fired:
      return "fired";
    case line::CourseState::held:
      return "held";
    case line::CourseState::gone:
      return "gone";
  }
  return "waiting";
}

json plate_of(int position, const line::Plate& plate) {
  json out = {{"position", position}, {"dish", plate.wanted.dish}};
  if (!plate.wanted.left_off.empty()) out["left_off"] = plate.wanted.left_off;
  if (!plate.wanted.change.empty()) out["change"] = plate.wanted.change;
  if (plate.gone) out["gone_ms"] = to_ms(*plate.gone);
  for (const auto& [component, allergen] : plate.blocked) {
    if (!plate.cleared.contains(component)) out["blocked"][component] = allergen;
  }
  return out;
}

json course_of(const line::Course& course) {
  json out = {{"course", course.course}, {"state", name_of(course.state)}, {"plates", json::array()}};
  if (course.meet) out["meet_ms"] = to_ms(*course.meet);
  if (course.fired_at) out["fired_ms"] = to_ms(*course.fired_at);
  if (course.gone_at) {
    out["gone_ms"] = to_ms(*course.gone_at);
    out["spread_ms"] = course.spread.count();
  }
  for (const auto& [position, plate] : course.plates) out["plates"].push_back(plate_of(position, plate));
  return out;
}

}  // namespace

std::string ticket_document(const line::Ticket& ticket) {
  json out = {{"ticket", line::number(ticket.id)}, {"table", ticket.table},   {"version", ticket.version},
              {"sent_ms", to_ms(ticket.sent)},     {"guests", json::array()}, {"courses", json::array()}};
  if (!ticket.note.empty()) out["note"] = ticket.note;
  if (ticket.cancelled) out["cancelled"] = true;
  for (const auto& [position, allergies] : ticket.allergies) {
    out["guests"].push_back({{"position", position}, {"allergies", allergies}});
  }
  for (const line::Course& course : ticket.courses) out["courses"].push_back(course_of(course));
  return wire::write_json(out);
}

}  // namespace nappe::server
