#pragma once
// The result of a rehearsal on paper: JSON for programs, one self-contained page for people.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/rehearse/asked.hpp"
#include "common/rehearse/curve.hpp"
#include "common/rehearse/summary.hpp"

namespace nappe::rehearse {

/// The names of the rules on the command line and in the JSON; nothing for an unknown one.
std::string_view rule_name(Rule rule);
std::optional<Rule> rule_from(std::string_view name);

/// One JSON object: members named and explained in the page's own tables. The same nights give the same bytes.
std::string to_json(const Asked& asked, const Stage& stage, const Summary& summary, const std::vector<Change>& changes,
                    const std::vector<std::string>& sentences, const std::vector<CurvePoint>& curve = {});

/// A page without scripts or outside files, for a screen, a telephone and paper.
std::string to_page(const Asked& asked, const Stage& stage, const Summary& summary, const std::vector<Change>& changes,
                    const std::vector<CurvePoint>& curve = {});

}  // namespace nappe::rehearse
