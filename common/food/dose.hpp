#pragma once
// Doses by weight, as the baker writes them: the base (flour, potato, liquid) is 100 %, everything else is a percentage
// of the base, so that a dose does not change when another ingredient does.

#include <string>
#include <string_view>
#include <vector>

#include "common/result.hpp"

namespace nappe::food {

/// Share of the base by weight, in percent. The base must be positive.
double bakers_percent(double kg, double base_kg);

/// The weight of an ingredient at this percentage of the base, kilograms.
double dose_kg(double base_kg, double percent);

struct Ingredient {
  std::string name;
  double percent = 0;  ///< of the base; the base itself is the first with 100
};
struct Weighed {
  std::string name;
  double kg = 0;
};

/// What to weigh for this total: base = total / (sum of percentages / 100). `invalid` if a percentage is negative, none
/// is 100 (no base), or the total is not positive.
Result<std::vector<Weighed>> weigh_out(const std::vector<Ingredient>& recipe, double total_kg);

/// A percentage of the base as a percentage of everything, when the base and this are all there is.
constexpr double percent_of_total(double percent_of_base) { return 100 * percent_of_base / (100 + percent_of_base); }

/// Butter in a potato puree, percent of the potato: both common practice, no source.
constexpr double butter_rich_percent = 50;
constexpr double butter_usual_percent = 30;

/// Usual levels of a hydrocolloid, percent of the total mass.
struct UseLevel {
  std::string_view agent;
  double low_percent = 0;
  double high_percent = 0;
  std::string_view source;
};

/// Gelatine, xanthan, agar, kappa and iota carrageenan, konjac, alginate, gellan, guar; each row names its source.
const std::vector<UseLevel>& use_levels();

/// What to weigh. `remark` is empty, or one sentence saying that the agent's share of the total is outside its usual
/// levels: a reason to look at the decimal point, not to refuse.
struct Dose {
  double grams = 0;
  std::string remark;
};

/// The dose of an agent for this liquid at `percent` of the liquid. `unknown` for an agent not in the table, `invalid`
/// for a weight or percentage that is not positive.
Result<Dose> hydrocolloid(std::string_view agent, double liquid_kg, double percent);

}  // namespace nappe::food
