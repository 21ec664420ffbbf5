#pragma once
// Heat received: how long at a reference temperature a recorded curve is worth, and how many decimal reductions that
// is, by the D and z model: D(T) = D_ref 10^((T_ref - T)/z), F = integral of 10^((T - T_ref)/z) dt, log10 reduction
// = F / D_ref. Bigelow's model as used in FSAI, "z-values" report 2018, and ACMSF 2007.

#include <optional>

#include "common/food/reading.hpp"

namespace nappe::food {

/// Degrees Celsius at which minutes are counted, and the rise that makes them worth ten.
struct HeatScale {
  double reference_c = 70;
  double z = 7.5;
};

/// z = 7.5 C, the value for Listeria monocytogenes in FSAI's z-value report of 2018; every row of the UK table of
/// equivalents of 70 C for 2 minutes is worth at least 2 minutes on it.
constexpr HeatScale listeria = {.reference_c = 70, .z = 7.5};
/// z = 6.0 C, used for burgers (STEC O157): ACMSF, "Report on the safe cooking of burgers", 2007.
constexpr HeatScale burgers = {.reference_c = 70, .z = 6.0};
/// z = 7.4 C reproduces the UK table of equivalents best on the whole (fitted, not published).
constexpr HeatScale equivalents = {.reference_c = 70, .z = 7.4};

/// How long at `celsius` does the same as `at_reference` at the reference temperature.
Duration equivalent_time(const HeatScale& scale, double celsius, Duration at_reference);

/// The time at the reference temperature that the whole curve is worth. Exact for straight lines between readings, so
/// it does not depend on how often the probe was read. Heat below `counts_from_c` is left out if that is given.
/// `invalid` if the curve is out of order or z is not positive.
Result<Duration> heat_received(const HeatScale& scale, const Curve& curve, std::optional<double> counts_from_c = {});

/// Decimal reductions: heat received over D at the reference temperature. d_reference must be positive.
double log_reduction(Duration received, Duration d_reference);

}  // namespace nappe::food
