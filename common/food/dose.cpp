#include "common/food/dose.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace nappe::food {

double bakers_percent(double kg, double base_kg) { return 100 * kg / base_kg; }

double dose_kg(double base_kg, double percent) { return base_kg * percent / 100; }

Result<std::vector<Weighed>> weigh_out(const std::vector<Ingredient>& recipe, double total_kg) {
  double sum = 0;
  bool base = false;
  for (const Ingredient& part : recipe) {
    if (!(part.percent >= 0)) return Error{Errc::invalid, fmt::format("{} has no percentage", part.name)};
    base = base || part.percent == 100;
    sum += part.percent;
  }
  if (!base) return Error{Errc::invalid, "one ingredient must be the base, with 100 %"};
  if (!(total_kg > 0)) return Error{Errc::invalid, "the total must be a positive weight"};
  std::vector<Weighed> out;
  for (const Ingredient& part : recipe) out.push_back({part.name, total_kg * part.percent / sum});
  return out;
}

const std::vector<UseLevel>& use_levels() {
  // A trade sheet is no standard: these stop a slipped decimal point, no more.
  static constexpr std::string_view sheet = "trade sheet of hydrocolloids (konjacfoods.com), seen";
  static constexpr std::string_view memory = "from memory, not checked";
  static const std::vector<UseLevel> levels = {
      {"gelatine", 0.3, 10, sheet},
      {"xanthan", 0.02, 0.3, sheet},
      {"agar", 0.05, 0.5, sheet},
      {"kappa carrageenan", 0.01, 3, sheet},
      {"iota carrageenan", 0.1, 1, sheet},
      {"konjac", 0.05, 0.5, sheet},
      {"alginate", 0.005, 1, sheet},
      {"gellan", 0.05, 1,
       "lower end from a maker's sheet (gellangum.cn), seen; "
       "upper end from memory, not checked"},
      {"guar", 0.1, 0.7, memory},
  };
  return levels;
}

Result<Dose> hydrocolloid(std::string_view agent, double liquid_kg, double percent) {
  const auto& levels = use_levels();
  const auto row = std::find_if(levels.begin(), levels.end(), [&](const UseLevel& l) { return l.agent == agent; });
  if (row == levels.end()) {
    return Error{Errc::unknown, fmt::format("no usual levels are known for {}: weigh it by its own recipe", agent)};
  }
  if (!(liquid_kg > 0) || !(percent > 0)) {
    return Error{Errc::invalid, "the liquid and the percentage must be positive"};
  }
  Dose dose{1000 * dose_kg(liquid_kg, percent), {}};
  const double share = percent_of_total(percent);
  if (share < row->low_percent || share > row->high_percent) {
    dose.remark =
        fmt::format("{:.2g} % of {} is outside its usual {:g} to {:g} % of the total ({}): check the decimal point.",
                    share, agent, row->low_percent, row->high_percent, row->source);
  }
  return dose;
}

}  // namespace nappe::food
