#include "server/draft.hpp"

#include <fmt/format.h>

#include <cmath>

#include "common/kitchen/allergen.hpp"
#include "common/kitchen/menu.hpp"
#include "common/line/line.hpp"

namespace nappe::server {

namespace {

using nlohmann::json;

constexpr double worth_saying = 0.1;

Status ask(line::State& state, line::Action action, Instant now) {
  const line::Command command{"draft", "draft", now, std::move(action)};
  const auto events = line::decide(state, command, now);
  if (!events) return events.error();
  for (const line::Event& event : *events) line::apply(state, event);
  return Done{};
}

double hundredths(double value) { return std::round(value * 100.0) / 100.0; }

json load_of(const line::State& state, const plan::Plan& before, const plan::Plan& after) {
  json load = json::object();
  for (const auto& [id, station] : after.stations) {
    const auto old = before.stations.find(id);
    double most = 0;
    json says;
    for (const auto& [slot_ms, share] : station.load) {
      double was = 0;
      if (old != before.stations.end())
        if (const auto found = old->second.load.find(slot_ms); found != old->second.load.end()) was = found->second;
      if (share - was < worth_saying || share <= most) continue;
      most = share;
      says = {{"from_ms", slot_ms}, {"before", hundredths(was)}, {"after", hundredths(share)}};
    }
    if (says.is_null()) continue;
    const auto* known = state.kitchen->find_station(id);
    says["name"] = known == nullptr ? id : known->name;
    says["full"] = most > state.kitchen->settings.load_warning;
    load[id] = std::move(says);
  }
  return load;
}

}  // namespace

Result<json> draft_document(const line::State& state, const line::Order& order, Instant now, const PlanOf& plan_of) {
  line::State sent = state;
  if (Status fine = ask(sent, line::SendTicket{order}, now); !fine) return fine.error();
  const line::TicketId id{sent.tickets_made};
  const line::Ticket& ticket = *sent.find_ticket(id);
  const auto first = std::find_if(ticket.courses.begin(), ticket.courses.end(),
                                  [](const line::Course& course) { return !course.plates.empty(); });
  std::size_t plates = 0;
  for (const line::Course& course : ticket.courses) plates += course.plates.size();
  const line::CourseKey key{id, first->course};
  if (Status fine = ask(sent, line::Fire{id, key.course, {}}, now); !fine) return fine.error();
  const plan::Plan before = plan_of(state, now);
  const plan::Plan after = plan_of(sent, now);
  json out = {{"plates", plates}, {"course", key.course}, {"load", load_of(state, before, after)}};
  if (const auto planned = after.courses.find(key); planned != after.courses.end()) {
    out["could_ms"] = to_ms(planned->second.meet);
    out["word_ms"] = to_ms(planned->second.word);
  }
  return out;
}

Result<json> card_document(const kitchen::Kitchen& kitchen, const std::vector<std::string>& allergies) {
  std::vector<std::string> known;
  for (const std::string& name : allergies) {
    const auto* found = kitchen::find_allergen(name);
    if (found == nullptr) {
      const auto near = kitchen::nearest_allergen(name);
      return Error{Errc::invalid, fmt::format("\"{}\" is none of the fourteen allergens{}", name,
                                              near ? fmt::format("; did you mean \"{}\"?", *near) : std::string())};
    }
    known.emplace_back(found->name);
  }
  json dishes = json::object();
  for (const kitchen::Dish& dish : kitchen.dishes) {
    const kitchen::CanHave how = kitchen::can_have(kitchen, dish, known);
    const char* answer = how.answer == kitchen::Answer::yes  ? "yes"
                         : how.answer == kitchen::Answer::no ? "no"
                                                             : "with_changes";
    dishes[dish.id] = {{"answer", answer}, {"says", kitchen::in_words(dish, how)}};
  }
  return json{{"says", kitchen::card_for(kitchen, known)}, {"dishes", std::move(dishes)}};
}

}  // namespace nappe::server
