#include "server/answer.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "common/kitchen/allergen.hpp"
#include "common/wire/act_words.hpp"
#include "server/problem.hpp"
#include "server/record_say.hpp"

namespace nappe::server {

namespace {

std::string allergy_text(const std::string& name) {
  const kitchen::Allergen* known = kitchen::find_allergen(name);
  return known == nullptr ? name : std::string(known->text);
}

}  // namespace

std::string write_answer(const Answer& answer) {
  nlohmann::json text = nlohmann::json::object();
  if (answer.done) {
    text["number"] = answer.number;
    if (answer.ticket != 0) text["ticket"] = answer.ticket;
    if (!answer.table.empty()) text["table"] = answer.table;
    if (!answer.says.empty()) text["says"] = answer.says;
  } else {
    text["problem"] = problem_of(answer.error);
  }
  return text.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

Result<Answer> read_answer(std::string_view text) {
  const auto json = nlohmann::json::parse(text, nullptr, false);
  if (!json.is_object()) return Error{Errc::unavailable, "the journal holds an answer that cannot be read"};
  Answer answer;
  const auto problem = json.find("problem");
  answer.done = problem == json.end();
  if (answer.done) {
    answer.number = json.value("number", std::int64_t{0});
    answer.ticket = json.value("ticket", std::uint32_t{0});
    answer.table = json.value("table", "");
    answer.says = json.value("says", "");
  } else {
    answer.error.code = code_named(problem->value("code", ""));
    answer.error.detail = problem->value("detail", "");
    answer.error.where = problem->value("where", "");
  }
  return answer;
}

Answer answer_done(const line::Command& command, const std::vector<line::Event>& events, const line::State& state) {
  Answer answer;
  answer.done = true;
  if (line::concerns_record(command.action)) answer.says = say_record(events, state);
  for (const line::Event& event : events) {
    const auto* sent = std::get_if<line::TicketSent>(&event.what);
    if (sent == nullptr || !std::holds_alternative<line::SendTicket>(command.action)) continue;
    answer.ticket = line::number(sent->ticket);
    answer.table = sent->order.table;
    const line::Ticket* ticket = state.find_ticket(sent->ticket);
    if (ticket != nullptr) answer.says = say_ticket(*ticket, state.kitchen_of(*ticket));
  }
  if (answer.says.empty()) answer.says = wire::say_act(command, events, state);
  return answer;
}

std::string say_ticket(const line::Ticket& ticket, const kitchen::Kitchen& kitchen) {
  std::string says = fmt::format("Ticket {}, table {}:", line::number(ticket.id), ticket.table);
  const char* between = " ";
  for (const line::Course& course : ticket.courses) {
    std::string name = course.course;
    for (const auto& known : kitchen.courses) {
      if (known.id == course.course) name = known.name;
    }
    says += fmt::format("{}{} {}", between, course.plates.size(), name);
    between = ", ";
  }
  says += '.';
  for (const auto& [position, allergies] : ticket.allergies) {
    if (allergies.empty()) continue;
    says += fmt::format(" Position {}: no ", position);
    for (std::size_t at = 0; at < allergies.size(); ++at) says += (at > 0 ? ", " : "") + allergy_text(allergies[at]);
    says += '.';
  }
  return says;
}

}  // namespace nappe::server
