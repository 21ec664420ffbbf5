#pragma once
// Events and commands to write: whatever stands at one number is always the same.

#include <fmt/format.h>

#include <fstream>

#include "server/journal.hpp"

namespace nappe::tests {

inline server::JournalEvent sample_event(std::int64_t seq) {
  return {{}, from_ms(1764966220000 + seq), "step_ended", fmt::format(R"({{"pan":{},"step":"ladle","round":5}})", seq)};
}

/// `count` events from number `first`, brought by one command "c<first>".
inline server::JournalGroup sample_group(std::int64_t first, std::int64_t count) {
  server::JournalGroup group;
  group.first = first;
  const std::string id = fmt::format("c{}", first);
  for (std::int64_t seq = first; seq < first + count; ++seq) {
    group.events.push_back(sample_event(seq));
    group.events.back().command_id = id;
  }
  group.commands.push_back({id, "digest", "Ines", from_ms(1764966220000), first, first + count - 1,
                            fmt::format(R"({{"number":{}}})", first + count - 1)});
  return group;
}

}  // namespace nappe::tests
