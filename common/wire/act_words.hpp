#pragma once
// What an act did, in one sentence to read back.

#include <string>
#include <vector>

#include "common/line/command.hpp"
#include "common/line/event.hpp"
#include "common/line/state.hpp"

namespace nappe::wire {

/// The sentence for a command that was done; `state` has its events in it. Empty for acts that need none: whoever
/// pressed sees them happen.
std::string say_act(const line::Command& command, const std::vector<line::Event>& events, const line::State& state);

}  // namespace nappe::wire
