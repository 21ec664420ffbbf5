#pragma once
// Verdicts: readings held against the rule set in force. A verdict never says that food is safe; it says within or
// outside which limit, and where that limit comes from. Show `caution` (rules.hpp) beside it.

#include <chrono>
#include <string>
#include <string_view>

#include "common/food/outside.hpp"
#include "common/food/reading.hpp"
#include "common/food/rules.hpp"

namespace nappe::food {

enum class Outcome {
  within,
  outside,
  no_limit,    ///< The rule set sets no number for this.
  not_decided  ///< The record does not say. Where food is concerned a gap counts for nothing.
};

/// "within", "outside", "no limit", "not decided".
std::string_view word(Outcome outcome);

struct Verdict {
  Outcome outcome = Outcome::not_decided;
  /// "Outside the limit of RULE (SOURCE): ..."
  std::string sentence;
};

/// Food held hot (cold) at this temperature now. `clock` is the batch's time outside; below (above) the limit its
/// running time counts against the allowance, if the rule set gives one.
Verdict judge_hot_holding(const RuleSet& rules, double celsius, const OutsideClock& clock, Instant now);
Verdict judge_chill_holding(const RuleSet& rules, double celsius, const OutsideClock& clock, Instant now);

/// The batch's counter alone, whatever its temperature is now: food that used its time up stays outside when it is warm
/// (cold) again. Under rule sets without an allowance any time recorded outside is outside.
enum class Side { hot, chill };
Verdict judge_time_outside(const RuleSet& rules, Side side, const OutsideClock& clock, Instant now);

/// A cooling as recorded at the core: when it began (taken off the heat or put in the chiller) and the readings.
struct CoolingRecord {
  Instant started;
  Curve readings;
};

/// Every stage of the rule set, each from the last reading that can have been its beginning to the first that shows its
/// end. A limit that passed between two readings is not decided.
Verdict judge_cooling(const RuleSet& rules, const CoolingRecord& record, Instant now);

/// A reheating as recorded at the core.
struct Reheating {
  Curve readings;
  /// When it left the chill limit; only needed for rule sets that bound the time (US Food Code: 2 h).
  std::optional<Instant> began;
  int times_before = 0;           ///< How often the batch has been reheated already.
  bool to_order_at_once = false;  ///< One portion for immediate service, not for hot holding.
};
Verdict judge_reheating(const RuleSet& rules, const Reheating& reheating);

/// Food whose cooling has missed, or will, cooked again: the core as recorded, how long ago the limit passed (negative:
/// it has not yet), and how often it was cooked again before. `no_limit` when the rules say nothing of it.
Verdict judge_recook(const RuleSet& rules, const Curve& readings, Duration late, int times_before);

/// Cooking of this kind of food (the rule set's names; "any" is used for kinds it does not name).
Verdict judge_cooking(const RuleSet& rules, std::string_view food, const Curve& readings);

/// Food kept by time alone.
struct TimeOnly {
  std::string food;      ///< Kind, for rules that are for one kind only; may be empty.
  double starts_c = 0;   ///< Temperature when it left control.
  double warmest_c = 0;  ///< Warmest since, at its warmest part.
  OutsideClock clock;
};

/// Within if any of the rule set's time-only rules covers it.
Verdict judge_time_only(const RuleSet& rules, const TimeOnly& kept, Instant now);

/// A kind of food made on one calendar day and used on another.
Verdict judge_keeping(const RuleSet& rules, std::string_view what, std::chrono::sys_days made,
                      std::chrono::sys_days used);

}  // namespace nappe::food
