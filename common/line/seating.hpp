#pragma once
// Guests changing seats: what apply() does when plates, allergies and portions go from one position to another.
// Internal to the line.

#include "common/line/event.hpp"
#include "common/line/state.hpp"

namespace nappe::line {

/// Both tickets must be in the state, and the seats free or left by somebody who moves as well.
void move_positions(State& state, const PositionsMoved& moved);

/// The ticket's courses in the order in which the kitchen serves them.
void sort_courses(const State& state, Ticket& ticket);

}  // namespace nappe::line
