#include "common/food/gels.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace nappe::food {

const std::vector<Gel>& gels() {
  static constexpr std::string_view both =
      "comparison of hydrocolloid properties (gellangum.cinogel.com) and table 6 of PMC6961714, seen";
  static const std::vector<Gel> table = {
      {"gelatine", {{}, 20}, {25, 40}, false, both},
      {"agar", {35, 45}, {80, 90}, false, both},
      {"kappa carrageenan",
       {30, 60},
       {40, 80},
       false,
       "comparison of hydrocolloid properties (gellangum.cinogel.com), seen: melts 10 to 20 C above where it sets"},
      {"iota carrageenan",
       {40, 70},
       {45, 80},
       false,
       "comparison of hydrocolloid properties (gellangum.cinogel.com), seen: melts 5 to 10 C above where it sets"},
      {"gellan, low acyl", {30, 50}, {90, {}}, false, "from memory, not checked"},
      {"gellan, high acyl", {70, 80}, {70, 80}, false, "from memory, not checked"},
      {"methylcellulose",
       {50, 60},
       {{}, 50},
       true,
       "sets on heating: Vigouret et al. 1996, abstract seen; 50 to 60 C from memory, not checked"},
  };
  return table;
}

const Gel* find_gel(std::string_view agent) {
  const auto& table = gels();
  const auto row = std::find_if(table.begin(), table.end(), [&](const Gel& g) { return g.agent == agent; });
  return row == table.end() ? nullptr : &*row;
}

GelState held_at_temperature(const Gel& gel, double celsius) {
  const auto below = [&](const std::optional<double>& c) { return c && celsius < *c; };
  const auto above = [&](const std::optional<double>& c) { return c && celsius > *c; };
  if (gel.sets_on_heating) {
    if (above(gel.sets.high_c)) return GelState::set;
    // On cooling it holds on for some degrees below where it set (hysteresis), and nobody says how many.
    return GelState::either;
  }
  if (below(gel.melts.low_c)) return GelState::set;
  if (above(gel.melts.high_c)) return GelState::melted;
  return GelState::either;
}

Status sheet_on(const Sheet& sheet, std::string_view under, double under_c) {
  if (under_c >= sheet.fails_c) {
    return Error{Errc::refused, fmt::format("{} fails at {:.0f} °C and {} is plated at {:.0f} °C: let it cool or "
                                            "take another sheet",
                                            sheet.name, sheet.fails_c, under, under_c)};
  }
  if (sheet.house_c && under_c > *sheet.house_c) {
    return Error{
        Errc::refused,
        fmt::format("{} goes on nothing above {:.0f} °C in this house and {} is plated at {:.0f} °C: let it cool "
                    "first",
                    sheet.name, *sheet.house_c, under, under_c)};
  }
  return Done{};
}

}  // namespace nappe::food
