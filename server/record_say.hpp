#pragma once
// What a command about the record is told, in a sentence or two.

#include <string>
#include <vector>

#include "common/line/event.hpp"
#include "common/line/state.hpp"

namespace nappe::server {

/// From the command's events and the state after them; empty when there is nothing to add to "done".
std::string say_record(const std::vector<line::Event>& events, const line::State& state);

}  // namespace nappe::server
