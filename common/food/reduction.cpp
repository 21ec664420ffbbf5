#include "common/food/reduction.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace nappe::food {
namespace {

constexpr double critical_k = 647.096;
constexpr double critical_pa = 22.064e6;
constexpr double critical_density = 322;
constexpr double last_part = 0.1;

}  // namespace

SaturatedWater saturated_water(double celsius) {
  const double kelvin = celsius + 273.15;
  const double t = 1 - kelvin / critical_k;
  const auto p = [t](double e) { return std::pow(t, e); };

  const double sum = -7.85951783 * t + 1.84408259 * p(1.5) - 11.7866497 * p(3) + 22.6807411 * p(3.5) -
                     15.9618719 * p(4) + 1.80122502 * p(7.5);
  const double slope = -7.85951783 + 1.5 * 1.84408259 * p(0.5) - 3 * 11.7866497 * p(2) + 3.5 * 22.6807411 * p(2.5) -
                       4 * 15.9618719 * p(3) + 7.5 * 1.80122502 * p(6.5);
  SaturatedWater out;
  out.pressure = critical_pa * std::exp(critical_k / kelvin * sum);
  out.liquid_density =
      critical_density * (1 + 1.99274064 * p(1.0 / 3) + 1.09965342 * p(2.0 / 3) - 0.510839303 * p(5.0 / 3) -
                          1.75493479 * p(16.0 / 3) - 45.5170352 * p(43.0 / 3) - 6.74694450e5 * p(110.0 / 3));
  out.vapour_density =
      critical_density * std::exp(-2.03150240 * p(2.0 / 6) - 2.68302940 * p(4.0 / 6) - 5.38626492 * p(8.0 / 6) -
                                  17.2991605 * p(18.0 / 6) - 44.7586581 * p(37.0 / 6) - 63.9201063 * p(71.0 / 6));
  // dp/dT along the saturation line, from the derivative of the first equation.
  const double dp_dt = -out.pressure / kelvin * (std::log(out.pressure / critical_pa) + slope);
  out.latent_heat = kelvin * (1 / out.vapour_density - 1 / out.liquid_density) * dp_dt;
  return out;
}

Result<ReductionTime> reduction_time(const Reduction& r, const Heat& heat) {
  if (!(r.to_kg > 0 && r.from_kg > r.to_kg && std::isfinite(r.from_kg))) {
    return Error{Errc::invalid,
                 fmt::format("a reduction loses weight: from {:.2f} kg to {:.2f} kg is none", r.from_kg, r.to_kg)};
  }
  if (!(heat.watts > 0 && heat.efficiency > 0 && heat.efficiency <= 1)) {
    return Error{Errc::invalid, "the heat needs a power above zero and an efficiency above 0 and up to 1"};
  }
  if (!(r.boil_c >= r.start_c && r.latent_heat > 0 && r.specific_heat > 0)) {
    return Error{Errc::invalid,
                 "the pot must start at or below the boil, with a positive heat capacity and latent heat"};
  }
  const double useful = heat.watts * heat.efficiency;
  const double boiling = r.latent_heat * (r.from_kg - r.to_kg) / useful;
  return ReductionTime{.heating = from_seconds(r.from_kg * r.specific_heat * (r.boil_c - r.start_c) / useful),
                       .boiling = from_seconds(boiling),
                       .gentle_extra = from_seconds(boiling * last_part)};
}

Result<ReductionLeft> reduction_left(const Weighings& w) {
  const double lost = w.before_kg - w.now_kg;
  if (!(lost > 0) || w.between <= Duration::zero()) {
    return Error{Errc::invalid, fmt::format("from {:.2f} to {:.2f} kg it has lost nothing to reckon with: check the "
                                            "weighings and the time between them",
                                            w.before_kg, w.now_kg)};
  }
  if (!(w.target_kg > 0 && w.target_kg < w.now_kg)) {
    return Error{Errc::invalid, fmt::format("it weighs {:.2f} kg already and is to end at {:.2f} kg: take it off or "
                                            "correct the target",
                                            w.now_kg, w.target_kg)};
  }
  const double rate = lost / in_seconds(w.between);
  const double left = w.now_kg - w.target_kg;
  const double gentle = std::min(left, last_part * (w.before_kg - w.target_kg));
  return ReductionLeft{.at_this_rate = from_seconds(left / rate),
                       .gentle_extra = from_seconds(gentle / rate),
                       .kg_per_minute = rate * 60};
}

}  // namespace nappe::food
