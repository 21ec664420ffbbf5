#pragma once
// How long a step takes as three quantiles instead of a usual time and a scatter: given by who knows it, or learnt from
// nights and kept in a file of the house. Used by the loader.

#include <vector>

#include "common/kitchen/kitchen.hpp"
#include "common/kitchen/reader.hpp"

namespace nappe::kitchen {

/// One night in ten is quicker, half are, nine in ten are; for so many portions.
struct Quantiles {
  int portions = 1;
  Duration q10{};
  Duration q50{};
  Duration q90{};
  [[nodiscard]] bool good() const { return q10 > Duration::zero() && q10 <= q50 && q50 <= q90; }
  /// Standard deviation of the logarithm of the log-normal through q10 and q90: ln(q90 / q10) / 2 z(0.9).
  [[nodiscard]] double scatter() const;
};

/// {portions?, q10_s, q50_s, q90_s}. The caller finishes the fields.
Quantiles read_quantiles(Fields& fields, Faults& faults);

/// A step whose file gives quantiles: its usual time is scaled so that it is q50 for their portions (fixed, when the
/// file gives no other), its scatter is theirs.
void take_quantiles(const Quantiles& quantiles, Step& step);

/// Times learnt from nights: {learnt: [{component, step, times, portions?, q10_s, q50_s, q90_s}]}. The logarithms of
/// usual time and scatter's variance are drawn to what the nights say by their number n against 8 (own n, others 8:
/// the house's figure counts like eight more times); several entries of a step are counted together.
void read_learnt(const Node& root, std::vector<Component>& components, Faults& faults);

}  // namespace nappe::kitchen
