#pragma once
// Times, weights and counts as a prep list says them.

#include <string>

#include "common/time.hpp"

namespace nappe::mise {

/// "09:30": a time of day since midnight; behind midnight it goes on from 00:00.
std::string day_text(Duration since_midnight);

/// "1:09 h", "25 min": a length in whole minutes, rounded up.
std::string hours_text(Duration length);

/// "7.0 kg", "850 g": to the gram below a kilogram, to 50 g above.
std::string weight_text(double grams);

/// The same with its sign: "+1.1 kg", "-300 g".
std::string signed_weight(double grams);

}  // namespace nappe::mise
