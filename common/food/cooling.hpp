#pragma once
// How fast a finished component cools (or a frozen one warms) when it is small enough to have one temperature, and
// what cold china does to it. Newton's law of cooling; valid while the Biot number of the body is below about 0.1,
// used beyond that as a fit to two probe readings of the same spot.

#include "common/result.hpp"
#include "common/time.hpp"

namespace nappe::food {

/// Two probe readings of the same spot in still surroundings. Degrees Celsius.
struct TwoReadings {
  double first_c = 0;
  double second_c = 0;
  Duration between{};
  double surround_c = 0;
};

/// tau = dt / ln((T1 - Te) / (T2 - Te)). `invalid` if the readings do not approach the surroundings from one side or
/// the time between them is not positive.
Result<Duration> time_constant(const TwoReadings& readings);

/// A component on its way to the temperature around it.
struct Cooling {
  double from_c = 0;
  double surround_c = 0;
  Duration time_constant{};
};

/// T(t) = Te + (T0 - Te) exp(-t / tau), degrees Celsius. The time constant must be positive.
double temperature_after(const Cooling& cooling, Duration elapsed);

/// How long until the component passes limit_c: t = tau ln((T0 - Te) / (Tlimit - Te)). Zero if it is at or past the
/// limit already (colder when cooling, warmer when warming). `invalid` if it never gets there.
Result<Duration> keep_from_cooling(const Cooling& cooling, double limit_c);

/// A lump of one material at one temperature: kg, J/(kg K), degrees Celsius.
struct Lump {
  double kg = 0;
  double specific_heat = 0;
  double celsius = 0;
};

/// Where food and plate meet if no heat is lost to the room: (mf cf Tf + mp cp Tp) / (mf cf + mp cp). The whole plate
/// is counted, so this is the most that the china can take: an upper bound on the loss. `invalid` unless masses and
/// specific heats are positive.
Result<double> plated_temperature(const Lump& food, const Lump& china);

/// Keep of food on a plate: first the china takes its share at once, then both cool as one. Error as in the two parts.
Result<Duration> keep_on_plate(const Lump& food, const Lump& china, double surround_c, Duration time_constant,
                               double limit_c);

/// A body described by its properties, SI: W/(m2 K), kg/m3, J/(kg K), m (volume over surface), W/(m K).
struct LumpedBody {
  double film = 0;
  double density = 0;
  double specific_heat = 0;
  double length = 0;
  double conductivity = 0;
};

/// Bi = h Lc / k; below 0.1 the body may be taken to have one temperature.
double lumped_biot(const LumpedBody& body);

/// tau = rho cp Lc / h, in seconds.
double lumped_time_constant_s(const LumpedBody& body);

}  // namespace nappe::food
