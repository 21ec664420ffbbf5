// What becomes of every batch when the night ends, and what the next one must know.
#include <fmt/format.h>

#include <algorithm>

#include "common/food/judge.hpp"
#include "common/line/batches.hpp"

namespace nappe::line {
namespace {

// Without an allowance in the rules: four hours, the longest any rule set here lets chilled food stand outside. A
// longer gap between readings could hide what no rule allows.
constexpr Duration gap_otherwise = minutes(240);

std::string spent_text(const Batch& batch, Instant now) {
  return food::limit_text(food::outside_for(batch.outside, now));
}

// Without a verdict it has not been read since it was split, or no rule in force sets a number.
std::string cooling_text(const Batch& batch) {
  if (!batch.chilling->verdict.empty()) return "still being cooled: " + batch.chilling->verdict;
  return batch.was.empty() ? "still being cooled, and no rule in force says how fast"
                           : "still being cooled, not read since it was split";
}

void add_batch(const State& state, const Batch& batch, Instant now, std::vector<std::string>& out) {
  const auto say = [&](std::string what) {
    out.push_back(fmt::format("{} in {}: {}", batch.id, batch.kept_in.empty() ? "no place named" : batch.kept_in,
                              std::move(what)));
  };
  if (!batch.blocked.empty()) say("blocked, " + batch.blocked);
  if (batch.past) say("past its use-by " + when_text(state, batch.use_by));
  if (!batch.labelled) say("no label");
  if (batch.opened) say(fmt::format("opened, use by {}", when_text(state, batch.use_by)));
  if (batch.reheated)
    say(fmt::format("reheated at {} by {}, never again", when_text(state, batch.reheated->at), batch.reheated->by));
  if (batch.cooling()) say(cooling_text(batch));
  if (batch.recooked) say("cooked again after a cooling that missed");
  if (!batch.cut_verdict.empty() && batch.blocked.empty())
    say(fmt::format("after the power cut: {}", batch.cut_verdict));
  if (food::outside_for(batch.outside, now) > Duration::zero())
    say(fmt::format("{} outside its limits so far", spent_text(batch, now)));
  if (batch.fate == Fate::cool) say(fmt::format("to be cooled, says {}", batch.fate_by));
}

}  // namespace

std::string missing_reading(const Record& record, const Batch& batch, Instant now) {
  const Keeping keeping = batch.keeping();
  if (keeping == Keeping::shelf) return {};
  const Duration gap = allowance_of(record.rule_set(), keeping).value_or(gap_otherwise);
  if (!batch.last_good) return "no reading within its limits is there";
  if (*batch.last_good + gap < now)
    return fmt::format("its last good reading is {} old, more than {}", food::limit_text(now - *batch.last_good),
                       food::limit_text(gap));
  return {};
}

std::vector<std::string> different_from_standard(const State& state, Instant now) {
  std::vector<std::string> out;
  const Record& record = state.record();
  for (const auto& [id, batch] : record.batches)
    if (batch.there()) add_batch(state, batch, now, out);
  for (const auto& [id, place] : record.places)
    if (place.fault) out.push_back(fmt::format("{}: at fault", id));
  if (record.cut && !record.cut->back)
    out.push_back(fmt::format("the power is off since {}", when_text(state, record.cut->since)));
  for (const auto& [id, probe] : record.probes)
    if (probe.failed)
      out.push_back(fmt::format("probe {}: failed its check at {}", id, when_text(state, *probe.failed)));
  for (const auto& [number, read] : record.readings) {
    const bool tonight = read.taken >= state.opened;
    if (tonight && read.entered_later)
      out.push_back(
          fmt::format("reading {} of {} was entered later", number, read.batch.empty() ? read.place : read.batch));
    if (tonight && read.corrected_c)
      out.push_back(
          fmt::format("reading {} of {} was corrected", number, read.batch.empty() ? read.place : read.batch));
  }
  return out;
}

Decision decide_on(const Asked& asked, const KeepBatch& action) {
  if (Status fine = named(asked, "decides"); !fine) return fine.error();
  const auto found = usable_batch(asked.state, action.batch);
  if (!found) return found.error();
  const Batch& batch = **found;
  const auto refuse = [&](const std::string& why) {
    return Error{Errc::refused, fmt::format("{} cannot be kept: {}; throw it", action.batch, why)};
  };
  if (!batch.labelled)
    return Error{Errc::refused, fmt::format("{} has no label: label it first, or throw it", batch.id)};
  if (batch.reheated)
    return refuse(fmt::format("it was reheated at {} by {}, and reheated food is used the same day",
                              when_text(asked.state, batch.reheated->at), batch.reheated->by));
  if (batch.cooling() && action.fate == Fate::keep)
    return refuse(fmt::format("its cooling is not shown to be within the limit ({})",
                              batch.chilling->verdict.empty() ? "no verdict" : batch.chilling->verdict));
  const food::RuleSet& rules = asked.state.record().rule_set();
  const auto side = batch.keeping() == Keeping::hot ? food::Side::hot : food::Side::chill;
  const food::Verdict spent = food::judge_time_outside(rules, side, batch.outside, asked.now);
  if (spent.outcome == food::Outcome::outside) return refuse(spent.sentence);
  if (action.fate == Fate::keep) {
    if (const std::string missing = missing_reading(asked.state.record(), batch, asked.now); !missing.empty())
      return refuse(missing);
  }
  return Happenings{BatchKept{action.batch, action.fate, asked.by}};
}

Decision decide_on(const Asked& asked, const WriteHandover& action) {
  if (Status fine = named(asked, "hands over"); !fine) return fine.error();
  return Happenings{HandoverWritten{asked.state.record().handovers_made + 1, action.note,
                                    different_from_standard(asked.state, asked.now), asked.by}};
}

Decision decide_on(const Asked& asked, const AnswerHandover& action) {
  if (Status fine = named(asked, "has read it"); !fine) return fine.error();
  const auto& unread = asked.state.record().handovers;
  const auto found = unread.find(action.handover);
  if (found == unread.end()) {
    const bool was = action.handover > 0 && action.handover <= asked.state.record().handovers_made;
    return Error{was ? Errc::conflict : Errc::unknown,
                 was ? fmt::format("handover {} has been answered already", action.handover)
                     : fmt::format("there is no handover {}", action.handover),
                 "/handover"};
  }
  if (found->second.by == asked.by)
    return Error{Errc::refused, fmt::format("{} wrote it: it is answered by whoever comes next", asked.by), "/by"};
  return Happenings{HandoverAnswered{action.handover, asked.by}};
}

}  // namespace nappe::line
