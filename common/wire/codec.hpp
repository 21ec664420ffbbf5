#pragma once
// Commands and events as JSON text, and back. Strict: an unknown member, a missing one or a wrong type is one sentence
// with a JSON pointer. The member names are those of the structs in common/line.

#include <string>
#include <string_view>
#include <vector>

#include "common/line/command.hpp"
#include "common/line/event.hpp"
#include "common/result.hpp"

namespace nappe::wire {

/// {"id": "...", "by": "...", "at_ms": 1764000000000, "do": {"finish_step": {"pan": 31, "step": "ladle", "round": 5}}}
/// The key inside "do" is the action's name in snake_case. Members with a default may be left out.
Result<line::Command> read_command(std::string_view json);
std::string write_command(const line::Command& command);

/// The action's name on the wire: "finish_step"; and the names of all there are.
std::string action_name(const line::Action& action);
const std::vector<std::string>& action_names();

/// Only the order of a ticket: {"table": "8", "courses": [...], ...}.
Result<line::Order> read_order(std::string_view json);

/// The names of the events that are the kitchen's record (line::concerns_record).
const std::vector<std::string>& record_event_names();

/// One event: the name ("step_ended") and its body as JSON text.
std::string event_name(const line::Event& event);
std::string event_body(const line::Event& event);
Result<line::Event> read_event(std::string_view name, std::string_view body, Instant at);

}  // namespace nappe::wire
