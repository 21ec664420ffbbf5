#pragma once
// The limits food is judged by: one rule set per place and edition, read from config/rules/*.json, every number with
// its source. A house may be stricter than the rule set in force and never looser.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/result.hpp"
#include "common/time.hpp"

namespace nappe::food {

/// Printed beside every verdict.
inline constexpr std::string_view caution =
    "Limits come from the rule set named, as read on its date. The codes in force where this kitchen stands and the "
    "responsible person decide.";

/// What weight a number has.
enum class Standing {
  law,       ///< The text of a statute or a code adopted as law.
  guidance,  ///< An authority's advice.
  practice,  ///< Common practice of the trade, no source.
  house      ///< This kitchen's own rule.
};

/// How far the number was checked when the file was written.
enum class Checked {
  primary,    ///< Seen in the text it comes from.
  secondary,  ///< Seen quoted by others.
  memory,     ///< From memory, not checked: check before relying on it.
  own         ///< The house's own, nothing to check.
};

/// Where a number comes from.
struct Source {
  std::string rule;  ///< Name of the rule set it stands in.
  std::string text;  ///< Title and paragraph.
  Standing standing = Standing::law;
  Checked verified = Checked::primary;
  std::string note;  ///< What to know about it; may be empty.
};

/// For how long food may be outside a holding limit.
struct Allowance {
  Duration shorter_than{};  ///< The time outside must be shorter than this.
  int periods = 0;          ///< In how many periods at most; 0: as many as you like.
  Source source;
};

/// Hot holding. Without `min_c` the rule set has considered it and sets no number.
struct HotHolding {
  std::optional<double> min_c;
  bool above = false;  ///< It must be above min_c, not at it.
  std::optional<Allowance> outside;
  Source source;
};

/// Chill holding, as HotHolding.
struct ChillHolding {
  std::optional<double> max_c;
  std::optional<Allowance> outside;
  Source source;
};

/// Down to `to_c` within this time of passing `from_c`, or of the start of cooling if there is none.
struct CoolingStage {
  std::optional<double> from_c;
  double to_c = 0;
  Duration within{};
};
/// At least this warm at the core for at least this long; a length of zero means reaching it.
struct Hold {
  double min_c = 0;
  Duration lasting{};
};

/// Food whose cooling misses may be cooked again (any one hold will do), once, and its cooling begins anew.
struct RecookRule {
  std::vector<Hold> holds;
  Duration late{};  ///< So long after the limit has passed at most; zero: only before it has.
  Source source;
};

/// All stages must be met; none means that the rule set sets no number.
struct CoolingRule {
  std::vector<CoolingStage> stages;
  Source source;
  std::optional<RecookRule> recook = {};  ///< Nothing: food that missed is thrown.
};

/// Any one hold will do; none means that the rule set sets no number.
struct ReheatingRule {
  std::vector<Hold> holds;
  /// The time from leaving `counted_from_c` to the hold's temperature must not exceed this.
  std::optional<Duration> within;
  std::optional<double> counted_from_c;
  int times = 0;              ///< How often one batch may be reheated; 0: no limit.
  bool order_exempt = false;  ///< No number for a portion reheated to order and served at once.
  Source source;
};

/// Cooking of one kind of food; "any" stands for kinds not named. Any one hold will do.
struct CookingRule {
  std::string food;
  std::vector<Hold> holds;
  Source source;
};

/// Time alone as the control. It may be used if the food started at or below starts_max_c, or at or above starts_min_c.
struct TimeOnlyRule {
  std::string name;
  std::string food;  ///< Only for this kind; empty: any.
  std::optional<double> starts_max_c;
  std::optional<double> starts_min_c;
  std::optional<double> warmest_c;  ///< The warmest part may never have been above this.
  Duration longest{};
  Source source;
};

/// How many days a kind of food keeps.
struct KeepingRule {
  std::string what;
  int days = 0;
  bool first_day_counts = false;
  std::optional<double> max_c;
  Source source;
};

/// What has to be declared to guests as an allergen: groups by the names of kitchen/allergen.hpp ("nuts"), or kinds
/// where the rule names no more than the kind ("wheat").
struct AllergenRule {
  std::vector<std::string> groups;
  Source source;
};

/// A rule set. A section that is missing is one the rule set does not speak of.
struct RuleSet {
  std::string id;
  std::string name;
  std::string edition;
  std::string as_of;  ///< Date on which the figures were put down, "2026-11-01".
  std::optional<HotHolding> hot_holding;
  std::optional<ChillHolding> chill_holding;
  std::optional<CoolingRule> cooling;
  std::optional<ReheatingRule> reheating;
  std::vector<CookingRule> cooking;
  std::vector<TimeOnlyRule> time_only;
  std::vector<KeepingRule> keeping;
  std::optional<AllergenRule> allergens;
};

/// Reads one rule set. Strict: an unknown, missing or doubled key, a wrong type or a number out of range is `invalid`,
/// with the place as a JSON pointer (RFC 6901) in `where`. Comments are allowed.
Result<RuleSet> parse_rule_set(std::string_view json_text);

/// The rule set in force in a house that adds its own. Where the house names a limit it replaces the rule set's. A
/// limit of the house that would allow what the rule set forbids is `refused` and named, with its place in the house's
/// file in `where`.
Result<RuleSet> with_house(const RuleSet& in_force, const RuleSet& house);

}  // namespace nappe::food
