#include "common/food/conduction.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/math/constants/constants.hpp>
#include <boost/math/special_functions/bessel.hpp>
#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <cstdint>

namespace nappe::food {
namespace {

using boost::math::cyl_bessel_j;
using boost::math::cyl_bessel_j_zero;

constexpr double pi = boost::math::constants::pi<double>();

// Below this Fourier number the core still has its start temperature to far better than any probe (the change at the
// centre of a slab with the best possible film is 4 erfc(16) < 1e-110), and the series would need hundreds of terms.
constexpr double fourier_min = 1e-3;

// At Fo = fourier_min the 60th root is beyond 180, so its exponential is below exp(-32).
constexpr int terms_max = 60;

template <class F>
double root_between(F f, double low, double high) {
  std::uintmax_t steps = 200;
  const auto bracket =
      boost::math::tools::toms748_solve(f, low, high, boost::math::tools::eps_tolerance<double>(50), steps);
  return 0.5 * (bracket.first + bracket.second);
}

// The eigen-equations without their poles: each changes sign exactly once between the bounds.
double nth_root(Shape shape, double biot, int n) {
  switch (shape) {
    case Shape::slab: {  // x tan x = Bi
      const auto f = [biot](double x) { return x * std::sin(x) - biot * std::cos(x); };
      return root_between(f, (n - 1) * pi, (n - 0.5) * pi);
    }
    case Shape::cylinder: {  // x J1(x) / J0(x) = Bi
      const auto f = [biot](double x) { return x * cyl_bessel_j(1, x) - biot * cyl_bessel_j(0, x); };
      const double low = n == 1 ? 0.0 : cyl_bessel_j_zero(1.0, n - 1);
      return root_between(f, low, cyl_bessel_j_zero(0.0, n));
    }
    case Shape::sphere: {  // 1 - x cot x = Bi
      const auto f = [biot](double x) { return (1 - biot) * std::sin(x) - x * std::cos(x); };
      // x = 0 solves it too and is no root of the series; the first one lies just below sqrt(3 Bi) when Bi is small.
      const double low = n == 1 ? 0.5 * std::sqrt(3 * std::min(biot, 0.3)) : (n - 1) * pi;
      return root_between(f, low, n * pi);
    }
  }
  return 0;
}

bool positive(double x) { return std::isfinite(x) && x > 0; }

// How much of the way is left at the target; nothing if the core starts at or beyond it.
struct Wanted {
  bool there = false;
  double left = 0;
};

Result<Wanted> wanted(const Immersion& in, double target_c) {
  const double span = in.start_c - in.around_c;
  const double left = (target_c - in.around_c) / span;
  if (!std::isfinite(span) || !std::isfinite(target_c)) {
    return Error{Errc::invalid, "a temperature is missing: give start, surroundings and target"};
  }
  if (span == 0 ? target_c == in.start_c : left >= 1) return Wanted{.there = true, .left = 1};
  if (span == 0 || left <= 0) {
    return Error{
        Errc::invalid,
        fmt::format("the core never reaches {:.1f} °C in surroundings of {:.1f} °C: give a target short of them",
                    target_c, in.around_c)};
  }
  return Wanted{.there = false, .left = left};
}

}  // namespace

WaterProperties choi_okos_water(double t) {
  return {.conductivity = 0.57109 + 1.7625e-3 * t - 6.7036e-6 * t * t,
          .diffusivity = (0.13168 + 6.2477e-4 * t - 2.4022e-6 * t * t) * 1e-6,
          .density = 997.18 + 3.1439e-3 * t - 3.7574e-3 * t * t,
          .specific_heat = (4.1762 - 9.0864e-5 * t + 5.4731e-6 * t * t) * 1e3};
}

Term series_term(Shape shape, double biot, int n) {
  const double x = nth_root(shape, biot, n);
  switch (shape) {
    case Shape::slab:
      return {x, 4 * std::sin(x) / (2 * x + std::sin(2 * x)), std::sin(x) / x};
    case Shape::cylinder: {
      const double j0 = cyl_bessel_j(0, x);
      const double j1 = cyl_bessel_j(1, x);
      return {x, 2 / x * j1 / (j0 * j0 + j1 * j1), 2 * j1 / x};
    }
    case Shape::sphere: {
      // Both differences cancel when x is small (Bi < 0.001): there their series is the exact side.
      const double lobe = x < 0.05 ? x * x * x * (1 - x * x / 10) / 3 : std::sin(x) - x * std::cos(x);
      const double below = x < 0.05 ? 4 * x * x * x * (1 - x * x / 5) / 3 : 2 * x - std::sin(2 * x);
      return {x, 4 * lobe / below, 3 * lobe / (x * x * x)};
    }
  }
  return {};
}

Conduction::Conduction(const Body& body) : body_(body), biot_(body.film * body.radius_m / body.material.conductivity) {
  terms_.reserve(terms_max);
  for (int n = 1; n <= terms_max; ++n) terms_.push_back(series_term(body.shape, biot_, n));
}

Result<Conduction> Conduction::of(const Body& body) {
  if (!positive(body.radius_m) || !positive(body.material.conductivity) || !positive(body.material.diffusivity) ||
      !positive(body.film)) {
    return Error{Errc::invalid,
                 "thickness, conductivity, diffusivity and surface coefficient must be positive numbers"};
  }
  return Conduction(body);
}

double Conduction::fourier(double time_s) const {
  return body_.material.diffusivity * time_s / (body_.radius_m * body_.radius_m);
}

double Conduction::core_left(double time_s) const {
  const double fo = fourier(time_s);
  if (fo < fourier_min) return 1;
  double sum = 0;
  for (const Term& term : terms_) {
    const double decay = std::exp(-term.root * term.root * fo);
    if (decay < 1e-18) break;
    sum += term.coefficient * decay;
  }
  return sum;
}

double Conduction::core_left_one_term(double time_s) const {
  const Term& first = terms_.front();
  return first.coefficient * std::exp(-first.root * first.root * fourier(time_s));
}

double Conduction::mean_left(double time_s) const {
  const double fo = std::max(fourier(time_s), 0.0);
  double sum = 0;
  double whole = 0;
  for (const Term& term : terms_) {
    whole += term.coefficient * term.mean;
    sum += term.coefficient * term.mean * std::exp(-term.root * term.root * fo);
  }
  // The terms left off make up the rest of 1 at the start and are gone soonest.
  return sum + (fo < fourier_min ? (1 - whole) * (1 - fo / fourier_min) : 0);
}

double Conduction::core_c(const Immersion& in, double time_s) const {
  return in.around_c + (in.start_c - in.around_c) * core_left(time_s);
}

double Conduction::mean_c(const Immersion& in, double time_s) const {
  return in.around_c + (in.start_c - in.around_c) * mean_left(time_s);
}

Result<double> Conduction::time_to_core_s(const Immersion& in, double target_c) const {
  const Result<Wanted> goal = wanted(in, target_c);
  if (!goal) return goal.error();
  if (goal->there) return 0.0;
  const double per_fourier = body_.radius_m * body_.radius_m / body_.material.diffusivity;
  const Term& first = terms_.front();
  // The first term alone is never below the whole series at the core, so it bounds the time from above.
  double high = std::max(std::log(first.coefficient / goal->left) / (first.root * first.root), 2 * fourier_min);
  while (core_left(high * per_fourier) >= goal->left) high *= 1.1;
  const auto f = [&](double fo) { return core_left(fo * per_fourier) - goal->left; };
  return per_fourier * root_between(f, fourier_min / 2, high);
}

Result<double> Conduction::time_to_core_one_term_s(const Immersion& in, double target_c) const {
  const Result<Wanted> goal = wanted(in, target_c);
  if (!goal) return goal.error();
  if (goal->there) return 0.0;
  const Term& first = terms_.front();
  const double fo = std::log(first.coefficient / goal->left) / (first.root * first.root);
  return std::max(fo, 0.0) * body_.radius_m * body_.radius_m / body_.material.diffusivity;
}

Result<Duration> time_to_core(const Body& body, const Immersion& in, double target_c) {
  const Result<Conduction> series = Conduction::of(body);
  if (!series) return series.error();
  const Result<double> time_s = series->time_to_core_s(in, target_c);
  if (!time_s) return time_s.error();
  return from_seconds(*time_s);
}

Result<double> deepest_tray_m(const Material& material, double film, const Immersion& in, double target_c,
                              Duration limit) {
  if (limit <= Duration::zero()) return Error{Errc::invalid, "the time allowed must be above zero"};
  const auto time_s = [&](double depth_m) -> Result<double> {
    const auto series = Conduction::of({Shape::slab, depth_m / 2, material, film});
    if (!series) return series.error();
    return series->time_to_core_s(in, target_c);
  };
  // From a film of sauce to a depth no kitchen has; the time grows with the depth all the way.
  constexpr double shallow_m = 1e-4;
  constexpr double deep_m = 2;
  const Result<double> fastest = time_s(shallow_m);
  if (!fastest) return fastest.error();
  const double limit_s = in_seconds(limit);
  if (*fastest >= limit_s) {
    return Error{Errc::invalid,
                 fmt::format("no tray is shallow enough to reach {:.1f} °C in {}", target_c, span_text(limit))};
  }
  const Result<double> slowest = time_s(deep_m);
  if (!slowest) return slowest.error();
  if (*slowest <= limit_s) return deep_m;
  return root_between([&](double depth_m) { return *time_s(depth_m) - limit_s; }, shallow_m, deep_m);
}

Result<Soak> soak(const Body& body, const Immersion& in, double reach_c, Duration hold) {
  if (hold < Duration::zero()) return Error{Errc::invalid, "the hold of a soak cannot be negative"};
  const Result<Duration> there = time_to_core(body, in, reach_c);
  if (!there) return there.error();
  return Soak{.core_there = *there, .lift = *there + hold};
}

}  // namespace nappe::food
