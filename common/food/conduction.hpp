#pragma once
// Heat going into or out of a body too thick to have one temperature: the core of a tray in the chiller, of a loin or
// a potato slice in a bath, of an egg in boiling water.
//
// Source: the series solution of the heat equation for a slab, a long cylinder and a sphere of uniform start
// temperature in surroundings of constant temperature with a constant film coefficient (Carslaw and Jaeger, Conduction
// of Heat in Solids, 2nd ed. 1959; Cengel, Heat and Mass Transfer, ch. 4, table 4-2). SI units throughout.

#include <vector>

#include "common/result.hpp"
#include "common/time.hpp"

namespace nappe::food {

enum class Shape { slab, cylinder, sphere };

/// W/(m K) and m2/s.
struct Material {
  double conductivity = 0;
  double diffusivity = 0;
};

/// Potato flesh at 20 C, from its composition by the model of Choi and Okos 1986 (water 79, carbohydrate 16, protein 2
/// parts in a hundred). The equations of the components other than water were not checked against the paper.
constexpr Material potato = {.conductivity = 0.5485, .diffusivity = 1.3984e-7};

/// Lean beef at 20 C, same model and the same reserve; stands in for other lean meat.
constexpr Material lean_meat = {.conductivity = 0.5059, .diffusivity = 1.3504e-7};

/// A wet vegetable puree as the demo kitchen reckons with it: invented demo data, common practice, no source.
constexpr Material wet_puree = {.conductivity = 0.55, .diffusivity = 1.4e-7};

/// Water by the equations of Choi and Okos 1986 (0 to 150 C): W/(m K), m2/s, kg/m3, J/(kg K).
struct WaterProperties {
  double conductivity = 0;
  double diffusivity = 0;
  double density = 0;
  double specific_heat = 0;
};
WaterProperties choi_okos_water(double celsius);

/// What is heated or cooled. `radius_m` is the radius, for a slab half its thickness when both faces are heated or
/// cooled, the whole thickness when one face is insulated. `film` is the surface coefficient in W/(m2 K).
struct Body {
  Shape shape = Shape::slab;
  double radius_m = 0;
  Material material;
  double film = 0;
};

/// Into what: uniform start temperature, temperature around, degrees Celsius.
struct Immersion {
  double start_c = 0;
  double around_c = 0;
};

/// One term of the series: theta = sum of coefficient * exp(-root^2 Fo) at the core.
struct Term {
  double root = 0;
  double coefficient = 0;
  /// The mean over the volume of the term's shape; its product with the coefficient is the term of the mean.
  double mean = 0;
};

/// The n-th term (n from 1) for this Biot number (> 0).
Term series_term(Shape shape, double biot, int n);

/// The solved series of one body. Cheap to ask, costs some fifty root searches to make.
class Conduction {
 public:
  /// `invalid` if a size or property is not a positive number.
  static Result<Conduction> of(const Body& body);

  double biot() const { return biot_; }
  /// Fo = alpha t / L^2.
  double fourier(double time_s) const;
  const std::vector<Term>& terms() const { return terms_; }

  /// (T - T_around) / (T_start - T_around) at the core; 1 at the beginning, 0 in the end.
  double core_left(double time_s) const;
  /// The same by the first term alone: good for Fo > 0.2, too high before that.
  double core_left_one_term(double time_s) const;
  /// The same for the mean over the volume: the share of the heat still to be exchanged.
  double mean_left(double time_s) const;

  double core_c(const Immersion& in, double time_s) const;
  double mean_c(const Immersion& in, double time_s) const;

  /// When the core reaches target_c, in seconds; zero if it starts there or beyond. `invalid` if the target lies at or
  /// past the temperature around, so that it is never reached.
  Result<double> time_to_core_s(const Immersion& in, double target_c) const;
  /// The same by the first term alone.
  Result<double> time_to_core_one_term_s(const Immersion& in, double target_c) const;

 private:
  explicit Conduction(const Body& body);

  Body body_;
  double biot_ = 0;
  std::vector<Term> terms_;
};

/// The usual question in one call: how long until the core of this body is at target_c.
Result<Duration> time_to_core(const Body& body, const Immersion& in, double target_c);

/// How deep a tray may be filled, in metres, so that its core is at target_c within `limit`: a slab chilled from both
/// faces. Depth is the lever, for the time grows nearly with its square. `invalid` if properties are not positive, the
/// target is never reached, or the limit is not above zero.
Result<double> deepest_tray_m(const Material& material, double film, const Immersion& in, double target_c,
                              Duration limit);

/// A pre-soak held until the core has been at `reach_c` for `hold` (potatoes at 60 to 65 C so that they stay firm: the
/// enzyme that firms them works best near 60 to 70 C, Andersson et al. 1994, Crit. Rev. Food Sci. Nutr. 34:229).
struct Soak {
  Duration core_there{};  ///< From immersion until the core is there.
  Duration lift{};        ///< When to lift it: core_there + hold.
};
Result<Soak> soak(const Body& body, const Immersion& in, double reach_c, Duration hold);

}  // namespace nappe::food
