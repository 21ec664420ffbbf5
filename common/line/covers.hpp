#pragma once
// Who is in the kitchen: what the house's cap on covers counts.

#include "common/line/state.hpp"

namespace nappe::line {

/// Plates of the course that have not gone.
int plates_here(const Course& course);

/// Its plates that have not gone are in the kitchen: it is fired or held.
bool in_kitchen(const Course& course);

/// Plates of all courses that are in the kitchen.
int covers_in_kitchen(const State& state);

}  // namespace nappe::line
