#pragma once
// The nearest of several words, for "did you mean".

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nappe::kitchen {

/// How many letters must be changed, added, taken away or swapped with their neighbour to make one word of the other
/// (optimal string alignment: Damerau 1964 with each letter touched once).
int edit_distance(std::string_view a, std::string_view b);

/// The word nearest to `given`, the first of several; nothing when more than a third of it would have to change.
std::optional<std::string> nearest(std::string_view given, const std::vector<std::string>& known);

/// "did you mean "x"?" if one is near, else "known are a, b, c" (at most twelve), else empty.
std::string suggest(std::string_view given, const std::vector<std::string>& known);

}  // namespace nappe::kitchen
