#pragma once
// Will the tray be cold in time? A verdict while it can still be split, stirred or put on ice.

#include <optional>
#include <string>
#include <string_view>

#include "common/food/reading.hpp"

namespace nappe::food {

/// A tray in the chiller: since when, core temperature then, air around it, where it must be and in how long.
struct ChillRun {
  Instant started;
  double start_c = 0;
  double surround_c = 0;
  double target_c = 0;
  Duration limit{};
  /// How far a probe may be off, either way; a verdict is certain only if it holds for every reading this far off.
  double probe_error_c = 0.5;
  Curve readings;
};

enum class ChillState {
  waiting,    ///< The core has not begun to fall, or there are too few readings since.
  on_course,  ///< It will make it, whichever way the probe is off.
  unsure,     ///< It may or may not.
  will_miss,  ///< It cannot make it as it stands: split it, stir it, put it on ice.
  made,       ///< A reading at or below the target in time.
  missed,     ///< A reading above the target at or after the limit.
  gap         ///< The limit passed between two readings: nobody knows.
};

/// "waiting", "on course", ...
std::string_view word(ChillState state);

struct ChillOutlook {
  ChillState state = ChillState::waiting;
  /// From the readings since the core began to fall.
  std::optional<Duration> time_constant;
  /// When it is expected to reach the target.
  std::optional<Instant> expected;
  /// It cannot be there before this, whatever its thickness and whatever the chiller does in still conditions.
  std::optional<Instant> not_before;
  Instant due;
  std::string sentence;
};

/// The outlook after the readings so far.
///
/// Two grounds, because the core of a thick tray lags and its first readings fall too slowly:
/// (1) A bound from the start, for a flat tray. Each term of the slab's series but the first only lowers the core, and
///     the first coefficient is never above 4/pi, so a core with share x of the difference left after time t needs at
///     least t ln(4/pi / x_target) / ln(4/pi / x) in all (Carslaw and Jaeger 1959, slab with surface resistance).
///     Used for targets with at most 0.6 of the difference left, where the other terms have died out.
/// (2) A time constant from the readings after the core began to fall (share left at or below 0.85, where a slab of any
///     Biot number is close to a single exponential), then Newton's law.
/// A miss is called when the bound, or the fastest time constant the probe's error allows, is past the limit; on course
/// when the slowest is not. `invalid` if the readings are out of order or the target is not between air and start.
Result<ChillOutlook> watch_chill(const ChillRun& run);

}  // namespace nappe::food
