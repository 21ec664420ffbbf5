#pragma once
// 20:23:40 of a made-up evening in the scene's kitchen: what the golden documents show.

#include "tests/wire/scene.hpp"

namespace nappe::tests {

/// Pans by what they are for, so that tests can name them.
struct EveningPans {
  static constexpr line::PanId emmer_10_12{1}, mackerel_10{2}, loin_10{3}, turnips_10{4};
};

line::State evening();
/// plain_plan with a garnish that is behind and some load, as a planner would find them.
plan::Plan evening_plan(const line::State& state);

}  // namespace nappe::tests
