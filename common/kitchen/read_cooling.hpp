#pragma once
// Times that follow from temperatures: a rest that ends when the food has cooled into the band it is plated in, and a
// keep that ends when it has left the temperature it must have. Two probe readings of the same spot give the rate
// (Newton's law of cooling, common/food/cooling.hpp); nobody types the seconds.

#include <optional>
#include <string>
#include <vector>

#include "common/kitchen/kitchen.hpp"
#include "common/kitchen/reader.hpp"

namespace nappe::kitchen {

/// One clock worked out, as a person checks it: "cool: from 4:26 (52 C) to 7:00 (43 C) after the unmould".
using ClockWords = std::vector<std::string>;

/// Works out the rests of a component that have "cools" instead of "min_s" and "max_s": from the time it needs down to
/// the warmest it is plated at, to the time it needs down to the coldest, less one portion's plating. `places` are the
/// nodes of its steps. Faults point at the readings.
void derive_rests(Component& component, const std::vector<const Node*>& places, Faults& faults, ClockWords* words);

/// How long something keeps by the readings in `node` ("keeps"); nothing, and a fault, when they do not make sense.
std::optional<Duration> derive_keep(const Node& node, const std::string& what, Faults& faults, ClockWords* words);

}  // namespace nappe::kitchen
