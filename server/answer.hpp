#pragma once
// What a command is told: kept in the journal beside the command, and told again when the command is repeated.

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "common/line/command.hpp"
#include "common/line/event.hpp"
#include "common/line/state.hpp"
#include "common/result.hpp"

namespace nappe::server {

struct Answer {
  bool done = false;
  std::int64_t number = 0;   ///< The journal's last event of the command.
  Error error;               ///< Why not, when not done.
  bool reused = false;       ///< The id belongs to another command: refused, and never stored.
  bool repeated = false;     ///< This command was answered before; never stored.
  std::uint32_t ticket = 0;  ///< Of a ticket sent; 0: none.
  std::string table;
  std::string says;  ///< One sentence for the person, may be empty.
};

/// As JSON text for the journal, and back.
std::string write_answer(const Answer& answer);
Result<Answer> read_answer(std::string_view text);

/// The answer to a command that was carried out: `events` are its events, `state` the line after them.
Answer answer_done(const line::Command& command, const std::vector<line::Event>& events, const line::State& state);

/// The ticket said back in words, allergies last: "Ticket 7, table 8: 6 starters, 6 mains. Position 4: no gluten."
std::string say_ticket(const line::Ticket& ticket, const kitchen::Kitchen& kitchen);

}  // namespace nappe::server
