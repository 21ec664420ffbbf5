#include "common/wire/codec.hpp"

#include <fmt/format.h>

#include <array>
#include <boost/mp11/algorithm.hpp>
#include <utility>

#include "common/wire/describe.hpp"
#include "common/wire/parse.hpp"

namespace nappe::wire {
namespace {

using nlohmann::json;

// The names on the wire and in the journal, in the order of the variants. They are written out and not derived from the
// types, so that renaming a struct cannot change what an old journal means; a test holds them to the types' names.
constexpr std::array<std::string_view, std::variant_size_v<line::Action>> action_names{
    "open_service",  "close_service", "set_hands",   "set_left",    "send_ticket", "change_plate", "tell_allergy",
    "cancel_ticket", "fire",          "hold",        "release",     "move_meet",   "gone",         "bring_back",
    "refire",        "clear_plate",   "start_step",  "finish_step", "one_more",    "its_there",    "plate_portion",
    "undo",          "join_pans",     "acknowledge", "shelve"};

constexpr std::array<std::string_view, std::variant_size_v<line::Happening>> happening_names{
    "service_opened", "service_closed",   "hands_set",          "left_set",        "ticket_sent",     "plate_changed",
    "allergy_told",   "ticket_cancelled", "pan_opened",         "pan_dropped",     "portions_moved",  "portion_freed",
    "course_fired",   "course_unfired",   "course_held",        "course_released", "meet_moved",      "step_started",
    "step_ended",     "pressed",          "step_reopened",      "cue_met",         "word_given",      "portion_plated",
    "plate_gone",     "plate_back",       "plate_blocked",      "plate_cleared",   "course_gone",     "refire_ordered",
    "marked",         "alert_raised",     "alert_acknowledged", "alert_shelved",   "alert_unshelved", "alert_escalated",
    "alert_cleared"};

// No name left empty and none twice, whatever the variants grow to.
template <std::size_t n>
constexpr bool all_different(const std::array<std::string_view, n>& names) {
  for (std::size_t i = 0; i < n; ++i) {
    if (names[i].empty()) return false;
    for (std::size_t j = 0; j < i; ++j) {
      if (names[i] == names[j]) return false;
    }
  }
  return true;
}
static_assert(all_different(action_names) && all_different(happening_names));

// Reads the alternative of this name into `into`; false with the reader's error.
template <class Variant, std::size_t n>
bool read_alternative(Reader& reader, const std::array<std::string_view, n>& names, std::string_view name,
                      const json& body, Variant& into) {
  bool known = false;
  bool good = false;
  boost::mp11::mp_for_each<boost::mp11::mp_iota_c<n>>([&](auto index) {
    if (known || names[index] != name) return;
    known = true;
    good = reader.read(body, into.template emplace<index>());
  });
  return good;
}

template <class Variant>
json body_of(const Variant& held) {
  return std::visit([](const auto& one) { return described_json(one); }, held);
}

template <std::size_t n>
bool knows(const std::array<std::string_view, n>& names, std::string_view name) {
  for (const std::string_view known : names) {
    if (known == name) return true;
  }
  return false;
}

template <std::size_t n>
std::string unknown_name(std::string_view what, const std::array<std::string_view, n>& names, const std::string& name) {
  const std::string_view near = nearest_name(name, {names.begin(), names.end()});
  const std::string shown = name.size() > 40 ? "of this name" : fmt::format("\"{}\"", name);
  if (!near.empty()) return fmt::format("There is no {} {}; did you mean \"{}\"?", what, shown, near);
  return fmt::format("There is no {} {}; known are {}.", what, shown, fmt::join(names, ", "));
}

bool read_action(Reader& reader, const json& from, line::Action& into) {
  if (!from.is_object() || from.size() != 1) {
    return reader.fail("\"do\" must hold exactly one action, like {\"gone\": {\"ticket\": 7, \"course\": \"mains\"}}.");
  }
  const std::string& name = from.begin().key();
  if (!knows(action_names, name)) return reader.fail(unknown_name("action", action_names, name), name);
  reader.enter(name);
  const bool good = read_alternative(reader, action_names, name, *from.begin(), into);
  reader.leave();
  return good;
}

}  // namespace

Result<line::Command> read_command(std::string_view text) {
  const auto parsed = parse_json(text);
  if (!parsed) return parsed.error();
  Reader reader(Trust::outside);
  line::Command command;
  std::int64_t at_ms = 0;
  bool good = reader.check_members(*parsed, {"id", "by", "at_ms", "do"}) &&
              reader.read_member(*parsed, "id", command.id) && reader.read_member(*parsed, "by", command.by) &&
              reader.read_member(*parsed, "at_ms", at_ms);
  if (good && command.id.empty()) {
    good = reader.fail("\"id\" is empty; give every command an id of its own, so that sending it again is harmless.",
                       "id");
  }
  if (good && !parsed->contains("do")) good = reader.fail("\"do\" is missing; say what is to be done.", "do");
  if (good) {
    reader.enter("do");
    good = read_action(reader, (*parsed)["do"], command.action);
    reader.leave();
  }
  if (!good) return reader.error();
  command.at = from_ms(at_ms);
  return command;
}

std::string write_command(const line::Command& command) {
  const std::string name(action_names[command.action.index()]);
  return write_json({{"id", command.id},
                     {"by", command.by},
                     {"at_ms", to_ms(command.at)},
                     {"do", {{name, body_of(command.action)}}}});
}

Result<line::Order> read_order(std::string_view text) {
  const auto parsed = parse_json(text);
  if (!parsed) return parsed.error();
  Reader reader(Trust::outside);
  line::Order order;
  if (!reader.read(*parsed, order)) return reader.error();
  return order;
}

std::string event_name(const line::Event& event) { return std::string(happening_names[event.what.index()]); }

std::string event_body(const line::Event& event) { return write_json(body_of(event.what)); }

Result<line::Event> read_event(std::string_view name, std::string_view body, Instant at) {
  if (!knows(happening_names, name)) {
    return Error{Errc::invalid, unknown_name("event", happening_names, std::string(name)), {}};
  }
  const auto parsed = parse_json(body);
  if (!parsed) return parsed.error();
  Reader reader(Trust::journal);
  line::Event event;
  event.at = at;
  if (!read_alternative(reader, happening_names, name, *parsed, event.what)) return reader.error();
  return event;
}

}  // namespace nappe::wire
