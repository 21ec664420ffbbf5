#pragma once
// Where gels set and melt, and whether a sheet can lie on what is under it.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/result.hpp"

namespace nappe::food {

/// A band of degrees Celsius; an open end is missing.
struct Band {
  std::optional<double> low_c;
  std::optional<double> high_c;
};

/// How an agent behaves. An ordinary gel sets on cooling through `sets` and melts on heating through `melts`; one that
/// sets on heating (methylcellulose) sets through `sets` going up and melts on cooling.
struct Gel {
  std::string_view agent;
  Band sets;
  Band melts;
  bool sets_on_heating = false;
  std::string_view source;
};

/// Gelatine, agar, kappa and iota carrageenan, gellan (low and high acyl), methylcellulose. Bands are wide because
/// grade, dose, salt and sugar move them: a trial on the dish itself decides.
const std::vector<Gel>& gels();
const Gel* find_gel(std::string_view agent);

enum class GelState { set, melted, either };

/// What a gel that was set does when brought to this temperature: `either` inside its melting band or where the band
/// does not say.
GelState held_at_temperature(const Gel& gel, double celsius);

/// A set sheet on a plate: it fails at `fails_c`; the house wants nothing warmer than `house_c` under it.
struct Sheet {
  std::string name;
  double fails_c = 0;
  std::optional<double> house_c;
};

/// May the sheet go on a component plated at this temperature? `refused` with a sentence that names both and says what
/// to do, if the component is at or above where the sheet fails, or above the house's limit.
Status sheet_on(const Sheet& sheet, std::string_view under, double under_c);

}  // namespace nappe::food
