// What the pass wants to know beside the run-in: how plates are carried, how long a table can wait, who can lend.

#include <fmt/format.h>

#include <algorithm>
#include <boost/describe/enum_to_string.hpp>

#include "common/line/chain.hpp"
#include "common/line/line.hpp"
#include "common/wire/pass_screen.hpp"

namespace nappe::wire {

using nlohmann::json;

int hands_to_carry(int plates, int alone) { return alone + (plates - alone + 1) / 2; }

json carry_json(const View& view, const line::Ticket& ticket, const line::Course& course, Duration walk) {
  std::vector<std::string> together;
  std::vector<std::string> alone;
  const kitchen::Kitchen& kitchen = view.state().kitchen_of(ticket);
  for (const auto& [position, plate] : course.plates) {
    if (plate.gone) continue;
    const auto* dish = kitchen.find_dish(plate.wanted.dish);
    const std::string text = fmt::format("{} {}", position, dish == nullptr ? plate.wanted.dish : dish->name);
    const std::string words = no_words(ticket.allergies_of(position));
    if (words.empty())
      together.push_back(text);
    else
      alone.push_back(fmt::format("{} {}, alone: last up, first down", text, words));
  }
  if (together.empty() && alone.empty()) return {};
  json trips = json::object();
  for (std::size_t i = 0; i < together.size(); i += 2) {
    const bool pair = i + 1 < together.size();
    trips[fmt::format("{:02}", trips.size() + 1)] = pair ? together[i] + ", " + together[i + 1] : together[i];
  }
  for (const std::string& text : alone) trips[fmt::format("{:02}", trips.size() + 1)] = text;
  const int plates = static_cast<int>(together.size() + alone.size());
  json carry = {{"hands", hands_to_carry(plates, static_cast<int>(alone.size()))}, {"trips", std::move(trips)}};
  const plan::CoursePlan* plan = view.plan_of({ticket.id, course.course});
  if (plan != nullptr) carry["call_ms"] = to_ms(plan->meet - walk);
  return carry;
}

json pause_json(const line::Pause& pause) {
  json out = {{"why", boost::describe::enum_to_string(pause.why, "")}, {"since_ms", to_ms(pause.since)}};
  if (pause.until) out["until_ms"] = to_ms(*pause.until);
  return out;
}

std::optional<LatestMeet> latest_meet(const View& view, const line::CourseKey& course) {
  // It changes with the plan, not with the clock.
  const auto latest = line::latest_meet(view.state(), course, view.plan().made);
  if (!latest) return std::nullopt;
  for (const PanView* pan : view.pans_of(course))
    if (pan->pan->id == latest->pan) return LatestMeet{latest->at, pan->name()};
  return std::nullopt;
}

json lend_json(const View& view) {
  json lend = json::object();
  const line::State& state = view.state();
  for (const auto& [id, pan] : state.pans) {
    const bool ahead = pan.begun() && pan.runs.front().ended.has_value();
    if (!ahead || pan.finished || !pan.allergies.empty()) continue;
    const auto& component = state.component_of(pan);
    const Duration chain = line::chain_time(component, 1);
    for (const line::Portion& portion : pan.portions) {
      const line::Course* course = view.find_course(portion.plate.of_course());
      const line::Plate* plate = state.find_plate(portion.plate);
      if (portion.plated || course == nullptr || plate == nullptr || plate->gone || !plate->blocked.empty()) continue;
      if (course->state != line::CourseState::fired || !course->meet) continue;
      const Instant until = *course->meet - chain;
      if (view.reached(until)) continue;
      json& best = lend[pan.component];
      if (best.is_object() && best["until_ms"].get<std::int64_t>() >= to_ms(until)) continue;
      const line::Ticket* ticket = state.find_ticket(portion.plate.ticket);
      best = {{"what", component.name},
              {"ticket", line::number(portion.plate.ticket)},
              {"table", ticket->table},
              {"until_ms", to_ms(until)}};
    }
  }
  return lend;
}

}  // namespace nappe::wire
