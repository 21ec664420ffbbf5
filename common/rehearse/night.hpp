#pragma once
// One service in virtual time: stochastic guests and cooks drive the real line by the plan in force.
//
// Cooks. Each person of a station makes one move at a time; somebody who counts less takes longer by as much. The hands
// take, of the moves that could be made now, the one with the smallest latest start. A component is begun at its latest
// start less the house's finish allowance (the planner keeps its own); once begun its moves are made as soon as the
// food is ready for them, except that a rest and a pause point leave as much time as the dish gives them. A move whose
// equipment is full waits; with a move the places of the waits behind it are taken too.
// Guests. The first course is fired with the ticket, each next one when the table has cleared. A component with a rest
// that forgives is begun before that call, the rest centred on the time at which the table should have cleared.
// Not played: pans shared by tables, refires, tables that are not free yet.

#include <cstdint>

#include "common/rehearse/manner.hpp"
#include "common/rehearse/result.hpp"
#include "common/rehearse/stage.hpp"

namespace nappe::rehearse {

/// Plays the night with this number. The same stage, manner, seed and number give the same result, to the bit; variants
/// with the same seed and number share their luck. `trace`: keep every move.
NightResult play_night(const Stage& stage, const Manner& manner, std::uint64_t seed, int number, bool trace = false);

}  // namespace nappe::rehearse
