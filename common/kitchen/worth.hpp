#pragma once
// What a dish brings in for each minute of the station that is short of hands. The scarce thing of a line is not food
// but the seconds of its tightest station: a dish with a low food cost can be the dearest on the card.

#include <string>
#include <vector>

#include "common/kitchen/kitchen.hpp"

namespace nappe::kitchen {

/// Portions that go through the pans together when hands are counted: a pan of two is what an evening mostly sees
/// (common practice, no source).
inline constexpr int usual_together = 2;

/// Hands of this station for one portion of the dish when `together` portions share its pans: usual times, the usual
/// number of rounds.
Duration hands_for(const Kitchen& kitchen, const Dish& dish, const std::string& station, int together = usual_together);

/// How much a station's hands are asked for one cover: hands for a portion, averaged over the dishes of each course and
/// added over the courses, over the pairs of hands that stand there.
struct Tightness {
  std::string station;
  Duration per_cover{};
};

/// Stations with hands and work, the tightest first. Every dish of a course counts alike: a mix is not known here.
std::vector<Tightness> tightest_stations(const Kitchen& kitchen, int together = usual_together);

struct Worth {
  std::string dish;
  Duration hands{};             ///< Of the station asked for, for one portion.
  double pence_per_minute = 0;  ///< (price - food cost) / hands
};

/// Dishes that use this station, the one that brings in most a minute first; equals by id.
std::vector<Worth> worth_of(const Kitchen& kitchen, const std::string& station, int together = usual_together);

}  // namespace nappe::kitchen
