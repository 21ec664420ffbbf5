#pragma once
// What a command may say, as JSON Schema (2020-12): made from the same descriptions that it is read with.

#include <string>

namespace nappe::wire {

/// Of the member "do": exactly one action by its name, with its members.
std::string action_schema();

}  // namespace nappe::wire
