#include "tests/support/night.hpp"

#include <stdexcept>

#include "common/line/chain.hpp"
#include "common/line/ticket_line.hpp"

namespace nappe::tests {
Instant friday(int hour, int minute, int second) {
  return *from_rfc3339("2026-11-20T00:00:00Z") + std::chrono::hours(hour) + std::chrono::minutes(minute) +
         std::chrono::seconds(second);
}

Night::Night(Instant start, const kitchen::Kitchen& kitchen) : now_(start) {
  const Status opened = ask(line::OpenService{"Friday", kitchen::to_document(kitchen)}, "Mara");
  if (!opened) throw std::runtime_error(opened.error().detail);
}

void Night::take(const std::vector<line::Event>& events) {
  for (const line::Event& event : events) {
    line::apply(state_, event);
    log_.push_back(event);
  }
}

void Night::settle() {
  for (auto events = line::elapse(state_, now_); !events.empty(); events = line::elapse(state_, now_)) take(events);
}

Status Night::ask(line::Action action, const std::string& by) { return ask_dated(std::move(action), now_, by); }

Status Night::ask_dated(line::Action action, Instant pressed, const std::string& by) {
  line::Command command;
  command.id = "t" + std::to_string(log_.size());
  command.by = by;
  command.at = pressed;
  command.action = std::move(action);
  const auto events = line::decide(state_, command, now_);
  if (!events) return events.error();
  take(*events);
  settle();
  return Done{};
}

line::TicketId Night::send(const std::string& ticket_line) {
  const auto order = line::read_ticket_line(ticket_line, *state_.kitchen);
  if (!order) throw std::runtime_error(ticket_line + ": " + order.error().detail);
  const Status sent = ask(line::SendTicket{*order}, "Wren");
  if (!sent) throw std::runtime_error(ticket_line + ": " + sent.error().detail);
  return line::TicketId{state_.tickets_made};
}

void Night::adopt(const std::string& rule_set, bool larkfolds_own) {
  const std::filesystem::path config = std::filesystem::path(NAPPE_SOURCE_DIR) / "config";
  const std::string rules = read_text(config / "rules" / (rule_set + ".json"));
  const std::string own = larkfolds_own ? read_text(config / "larkfold" / "rules.json") : std::string();
  const auto adopted = line::adopt_rules(state_, rules, own, rule_set + (own.empty() ? "" : "+larkfold"), now_);
  if (!adopted) throw std::runtime_error(adopted.error().detail);
  if (*adopted) take({**adopted});
  settle();
}

void Night::until(Instant at) {
  settle();
  for (auto next = line::next_deadline(state_); next && *next <= at; next = line::next_deadline(state_)) {
    now_ = std::max(now_, *next);
    settle();
  }
  now_ = std::max(now_, at);
}

Status Night::done(line::PanId id, Duration after) {
  until(now_ + after);
  const line::Pan* pan = state_.find_pan(id);
  if (pan == nullptr) return Error{Errc::unknown, "no such pan"};
  const auto& component = state_.component_of(*pan);
  for (const line::Ahead& ahead : line::steps_ahead(component, *pan, now_))
    if (ahead.by_hand)
      return ask(line::FinishStep{id, component.steps[static_cast<std::size_t>(ahead.step)].id, ahead.round, false});
  return Error{Errc::conflict, "no hand step left"};
}

const line::Pan& Night::pan(line::TicketId ticket, const std::string& component) const {
  for (const auto& [id, pan] : state_.pans)
    for (const auto& portion : pan.portions)
      if (pan.component == component && portion.plate.ticket == ticket) return pan;
  throw std::runtime_error("no pan of " + component);
}

line::State replay(const std::vector<line::Event>& log) {
  line::State state;
  for (const line::Event& event : log) line::apply(state, event);
  return state;
}

}  // namespace nappe::tests
