#pragma once
// Numbers and times as the screens say them.

#include <string>

#include "common/time.hpp"
#include "common/words.hpp"

namespace nappe::client {

/// "first" ... "twelfth", then "13th".
std::string ordinal(int n);
/// "one" ... "twelve", then digits.
std::string cardinal(int n);
/// "0:08", "12:40"; never a minus sign: a time that is over counts up.
std::string countdown(Duration left);
/// "20:31" in the kitchen's time.
std::string hour_minute(Instant at, Duration utc_offset);
/// Capital letters of an ASCII text; other letters stay.
std::string upper(std::string text);

}  // namespace nappe::client
