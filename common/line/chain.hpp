#pragma once
// One pan's steps laid out in time: what is left, how long it takes, when each step must begin at the latest.

#include <vector>

#include "common/line/state.hpp"

namespace nappe::line {

/// A step still to come or under way.
struct Ahead {
  int step = 0;
  int round = 0;
  Duration takes{};  ///< Usual time for the pan's portions; of a rest its minimum.
  Duration left{};   ///< Of that, what is left at the instant asked (all of it when not begun).
  bool running = false;
  bool by_hand = false;
};

/// The place behind this one, as far as is known: rounds go on until their cue, or their usual number is reached.
/// Nothing after the last step.
std::optional<Place> next_place(const kitchen::Component& component, const Pan& pan, Place place);

/// The steps left from where the pan stands, with the usual number of rounds (at least one more round once that is
/// passed and the cue has not come).
std::vector<Ahead> steps_ahead(const kitchen::Component& component, const Pan& pan, Instant now);

/// The sum of what is left when nothing has to wait.
Duration time_left(const std::vector<Ahead>& ahead);

/// The latest start of each step so that the last ends at `ready`; same order as `ahead`. Rests are counted at their
/// minimum. For a running step it is when it ought to have begun.
std::vector<Instant> latest_starts(const std::vector<Ahead>& ahead, Instant ready);

/// The shortest time from nothing to plated for n portions, at usual times: what firing without a meet allows for.
Duration chain_time(const kitchen::Component& component, int portions);

/// When a begun pan is plated if it is put off wherever it can be: at its pauses, and to the end of its rests. For one
/// that has finished, when it did.
Instant latest_end(const kitchen::Component& component, const Pan& pan, Instant now);

/// The last meet of a course at which nothing begun for it is thrown: what has been plated then still keeps until it is
/// at the table. And what sets it.
struct LatestMeet {
  Instant at{};
  PanId pan{};
};
/// Nothing when nothing of the course has been begun.
std::optional<LatestMeet> latest_meet(const State& state, const CourseKey& course, Instant now);

/// The first instant at which all of a course could be on its plates if it went on without waiting from now;
/// a whole second.
Instant soonest_meet(const State& state, const std::vector<const Pan*>& pans, Instant now);

}  // namespace nappe::line
