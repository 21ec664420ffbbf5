// Opening and closing, hands, counts, alerts.
#include <fmt/format.h>

#include <algorithm>

#include "common/kitchen/load.hpp"
#include "common/kitchen/menu.hpp"
#include "common/line/decide.hpp"

namespace nappe::line {

namespace {

// What the house wants checked and nobody has checked, in its order.
std::vector<std::string> missing_checks(const OpenService& action) {
  std::vector<std::string> out;
  if (!action.wanted) return out;
  for (const std::string& item : *action.wanted) {
    const bool there =
        action.checked && std::find(action.checked->begin(), action.checked->end(), item) != action.checked->end();
    if (!there) out.push_back(kitchen::spoken(item));
  }
  return out;
}

// A person of the house by id or by name, as the house writes the name; nothing if there is none.
std::optional<std::string> person_named(const kitchen::Kitchen& kitchen, const std::string& said) {
  for (const auto& station : kitchen.stations)
    for (const auto& person : station.people)
      if (person.id == said || person.name == said) return person.name;
  return std::nullopt;
}

}  // namespace

Decision decide_on(const Asked& asked, const OpenService& action) {
  auto loaded = kitchen::from_document(action.document);
  if (!loaded) {
    const auto& fault = loaded.faults.front();
    return Error{
        Errc::invalid,
        fmt::format("the kitchen cannot be read: {}{}{}", fault.what, fault.hint.empty() ? "" : "; ", fault.hint),
        "/document" + fault.pointer};
  }
  const std::string& version = loaded.value->version;
  if (asked.state.service == ServiceState::open) {
    if (asked.state.kitchen->version == version)
      return Error{Errc::conflict, fmt::format("the service \"{}\" is open already", asked.state.name)};
  } else if (action.name.empty()) {
    return Error{Errc::invalid, "a service needs a name, such as the day", "/name"};
  }
  ServiceOpened opened{action.name, version, action.document, {}, {}};
  const auto missing = missing_checks(action);
  if (asked.state.service != ServiceState::open && !missing.empty()) {
    const auto who = person_named(*loaded.value, asked.by);
    if (!action.sure || !who)
      return Error{
          Errc::refused,
          fmt::format(
              "the line check lacks {} of {} ({}{}): check them, or a person of the house says by name "
              "that it opens all the same",
              missing.size(), action.wanted->size(),
              fmt::join(missing.begin(), missing.begin() + std::min<std::ptrdiff_t>(4, std::ssize(missing)), ", "),
              missing.size() > 4 ? ", ..." : "")};
    opened.unchecked = missing;
    opened.by = who;
  }
  return Happenings{std::move(opened)};
}

Decision decide_on(const Asked& asked, const CloseService& action) {
  std::vector<std::string> open;
  for (const auto& [id, ticket] : asked.state.tickets)
    for (const Course& course : ticket.courses)
      if (!ticket.cancelled && course.state != CourseState::gone && !course.plates.empty())
        open.push_back(fmt::format("table {} {}", ticket.table, course.course));
  if (!open.empty() && !action.sure)
    return Error{
        Errc::refused,
        fmt::format("{} not gone ({}{}): say it again to close all the same",
                    open.size() == 1 ? "1 course has" : fmt::format("{} courses have", open.size()),
                    fmt::join(open.begin(), open.begin() + std::min<std::ptrdiff_t>(3, std::ssize(open)), ", "),
                    open.size() > 3 ? ", ..." : "")};
  std::vector<std::string> undecided;
  for (const auto& [id, batch] : asked.state.record().batches)
    if (batch.there() && !batch.fate) undecided.push_back(id);
  if (!undecided.empty())
    return Error{Errc::refused, fmt::format("the night cannot close: nobody has said keep, cool or throw for {}",
                                            fmt::join(undecided, ", "))};
  Happenings out;
  for (const auto& [id, ticket] : asked.state.tickets)
    if (ticket.words) out.push_back(WordsDropped{id});
  out.push_back(ServiceClosed{});
  return out;
}

Decision decide_on(const Asked& asked, const SetHands& action) {
  const auto* station = asked.state.kitchen->find_station(action.station);
  if (station == nullptr) return Error{Errc::unknown, fmt::format("there is no station \"{}\"", action.station)};
  const bool known = std::any_of(station->people.begin(), station->people.end(),
                                 [&](const kitchen::Person& person) { return person.id == action.person; });
  if (!known) {
    std::vector<std::string> names;
    for (const kitchen::Person& person : station->people) names.push_back(person.name);
    return Error{Errc::unknown, fmt::format("nobody called \"{}\" works at {}; there are {}", action.person,
                                            station->name, fmt::join(names, ", "))};
  }
  const auto present = asked.state.hands.find(action.station);
  const bool now = present != asked.state.hands.end() && present->second.count(action.person) != 0;
  if (now == action.present) return Happenings{};
  return Happenings{HandsSet{action.station, action.person, action.present}};
}

Decision decide_on(const Asked& asked, const SetLeft& action) {
  const auto* dish = asked.state.kitchen->find_dish(action.dish);
  if (dish == nullptr) return Error{Errc::unknown, fmt::format("there is no dish \"{}\"", action.dish)};
  if (action.left && *action.left < 0)
    return Error{Errc::invalid, fmt::format("{} cannot be left {} times: give 0 for off", dish->name, *action.left),
                 "/left"};
  return Happenings{LeftSet{action.dish, action.left}};
}

namespace {

Result<const Alert*> alert_of(const State& state, AlertId id) {
  const auto found = state.alerts.find(id);
  if (found != state.alerts.end()) return &found->second;
  if (number(id) > 0 && number(id) <= state.alerts_made) return Error{Errc::conflict, "that alert is over already"};
  return Error{Errc::unknown, fmt::format("there is no alert {}", number(id))};
}

}  // namespace

Decision decide_on(const Asked& asked, const Acknowledge& action) {
  const auto alert = alert_of(asked.state, action.alert);
  if (!alert) return alert.error();
  if ((*alert)->answered) return Happenings{};
  return Happenings{AlertAcknowledged{action.alert, asked.by}};
}

Decision decide_on(const Asked& asked, const Shelve& action) {
  const auto alert = alert_of(asked.state, action.alert);
  if (!alert) return alert.error();
  const Instant until = from_ms(action.until_ms);
  if (until <= asked.now || until > asked.now + minutes(60))
    return Error{Errc::invalid, "an alert can be shelved until an instant within the next hour", "/until_ms"};
  return Happenings{AlertShelved{action.alert, action.until_ms, asked.by}};
}

}  // namespace nappe::line
