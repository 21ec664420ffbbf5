#include "common/rehearse/sentences.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "common/rehearse/helped.hpp"
#include "common/words.hpp"

namespace nappe::rehearse {
namespace {

// "13.0 % (±1.0) of nights"
std::string nights_text(const Estimate& share) {
  return share.mean == 1 ? "every night" : percent_text(share) + " of nights";
}

// "1.9 points (±0.4) fewer courses late by that count"
std::string points(const Estimate& difference, std::string_view what) {
  const std::string error = error_shown(difference) ? fmt::format(" (±{:.1f})", 100 * difference.error) : "";
  if (std::abs(difference.mean) < 0.0005) return fmt::format("as many{} {}", error, what);
  return fmt::format("{:.1f} points{} {} {}", 100 * std::abs(difference.mean), error,
                     difference.mean < 0 ? "fewer" : "more", what);
}

const StationSummary* last_of_most(const Summary& summary) {
  const StationSummary* most = nullptr;
  for (const StationSummary& station : summary.stations)
    if (station.last_of_late > (most == nullptr ? 0 : most->last_of_late)) most = &station;
  return most;
}

std::string late_clause(const Summary& summary) {
  std::string text = fmt::format("{} of courses go late", percent_text(summary.late));
  if (summary.unfinished > 0) text += " or never";
  if (const StationSummary* last = last_of_most(summary))
    text += fmt::format(", and the last component of {:.0f} % of those comes from {}", 100 * last->last_of_late,
                        last->name);
  return text;
}

std::string unfinished_clause(const Summary& summary) {
  const std::string nights = summary.nights == 1                    ? "in this night"
                             : summary.unfinished == summary.nights ? "in every night"
                                                                    : fmt::format("in {} of them", summary.unfinished);
  return fmt::format(
      "{} plates were still missing ten hours after the last booking (a station without hands, equipment too small for "
      "a pan, or far too much to do)",
      nights);
}

std::string full_clause(const Summary& summary) {
  std::vector<std::string> full;
  for (const StationSummary* station : fullest_first(summary))
    if (too_many(station->over.mean))
      full.push_back(summary.nights == 1 ? station->name
                                         : fmt::format("{} on {}", station->name, nights_text(station->over)));
  if (full.empty()) return {};
  return fmt::format("full at times: more than {:.0f} % of the hands are wanted at {}", 100 * full_load,
                     fmt::join(full, ", "));
}

// What the line makes of the nights.
std::string verdict(const Summary& summary) {
  const bool late = too_many(summary.late.mean);
  if (summary.unfinished > 0) {
    const std::string text = "the line does not carry it: " + unfinished_clause(summary);
    return late ? text + "; " + late_clause(summary) : text;
  }
  const std::string full = full_clause(summary);
  if (late) return "the line does not carry it: " + late_clause(summary) + (full.empty() ? "; no station is full" : "");
  const std::string carries = summary.nights == 1 ? "the line carries it this once" : "the line carries it";
  return full.empty() ? carries : carries + " but is " + full;
}

// The station that is fullest on average need not be the one that is most often full.
std::string tightest_sentence(const Summary& summary, const StationSummary& tight) {
  const StationSummary* often = &tight;
  for (const StationSummary& station : summary.stations)
    if (station.works && station.over.mean > often->over.mean) often = &station;
  if (often == &tight || summary.nights == 1) return tight.name + " is tightest.";
  return fmt::format("{} is tightest on average, {} is most often over {:.0f} % ({:.1f} % of nights, {} {:.1f} %).",
                     tight.name, often->name, 100 * full_load, 100 * often->over.mean, tight.name,
                     100 * tight.over.mean);
}

std::string load_sentence(const Stage& stage, const Summary& summary, const StationSummary& station) {
  if (summary.nights == 1)
    return fmt::format("{}: the worst quarter-hour wants {} of its hands, the one from {}.", station.name,
                       percent_text(station.worst), hour_text(stage, station.fullest));
  return fmt::format(
      "{}: on {} some quarter-hour wants more than {:.0f} % of its hands; the worst one wants {} on average, "
      "and {} is fullest.",
      station.name, nights_text(station.over), 100 * full_load, percent_text(station.worst),
      hour_text(stage, station.fullest));
}

std::string dying_sentence(const Summary& summary) {
  std::vector<const ComponentSummary*> worst;
  for (const ComponentSummary& component : summary.components)
    if (component.past.mean > 0.01) worst.push_back(&component);
  std::stable_sort(worst.begin(), worst.end(),
                   [](const auto* a, const auto* b) { return a->past.mean > b->past.mean; });
  if (worst.size() > 3) worst.resize(3);
  std::vector<std::string> parts;
  for (const auto* component : worst)
    parts.push_back(fmt::format("{} {} (it keeps {}, stands {:.0f} s)", component->name, percent_text(component->past),
                                span_text(from_seconds(component->keep_s)), component->standing.mean));
  return parts.empty() ? std::string() : fmt::format("Most often past their window: {}.", fmt::join(parts, "; "));
}

std::string change_sentence(const Change& change) {
  const std::string with = fmt::format("With {}: ", change.name);
  const std::string late = points(change.late_alone, "courses late by that count");
  const std::string past = points(change.past, "components past their window");
  const bool late_told = told_from_luck(change.late_alone);
  const bool past_told = told_from_luck(change.past);
  if (late_told != past_told) return with + (late_told ? late : past) + ".";
  if (late_told || change.nights < nights_to_tell) return with + late + ", " + past + ".";
  return with + fmt::format("no difference that {} nights could tell from luck ({}, {}).", change.nights, late, past);
}

}  // namespace

bool error_shown(const Estimate& one) { return one.error_known() && one.error > 0; }

std::string number_text(const Estimate& number, int digits, std::string_view unit) {
  std::string text = fmt::format("{:.{}f} {}", number.mean, digits, unit);
  if (error_shown(number)) text += fmt::format(" (±{:.{}f})", number.error, digits);
  return text;
}

std::string percent_text(const Estimate& share) {
  return number_text({100 * share.mean, 100 * share.error, share.nights}, 1, "%");
}

std::string verdict_sentence(const Summary& summary) {
  std::string text =
      fmt::format("{}, {}: {}.", counted(summary.covers, "cover"), counted(summary.nights, "night"), verdict(summary));
  if (const StationSummary* tight = summary.tightest()) text += " " + tightest_sentence(summary, *tight);
  return text;
}

std::vector<std::string> figure_sentences(const Stage& stage, const Summary& summary) {
  std::vector<std::string> out;
  if (summary.nights == 1) out.emplace_back("One night says nothing about luck: no ± is known.");
  const StationSummary* tight = summary.tightest();
  if (tight == nullptr) return out;
  for (const auto* station : fullest_first(summary))
    if (station == tight || station->over.mean >= 0.01) out.push_back(load_sentence(stage, summary, *station));
  out.push_back(fmt::format(
      "{} of courses go more than five minutes after the first word given{}; from fire to gone "
      "takes {} on average.",
      percent_text(summary.late), summary.unfinished > 0 ? ", or never" : "", number_text(summary.wait, 1, "min")));
  out.push_back(fmt::format("{} of courses are gone by the first word given; it is meant for {:.0f} %.",
                            percent_text(summary.kept), 100 * stage.kitchen->settings.word_chance));
  out.push_back(fmt::format("{} of components are past their window; plates of a course are {} apart.",
                            percent_text(summary.past), number_text(summary.spread, 0, "s")));
  if (std::string dying = dying_sentence(summary); !dying.empty()) out.push_back(std::move(dying));
  return out;
}

std::string yardstick_sentence(const std::vector<Change>& changes) {
  if (changes.empty()) return {};
  const Change& one = changes.front();
  const std::string too_few = one.nights >= nights_to_tell
                                  ? ""
                                  : fmt::format(" {} cannot tell a change from luck; it takes {} at least.",
                                                counted(one.nights, "night"), nights_to_tell);
  return fmt::format(
      "{} played again with one thing changed. Counted against what each table would be told if it had the kitchen to "
      "itself, {} of courses are late in {}, and {} of components are past their window.{}",
      one.nights == 1 ? "One night was" : fmt::format("The first {} nights were", one.nights),
      percent_text(one.late_alone_before), one.nights == 1 ? "it" : "them", percent_text(one.past_before), too_few);
}

std::vector<std::string> help_sentences(const std::vector<Change>& changes) {
  std::vector<std::string> out;
  if (changes.empty()) return out;
  out.push_back("What would help? " + yardstick_sentence(changes));
  const std::vector<Change> order = best_first(changes);
  if (const Change& best = order.front(); told_from_luck(best.late_alone) && best.late_alone.mean < 0)
    out.push_back(fmt::format("Most against lateness: {}.", best.name));
  for (const Change& change : order) out.push_back(change_sentence(change));
  return out;
}

std::vector<std::string> in_sentences(const Stage& stage, const Summary& summary, const std::vector<Change>& changes) {
  std::vector<std::string> out{verdict_sentence(summary)};
  for (auto& one : figure_sentences(stage, summary)) out.push_back(std::move(one));
  for (auto& one : help_sentences(changes)) out.push_back(std::move(one));
  return out;
}

}  // namespace nappe::rehearse
