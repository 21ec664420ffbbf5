#pragma once
// What a power cut means for food that is kept cold, frozen or hot. The times for which a closed door keeps the cold
// are for orientation; a reading after the cut decides.

#include <optional>
#include <string>
#include <string_view>

#include "common/food/outside.hpp"
#include "common/food/rules.hpp"
#include "common/time.hpp"

namespace nappe::food {

/// How long a closed door keeps the cold without power: four hours for a fridge; a full freezer 48 hours, a half-full
/// one
/// 24. The shorter is used, for nobody knows how full it was. USDA FSIS and CDC, food safety in a power outage, as
/// quoted by newspapers, power companies and extension services; read there, not in the originals.
inline constexpr Duration closed_fridge = minutes(4 * 60);
inline constexpr Duration closed_freezer = minutes(24 * 60);

enum class KeptHow { cold, frozen, hot };

enum class CutState {
  within,   ///< A reading since the power came back is within the limit.
  read_it,  ///< Not read since, and the door can have kept it so long: read it.
  decide,   ///< Outside the limit now, and its time is not used up: a named person decides.
  expired   ///< Its time is used up, or nothing shows that it is not: thrown.
};
/// "within", "read it", "decide", "throw".
std::string_view word(CutState state);

struct CutCase {
  KeptHow kept = KeptHow::cold;
  Instant since{};              ///< When the power went.
  std::optional<Instant> back;  ///< When it came back; nothing: it has not.
  std::optional<Instant> good;  ///< The last reading within the limit before it went; else when it was made.
  std::optional<Instant> read;  ///< The last reading after it went, ...
  double read_c = 0;            ///< ... and what it said.
  OutsideClock clock;           ///< Its time outside so far.
};

struct CutVerdict {
  CutState state = CutState::read_it;
  std::string says;                ///< The reason, one sentence.
  std::optional<Instant> expires;  ///< When time alone makes it expired; nothing: never, or it is.
};

/// The verdict at `now` under the rules in force. The clock of food that is outside runs from its last good reading,
/// for nobody knows when it became so. Without a limit in the rules nothing is within: a named person decides.
CutVerdict judge_cut(const RuleSet& rules, const CutCase& kept, Instant now);

}  // namespace nappe::food
