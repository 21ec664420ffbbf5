#pragma once
// What a plan means for those who look at it: the word to give, how far a station is behind, the load to come.

#include "common/plan/plan.hpp"

namespace nappe::plan {

/// Fills in each course's `word`: the instant by which all its components are on their plates with the house's chance
/// (80 %), rounded up to a whole minute. With k components each must keep its time with chance p^(1/k); the chain of
/// one varies with the square root of the sum of its steps' variances (scatter * time each).
void give_words(const line::State& state, Plan& plan);

/// Fills in how far each station is behind: max over k of (hand work due by d_k, over the hands there) - (d_k - now),
/// floored at zero, with the first table where it happens. `alone` has each course by itself (plan_alone); work is due
/// so that its fired course meets as promised; for a station that would not be the last of it, when the last can be
/// ready, if that is later.
/// A plan that keeps every promise has nobody behind. Both may be the same plan.
void find_behind(const line::State& state, const Plan& alone, Plan& plan);

/// Fills in the load of each station in each five-minute slot of the next hour: what is fired, begun, or planned to be
/// begun before it is fired.
void look_ahead(const line::State& state, Plan& plan);

}  // namespace nappe::plan
