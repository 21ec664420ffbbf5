#pragma once
// A rehearsal in sentences for a chef. Every figure carries its standard error as "±" where one is known.

#include <string>
#include <string_view>
#include <vector>

#include "common/rehearse/stage.hpp"
#include "common/rehearse/summary.hpp"

namespace nappe::rehearse {

/// One course or night in twenty is what "carries it" still allows, however the mean of the nights is rounded.
constexpr bool too_many(double share) { return share > 0.05 + 1e-9; }

/// Nothing is said of the error of one night, nor when no two differ: another may lie off all the same.
bool error_shown(const Estimate& one);
/// "1.2 % (±0.3)"; without the bracket when no error is shown.
std::string percent_text(const Estimate& share);
/// "16.3 min (±0.2)", the same.
std::string number_text(const Estimate& number, int digits, std::string_view unit);

/// Whether the line carries these nights and, if not, why; and which station is tightest.
std::string verdict_sentence(const Summary& summary);

/// The figures, most important first.
std::vector<std::string> figure_sentences(const Stage& stage, const Summary& summary);

/// By what lateness is counted in the changes, and what it comes to without any; empty without changes.
std::string yardstick_sentence(const std::vector<Change>& changes);

/// The yardstick, then what each change would do, best first.
std::vector<std::string> help_sentences(const std::vector<Change>& changes);

/// All of these in their order.
std::vector<std::string> in_sentences(const Stage& stage, const Summary& summary, const std::vector<Change>& changes);

}  // namespace nappe::rehearse
