#pragma once
// A small invented kitchen and a made-up minute of its evening, put together by hand: for tests of the screens that
// need to know every number.

#include <cstdint>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "common/line/chain.hpp"
#include "common/line/line.hpp"
#include "common/plan/plan.hpp"

namespace nappe::tests {

/// 20:23:40 on the evening of all scenes.
inline constexpr std::int64_t scene_ms = 1795206220000;
/// `s` seconds after (or before) 20:23:40.
inline Instant at(std::int64_t s) { return from_ms(scene_ms + s * 1000); }

kitchen::Kitchen scene_kitchen();

/// A service open on the scene's kitchen, everybody present.
line::State open_service();

/// Applies happenings at one instant.
void happen(line::State& state, Instant when, const std::vector<line::Happening>& happenings);

/// Sends a ticket and opens its pans, one for each component and allergy, in the order of the kitchen's dishes.
/// Returns the ticket's id. The pans count on from the last one.
line::TicketId send(line::State& state, Instant when, const line::Order& order);

void fire(line::State& state, Instant when, line::TicketId ticket, const std::string& course, Instant meet);

/// Begins and ends every step of a pan from where it stands until `step` (and `round`) runs, the last step starting at
/// `when` and the others directly before it at their usual times.
void cook_until(line::State& state, line::PanId pan, const std::string& step, int round, Instant when);

/// A plan without hands or equipment: every pan ready at its course's meet if it can be, its steps as late as they go,
/// the slowest pan the pull. Enough to know what the screens must say; no planner.
plan::Plan plain_plan(const line::State& state, Instant now);

}  // namespace nappe::tests
