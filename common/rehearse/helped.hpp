#pragma once
// What would have helped: the changes worth rehearsing.

#include <string>
#include <vector>

#include "common/rehearse/stage.hpp"
#include "common/rehearse/summary.hpp"

namespace nappe::rehearse {

/// One thing changed each, upon what `base` has changed already: another pair of hands at each station that was ever
/// full (at least at the tightest two); a dish of the tightest station off; rounds of its components half done ahead;
/// the bookings that meet in its fullest quarter-hour a quarter-hour later.
std::vector<Variant> changes_worth_trying(const Stage& stage, const Variant& base, const Summary& summary);

/// "20:15" by the kitchen's clocks.
std::string hour_text(const Stage& stage, Instant at);

/// The stations where anybody worked, the one with the fullest worst quarter-hour first.
std::vector<const StationSummary*> fullest_first(const Summary& summary);

/// By what they spare: courses late as far as that is told from luck, then components past their window, then the rest.
std::vector<Change> best_first(std::vector<Change> changes);

}  // namespace nappe::rehearse
