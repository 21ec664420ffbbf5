#include "server/draft.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "common/kitchen/allergen.hpp"
#include "common/kitchen/menu.hpp"
#include "common/line/covers.hpp"
#include "common/line/line.hpp"

namespace nappe::server {

namespace {

using nlohmann::json;

constexpr double worth_saying = 0.1;
constexpr Duration delay_step = minutes(5);
constexpr Duration delay_max = minutes(40);

Status ask(line::State& state, line::Action action, Instant now) {
  const line::Command command{"draft", "draft", now, std::move(action)};
  const auto events = line::decide(state, command, now);
  if (!events) return events.error();
  for (const line::Event& event : *events) line::apply(state, event);
  return Done{};
}

double hundredths(double value) { return std::round(value * 100.0) / 100.0; }

double load_at(const plan::Plan& plan, const std::string& station, std::int64_t slot_ms) {
  const auto here = plan.stations.find(station);
  if (here == plan.stations.end()) return 0;
  const auto found = here->second.load.find(slot_ms);
  return found == here->second.load.end() ? 0 : found->second;
}

json load_of(const line::State& state, const plan::Plan& before, const plan::Plan& after) {
  json load = json::object();
  for (const auto& [id, station] : after.stations) {
    double most = 0;
    json says;
    for (const auto& [slot_ms, share] : station.load) {
      const double was = load_at(before, id, slot_ms);
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

// Why a course is let in later than its components would have it: with a cap on covers it waits for room. Empty: it
// does not.
std::string held_back(const line::State& sent, const line::Course& course) {
  const int cap = sent.kitchen->settings.covers_cap;
  if (cap <= 0) return {};
  const int inside = line::covers_in_kitchen(sent);
  if (inside == 0 || inside + static_cast<int>(course.plates.size()) <= cap) return {};
  return fmt::format("waits for room: {} of at most {} covers are in the kitchen", inside, cap);
}

// Whether the ticket lifts some station above what the house warns of.
bool collides(const json& load) {
  return std::any_of(load.begin(), load.end(), [](const json& station) { return station["full"] == true; });
}

}  // namespace

Result<json> draft_document(const line::State& state, const line::Order& order, Instant now, plan::Planner& planner,
                            const plan::Plan* before) {
  line::State sent = state;
  if (Status fine = ask(sent, line::SendTicket{order}, now); !fine) return fine.error();
  const line::TicketId id{sent.tickets_made};
  const line::Ticket& ticket = *sent.find_ticket(id);
  const auto first = std::find_if(ticket.courses.begin(), ticket.courses.end(),
                                  [](const line::Course& course) { return !course.plates.empty(); });
  std::size_t plates = 0;
  for (const line::Course& course : ticket.courses) plates += course.plates.size();
  const line::CourseKey key{id, first->course};
  // As the screens would be planned with it, so that they say the same.
  const plan::Plan plan = planner.make(sent, now, before, plan::Scope::on_the_line);
  const auto promise = planner.if_fired(sent, key, now, &plan);
  json out = {{"plates", plates}, {"course", key.course}, {"load", json::object()}};
  if (!promise) return out;
  out["could_ms"] = to_ms(promise->meet);
  out["word_ms"] = to_ms(promise->word);
  if (std::string why = held_back(sent, *first); !why.empty()) out["why"] = std::move(why);
  out["load"] = load_of(state, plan, promise->plan);
  if (!collides(out["load"])) return out;
  for (Duration by = delay_step; by <= delay_max; by += delay_step) {
    const auto later = planner.if_fired(sent, key, now, &plan, promise->meet + by);
    if (!later || collides(load_of(state, plan, later->plan))) continue;
    out["later_ms"] = to_ms(later->meet);
    break;
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
