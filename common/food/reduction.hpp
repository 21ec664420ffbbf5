#pragma once
// How long a pot takes to boil down: from the power under it, or from weighing it twice.

#include "common/result.hpp"
#include "common/time.hpp"

namespace nappe::food {

/// Pressure of saturated water vapour, Pa, at 0 to 200 degrees Celsius; density of the saturated liquid and vapour,
/// kg/m3; latent heat, J/kg. Source: IAPWS SR1-86(1992), "Revised Supplementary Release on Saturation Properties of
/// Ordinary Water Substance" (Wagner and Pruss 1993); the latent heat follows from them by Clausius and Clapeyron.
struct SaturatedWater {
  double pressure = 0;
  double liquid_density = 0;
  double vapour_density = 0;
  double latent_heat = 0;
};
SaturatedWater saturated_water(double celsius);

/// The rounded figure kitchens reckon with, J/kg: 2.26 MJ/kg, the latent heat of water at its boiling point.
constexpr double latent_heat_rounded = 2.26e6;

/// What stands under the pot. `efficiency` is the share of the power that reaches the food (0 to 1): about 0.85 for
/// induction, 0.45 for gas, 0.8 for a small pan (common practice, no source; weigh the pot to know).
struct Heat {
  double watts = 0;
  double efficiency = 0;
};

/// From what to what, kilograms. `start_c` is the temperature it is put on at, `specific_heat` that of the liquid.
struct Reduction {
  double from_kg = 0;
  double to_kg = 0;
  double start_c = 100;
  double boil_c = 100;
  double specific_heat = 4190;
  double latent_heat = latent_heat_rounded;
};

/// How long it takes. The last tenth of what has to go, turned down to half power so that it does not catch (common
/// practice, no source), takes twice as long as at full power.
struct ReductionTime {
  Duration heating{};       ///< m c (Tboil - Tstart) / (eta P)
  Duration boiling{};       ///< L (m0 - m1) / (eta P), full power to the end
  Duration gentle_extra{};  ///< what half power over the last tenth adds to that
  Duration full() const { return heating + boiling; }
  Duration gentle() const { return heating + boiling + gentle_extra; }
};

/// `invalid` unless from > to > 0, power positive and efficiency in (0, 1].
Result<ReductionTime> reduction_time(const Reduction& reduction, const Heat& heat);

/// Two weighings of the pot's content while it boils at steady power, kilograms, and where it should end.
struct Weighings {
  double before_kg = 0;
  double now_kg = 0;
  Duration between{};
  double target_kg = 0;
};

/// Time left counted from the second weighing: (m - m1) dt / (m_before - m_now) at the present rate; `gentle_extra` is
/// what half power over the last tenth of the way from before_kg to target_kg adds. `invalid` unless it has lost weight
/// and the target lies below what is there.
struct ReductionLeft {
  Duration at_this_rate{};
  Duration gentle_extra{};
  double kg_per_minute = 0;
};
Result<ReductionLeft> reduction_left(const Weighings& weighings);

}  // namespace nappe::food
