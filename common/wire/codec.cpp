#include "common/wire/codec.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/mp11/algorithm.hpp>
#include <source_location>
#include <utility>

#include "common/wire/describe.hpp"
#include "common/wire/parse.hpp"

namespace nappe::wire {
namespace {

using nlohmann::json;

// "std::string_view full_name() [with T = nappe::line::ItsThere; ...]", or clang's "[T = nappe::line::ItsThere]".
template <class T>
constexpr std::string_view full_name() {
  return std::source_location::current().function_name();
}

// "its_there" for line::ItsThere: its name on the wire and in the journal. A test holds the names that journals already
// use, so that renaming a struct cannot quietly change what an old journal means.
template <class T>
std::string snake_name() {
  const std::string_view full = full_name<T>();
  const std::size_t from = full.find("T = ") + 4;
  const std::string_view type = full.substr(from, full.find_first_of(";]", from) - from);
  std::string name;
  for (const char c : type.substr(type.rfind(':') + 1)) {
    const bool capital = c >= 'A' && c <= 'Z';
    if (capital && !name.empty()) name += '_';
    name += capital ? static_cast<char>(c - 'A' + 'a') : c;
  }
  return name;
}

template <class Variant>
struct NamesOf;
template <class... Alternatives>
struct NamesOf<std::variant<Alternatives...>> {
  static const std::vector<std::string>& list() {
    static const std::vector<std::string> names{snake_name<Alternatives>()...};
    return names;
  }
};

const std::vector<std::string>& happening_names() { return NamesOf<line::Happening>::list(); }

// Reads the alternative of this name, which must be known, into `into`; false with the reader's error.
template <class Variant>
bool read_alternative(Reader& reader, std::string_view name, const json& body, Variant& into) {
  const auto& names = NamesOf<Variant>::list();
  const auto found = std::find(names.begin(), names.end(), name);
  return boost::mp11::mp_with_index<std::variant_size_v<Variant>>(
      static_cast<std::size_t>(found - names.begin()),
      [&](auto index) { return reader.read(body, into.template emplace<index()>()); });
}

template <class Variant>
json body_of(const Variant& held) {
  return std::visit([](const auto& one) { return described_json(one); }, held);
}

bool knows(const std::vector<std::string>& names, std::string_view name) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

std::string unknown_name(std::string_view what, const std::vector<std::string>& names, std::string_view name) {
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
  if (!knows(action_names(), name)) return reader.fail(unknown_name("action", action_names(), name), name);
  reader.enter(name);
  const bool good = read_alternative(reader, name, *from.begin(), into);
  reader.leave();
  return good;
}

}  // namespace

const std::vector<std::string>& action_names() { return NamesOf<line::Action>::list(); }

std::string action_name(const line::Action& action) { return action_names()[action.index()]; }

Result<line::Command> read_command(std::string_view text) {
  const auto parsed = parse_json(text);
  if (!parsed) return parsed.error();
  Reader reader(Trust::outside);
  line::Command command;
  std::int64_t at_ms = 0;
  bool good = reader.check_members(*parsed, {"id", "by", "at_ms", "do", "stranger"}) &&
              reader.read_member(*parsed, "id", command.id) && reader.read_member(*parsed, "by", command.by) &&
              reader.read_member(*parsed, "at_ms", at_ms) && reader.read_member(*parsed, "stranger", command.stranger);
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
  const std::string name = action_name(command.action);
  json out = {
      {"id", command.id}, {"by", command.by}, {"at_ms", to_ms(command.at)}, {"do", {{name, body_of(command.action)}}}};
  if (command.stranger) out["stranger"] = true;
  return write_json(out);
}

Result<line::Order> read_order(std::string_view text) {
  const auto parsed = parse_json(text);
  if (!parsed) return parsed.error();
  Reader reader(Trust::outside);
  line::Order order;
  if (!reader.read(*parsed, order)) return reader.error();
  return order;
}

const std::vector<std::string>& record_event_names() {
  static const std::vector<std::string> names = [] {
    const auto& all = happening_names();
    const auto first = static_cast<std::ptrdiff_t>(line::Happening(line::RulesAdopted{}).index());
    return std::vector<std::string>(all.begin() + first, all.end());
  }();
  return names;
}

std::string event_name(const line::Event& event) { return happening_names()[event.what.index()]; }

std::string event_body(const line::Event& event) { return write_json(body_of(event.what)); }

Result<line::Event> read_event(std::string_view name, std::string_view body, Instant at) {
  if (!knows(happening_names(), name)) {
    return Error{Errc::invalid, unknown_name("event", happening_names(), name), {}};
  }
  const auto parsed = parse_json(body);
  if (!parsed) return parsed.error();
  Reader reader(Trust::journal);
  line::Event event;
  event.at = at;
  if (!read_alternative(reader, name, *parsed, event.what)) return reader.error();
  return event;
}

}  // namespace nappe::wire
