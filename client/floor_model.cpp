#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "client/documents.hpp"
#include "client/floor.hpp"
#include "client/words.hpp"
#include "common/line/ticket_line.hpp"

namespace nappe::client {
namespace {

using Json = nlohmann::json;

constexpr std::int64_t notice_ms = 8000;
constexpr std::int64_t refused_ms = 15000;
constexpr std::size_t line_max = 400;

const Json& object(const Json& in, const char* name) {
  static const Json empty = Json::object();
  if (!in.is_object()) return empty;
  const auto found = in.find(name);
  return found != in.end() && found->is_object() ? *found : empty;
}

std::string text(const Json& in, const char* name) {
  const auto found = in.is_object() ? in.find(name) : in.end();
  return found != in.end() && found->is_string() ? found->get<std::string>() : std::string();
}

std::optional<std::int64_t> whole(const Json& in, const char* name) {
  const auto found = in.is_object() ? in.find(name) : in.end();
  if (found == in.end() || !found->is_number()) return std::nullopt;
  return found->get<std::int64_t>();
}

std::optional<Instant> instant(const Json& in, const char* name) {
  const auto ms = whole(in, name);
  return ms ? std::optional(from_ms(*ms)) : std::nullopt;
}

FloorTicket read_ticket(const Json& in, const Json& courses) {
  FloorTicket ticket;
  ticket.ticket = static_cast<int>(whole(in, "ticket").value_or(0));
  ticket.table = text(in, "table");
  ticket.covers = static_cast<int>(whole(in, "covers").value_or(0));
  ticket.pause = text(object(in, "pause"), "why");
  std::int64_t best = 0;
  for (const auto& [id, course] : object(in, "courses").items()) {
    const std::int64_t order = whole(object(courses, id.c_str()), "order").value_or(0);
    if (text(course, "state") == "gone" || (ticket.open && order >= best)) continue;
    best = order;
    ticket.open = true;
    ticket.next = id;
    ticket.state = text(course, "state");
    ticket.says = instant(course, "word_ms");
  }
  return ticket;
}

Json order_json(const line::Order& order) {
  Json guests = Json::array();
  for (const line::Guest& guest : order.guests)
    guests.push_back({{"position", guest.position}, {"allergies", guest.allergies}});
  Json courses = Json::array();
  for (const line::CourseOrder& course : order.courses) {
    Json plates = Json::array();
    for (const line::Wanted& plate : course.plates)
      plates.push_back(
          {{"position", plate.position}, {"dish", plate.dish}, {"left_off", plate.left_off}, {"change", plate.change}});
    courses.push_back({{"course", course.course}, {"plates", std::move(plates)}});
  }
  return {{"table", order.table}, {"guests", std::move(guests)}, {"courses", std::move(courses)}, {"note", order.note}};
}

// The line that was refused and can be insisted on, once more.
std::vector<Ask> insist(FloorModel& model) {
  Ask ask = *model.refused;
  model.refused.reset();
  Json action = Json::parse(ask.action);
  action.begin().value()["sure"] = true;
  ask.action = action.dump();
  model.line.clear();
  model.draft.reset();
  model.adding = false;
  model.notice = {};
  return {ask};
}

std::vector<Ask> send(FloorModel& model, Times now) {
  if (model.refused && model.refused->says == model.line) return insist(model);
  const FloorLine read = read_line(model);
  if (!read.whole) {
    if (!model.line.empty()) model.notice = {read.problem, now.steady_ms + refused_ms, true};
    return {};
  }
  Json order = order_json(*read.order);
  const FloorTicket* open = open_ticket(model, read.order->table);
  Json action;
  if (model.adding && open != nullptr)
    action = {{"change_ticket", {{"ticket", open->ticket}, {"order", std::move(order)}}}};
  else
    action = {{"send_ticket", {{"order", std::move(order)}}}};
  // The line itself says what was meant; it comes back into the line when it is refused.
  const Ask ask{action.dump(), model.line, "", false};
  model.line.clear();
  model.draft.reset();
  model.adding = false;
  return {ask};
}

void erase_letter(std::string& text) {
  while (!text.empty() && (static_cast<unsigned char>(text.back()) & 0xC0U) == 0x80U) text.pop_back();
  if (!text.empty()) text.pop_back();
}

}  // namespace

FloorScreen read_floor(const Json& document) {
  FloorScreen screen;
  const Json& service = object(document, "service");
  screen.service = {text(service, "name"), service.value("open", false),
                    minutes(whole(service, "utc_offset_minutes").value_or(0)), instant(service, "closed_ms")};
  for (const auto& [id, dish] : object(document, "dishes").items())
    if (const auto left = whole(dish, "left")) screen.left[id] = static_cast<int>(*left);
  for (const auto& [id, ticket] : object(document, "tickets").items())
    screen.tickets.push_back(read_ticket(ticket, object(document, "courses")));
  for (const WantedLine& line : read_wanted(document)) screen.wanted.push_back(line.says);
  std::sort(screen.tickets.begin(), screen.tickets.end(), [](const FloorTicket& a, const FloorTicket& b) {
    const Instant first = a.says.value_or(Instant::max()), second = b.says.value_or(Instant::max());
    return first != second ? first < second : a.ticket < b.ticket;
  });
  return screen;
}

FloorDraft read_draft(const std::string& line, int status, const std::string& body, Duration utc_offset) {
  FloorDraft draft;
  draft.line = line;
  const Json said = Json::parse(body, nullptr, false);
  if (status != 200) {
    draft.problem = text(said, "detail");
    if (draft.problem.empty()) draft.problem = fmt::format("the server answers {}", status);
    return draft;
  }
  draft.course = text(said, "course");
  draft.could = instant(said, "could_ms");
  draft.word = instant(said, "word_ms");
  if (std::string why = text(said, "why"); !why.empty()) draft.load.push_back(std::move(why));
  for (const auto& [id, load] : object(said, "load").items()) {
    const auto from = instant(load, "from_ms");
    if (!from) continue;
    draft.full = draft.full || load.value("full", false);
    draft.load.push_back(fmt::format("{} {} to {} rises {:.0f} to {:.0f} %", text(load, "name"),
                                     hour_minute(*from, utc_offset), hour_minute(*from + minutes(5), utc_offset),
                                     load.value("before", 0.0) * 100.0, load.value("after", 0.0) * 100.0));
  }
  if (const auto later = instant(said, "later_ms"))
    draft.load.push_back(fmt::format("met at {} nobody is short", hour_minute(*later, utc_offset)));
  return draft;
}

FloorLine read_line(const FloorModel& model) {
  FloorLine out;
  if (model.kitchen == nullptr || model.line.empty()) return out;
  auto read = line::read_ticket_line(model.line, *model.kitchen);
  if (read) {
    out.order = std::move(read).value();
    out.whole = true;
    return out;
  }
  out.problem = read.error().detail;
  // What reads is drawn: the longest beginning that ends before a blank.
  for (std::size_t end = model.line.rfind(' '); end != std::string::npos && end > 0;
       end = model.line.rfind(' ', end - 1)) {
    auto part = line::read_ticket_line(model.line.substr(0, end), *model.kitchen);
    if (!part) continue;
    out.order = std::move(part).value();
    break;
  }
  return out;
}

const FloorTicket* open_ticket(const FloorModel& model, const std::string& table) {
  const FloorTicket* found = nullptr;
  if (!model.screen) return found;
  for (const FloorTicket& ticket : model.screen->tickets)
    if (ticket.table == table && ticket.open && (found == nullptr || ticket.ticket > found->ticket)) found = &ticket;
  return found;
}

std::vector<Ask> press(FloorModel& model, Key pressed, Times now) {
  passed(model, now);
  if (pressed.special == Special::interrupt) {
    model.quit = true;
    return {};
  }
  if (pressed.special == Special::f1 || model.over == Over::help) {
    model.over = model.over == Over::help ? Over::nothing : Over::help;
    return {};
  }
  if (pressed.special == Special::enter) return send(model, now);
  if (pressed.special == Special::down || pressed.special == Special::up) {
    model.turned = std::max(0, model.turned + (pressed.special == Special::down ? 1 : -1));
    return {};
  }
  model.turned = 0;
  if (pressed.special == Special::escape) {
    model.line.clear();
    model.adding = false;
    model.notice = {};
  } else if (pressed.letter == U'\t') {
    model.adding = !model.adding;
  } else if (pressed.letter == U'\b' || pressed.letter == 0x7F) {
    erase_letter(model.line);
  } else if (pressed.letter >= U' ' && model.line.size() < line_max) {
    append_utf8(model.line, pressed.letter);
  }
  return {};
}

void answered(FloorModel& model, const Ask& ask, const std::string& problem, bool may_insist, Times now) {
  if (problem.empty()) {
    model.notice = {"sent: " + ask.says, now.steady_ms + notice_ms, false};
    return;
  }
  const bool again = may_insist && can_insist(problem) && ask.action.find("\"sure\"") == std::string::npos;
  model.notice = {again ? problem + "  [enter] once more" : problem, now.steady_ms + refused_ms, true};
  if (model.line.empty()) model.line = ask.says;
  model.refused.reset();
  if (again && model.line == ask.says) model.refused = ask;
}

void received(FloorModel& model, FloorScreen screen) {
  model.screen = std::move(screen);
  // What was said about the line was said before this.
  model.draft.reset();
}

void passed(FloorModel& model, Times now) {
  if (model.notice.text.empty() || now.steady_ms <= model.notice.until_ms) return;
  model.notice = {};
  model.refused.reset();
}

}  // namespace nappe::client
