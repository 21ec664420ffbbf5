#pragma once
// Stations where nobody presses. Silence is normal: hands are full. What such a station does is then taken to be what
// the plan said it would, as a guess that any press corrects; only a plate that has gone is proof.

#include <map>
#include <optional>
#include <string>

#include "common/line/state.hpp"

namespace nappe::line {

/// A hand step must have ended so long ago, by the promised meet, without a press since, before its station is taken
/// for quiet (common practice, no source: cooks press in bursts, minutes late).
constexpr Duration quiet_after = minutes(3);

/// The quiet stations, with when they last pressed (or the service opened).
std::map<std::string, Instant> quiet_stations(const State& state, Instant now);

/// Whether a pan nobody has begun by a key may have been cooked all the same, so that its plates' going proves it: its
/// station is quiet, or has not pressed for ten minutes and ought to have begun it by the promised meet.
bool may_be_unpressed(const State& state, const Pan& pan, Instant now);

/// The state as it probably is. Pans of quiet stations stand where their promised meet wants them now: every step
/// brought forward is marked as inferred, exactly as if something had proved it. Dressing the plate is never assumed: a
/// plate stands when somebody says so or it has gone.
struct Assumed {
  std::optional<State> state;            ///< Nothing: as it is known.
  std::map<std::string, Instant> quiet;  ///< As quiet_stations().
  std::optional<Instant> changes_at;     ///< When time alone changes any of it next.

  /// This guess, or what is known where nothing has to be guessed.
  [[nodiscard]] const State& over(const State& known) const { return state ? *state : known; }
};
Assumed assume(const State& state, Instant now);

}  // namespace nappe::line
