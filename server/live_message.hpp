#pragma once
// What a device says on the socket, one JSON object a frame. tests/protocol/examples/README.md has the table.

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>

#include "common/result.hpp"

namespace nappe::server {

struct Hello {
  std::string device;
};
struct Subscribe {
  std::string screen;
  std::string epoch;  ///< Empty: it has no document.
  std::int64_t number = 0;
};
struct Unsubscribe {
  std::string screen;
};
/// The device's own clock in milliseconds, echoed as it came.
struct ClockAsked {
  std::string t1;
};
/// A command still as JSON text, its members in alphabetical order whatever order they came in.
struct CommandSent {
  std::string command;
  std::string id;  ///< As far as it could be read, for the refusal.
};

using LiveMessage = std::variant<Hello, Subscribe, Unsubscribe, ClockAsked, CommandSent>;

/// Strict: one sentence for anything else.
Result<LiveMessage> read_live_message(std::string_view text);

}  // namespace nappe::server
