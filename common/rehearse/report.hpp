#pragma once
// The result of a rehearsal on paper: JSON for programs, one self-contained page for people.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/rehearse/curve.hpp"
#include "common/rehearse/summary.hpp"

namespace nappe::rehearse {

/// What was asked, to be repeated with the answer.
struct Asked {
  std::string title;  ///< Of the house and the sheet.
  std::uint64_t seed = 1;
  std::string rule;  ///< "planner", "alone", ...
  double prompt = 0.5;
  double bias = 1;
  double scatter = 1;
  std::vector<std::string> changed;  ///< "without pudding", "garnish: 2 pairs of hands"
};

/// The names of the rules on the command line and in the JSON; nothing for an unknown one.
std::string_view rule_name(Rule rule);
std::optional<Rule> rule_from(std::string_view name);

/// One JSON object: members named and explained in the page's own tables. The same nights give the same bytes.
std::string to_json(const Asked& asked, const Stage& stage, const Summary& summary, const std::vector<Change>& changes,
                    const std::vector<std::string>& sentences, const std::vector<CurvePoint>& curve = {});

/// A page without scripts or outside files.
std::string to_page(const Asked& asked, const Stage& stage, const Summary& summary, const std::vector<Change>& changes,
                    const std::vector<std::string>& sentences, const std::vector<CurvePoint>& curve = {});

}  // namespace nappe::rehearse
