#pragma once
// The dining room of one night: who comes when, what they order, how long they eat.

#include <vector>

#include "common/rehearse/draws.hpp"
#include "common/rehearse/manner.hpp"
#include "common/rehearse/stage.hpp"

namespace nappe::rehearse {

/// A party that came.
struct Visit {
  std::uint64_t key = 0;  ///< Of its booking: what its luck belongs to.
  Instant arrives{};
  Instant orders{};
  line::Order order;
};

/// The parties of this night in the order of their tickets. Draws belong to booking, course, position and dish: a dish
/// that is off changes only the plates of those who would have had it. What guests must not have they do not order;
/// allergies told late are taken as told in time.
std::vector<Visit> visits(const Stage& stage, const Guests& guests, const Draws& draws);

/// How long tables eat this course: as the house says it, else as the rehearsal's guests do their n-th (from 0).
Spell eating_spell(const kitchen::Kitchen& kitchen, const Guests& guests, const std::string& course, int nth);
/// How long this party eats its n-th course (from 0); never below a quarter of the mean.
Duration eats(const Spell& spell, const Draws& draws, std::uint64_t party, int nth);

}  // namespace nappe::rehearse
