// What went wrong and what is decided about it: a cooling that missed, the mains.
#include <fmt/format.h>

#include <algorithm>

#include "common/food/judge.hpp"
#include "common/food/power_cut.hpp"
#include "common/line/batches.hpp"

namespace nappe::line {
namespace {

food::KeptHow kept_how(Keeping keeping) {
  if (keeping == Keeping::frozen) return food::KeptHow::frozen;
  return keeping == Keeping::hot ? food::KeptHow::hot : food::KeptHow::cold;
}

// Whether the cut concerns it: it is kept at a temperature and was there while the power was off.
bool concerned(const Cut& cut, const Batch& batch) {
  if (!batch.there() || batch.keeping() == Keeping::shelf || batch.cooling()) return false;
  const bool settled = batch.cut_verdict == food::word(food::CutState::expired) ||
                       (cut.back && batch.cut_verdict == food::word(food::CutState::within));
  if (settled) return false;
  return !cut.back || batch.made < *cut.back;
}

food::CutCase case_of(const Record& record, const Batch& batch) {
  food::CutCase out;
  out.kept = kept_how(batch.keeping());
  out.since = std::max(record.cut->since, batch.made);
  out.back = record.cut->back;
  out.good = batch.last_good.value_or(batch.made);
  out.clock = batch.outside;
  for (const auto& [number, read] : record.readings) {
    const bool own = read.batch == batch.id;
    const bool place = !read.place.empty() && read.place == batch.kept_in;
    if ((!own && !place) || read.taken < out.since || (out.read && read.taken < *out.read)) continue;
    out.read = read.taken;
    out.read_c = read.counts();
  }
  return out;
}

}  // namespace

std::optional<CutJudged> judge_cut(const Record& record, const Batch& batch, Instant now) {
  if (!record.cut || !concerned(*record.cut, batch)) return {};
  const food::CutVerdict verdict = food::judge_cut(record.rule_set(), case_of(record, batch), now);
  return CutJudged{batch.id, std::string(food::word(verdict.state)), verdict.says};
}

std::optional<Instant> cut_expires(const Record& record, const Batch& batch, Instant now) {
  if (!record.cut || !concerned(*record.cut, batch)) return {};
  return food::judge_cut(record.rule_set(), case_of(record, batch), now).expires;
}

void add_cut(const Record& record, const Batch& batch, Instant now, bool again, Happenings& out) {
  const auto judged = judge_cut(record, batch, now);
  if (!judged || (!again && judged->verdict == batch.cut_verdict)) return;
  out.push_back(*judged);
  if (judged->verdict == food::word(food::CutState::expired) && batch.blocked.empty())
    out.push_back(BatchBlocked{batch.id, "the power cut: " + judged->says});
}

Decision decide_on(const Asked& asked, const TellPower& action) {
  if (Status fine = named(asked, "says so"); !fine) return fine.error();
  const auto at = instant_said(asked, action.since_ms, "/since_ms");
  if (!at) return at.error();
  const auto& cut = asked.state.record().cut;
  const bool off = cut && !cut->back;
  if (!action.on && off)
    return Error{Errc::conflict, fmt::format("the power is off already, since {}", when_text(asked.state, cut->since))};
  if (action.on && !off) return Error{Errc::conflict, "nobody has said that the power went: say first when it did"};
  if (action.on && *at < cut->since)
    return Error{Errc::invalid,
                 fmt::format("it went at {}: it cannot have been back before", when_text(asked.state, cut->since)),
                 "/since_ms"};
  if (!action.on && cut && *at < *cut->back)
    return Error{Errc::invalid,
                 fmt::format("it was back from the last cut at {}: it cannot have gone before",
                             when_text(asked.state, *cut->back)),
                 "/since_ms"};
  Happenings out;
  const bool later = entered_later(*at, asked.now);
  if (action.on)
    out.push_back(PowerBack{to_ms(cut->since), to_ms(*at), later, asked.by});
  else
    out.push_back(PowerCut{to_ms(*at), later, asked.by});
  Record after = asked.state.record();
  apply_record(after, out.front(), asked.now);
  for (const auto& [id, batch] : after.batches) add_cut(after, batch, asked.now, true, out);
  return out;
}

Decision decide_on(const Asked& asked, const RecookBatch& action) {
  if (Status fine = check_probe_reading(asked, action.probe, action.celsius); !fine) return fine.error();
  const auto found = batch_of(asked.state, action.batch);
  if (!found) return found.error();
  const Batch& batch = **found;
  if (batch.past)
    return Error{Errc::refused, fmt::format("{} is past its use-by, {} ({}): throw it", batch.id,
                                            when_text(asked.state, batch.use_by), batch.ends)};
  if (batch.reheated)
    return Error{Errc::refused, fmt::format("{} was reheated at {} by {}: once only, so throw it", batch.id,
                                            when_text(asked.state, batch.reheated->at), batch.reheated->by)};
  if (!batch.chilling || !batch.cooling())
    return Error{Errc::refused,
                 fmt::format("nothing is to be mended: no cooling of {} is running or was missed", batch.id)};
  if (action.lasting_s < 0) return Error{Errc::invalid, "it cannot have lasted less than no time", "/lasting_s"};
  food::Curve readings{{asked.at, action.celsius}};
  if (action.lasting_s > 0) {
    const Duration lasting = seconds(action.lasting_s);
    readings = food::held_at(action.celsius, lasting, asked.at - lasting);
  }
  const Duration late = batch.chilling->due ? asked.at - *batch.chilling->due : Duration::zero();
  const food::Verdict verdict =
      food::judge_recook(asked.state.record().rule_set(), readings, late, batch.recooked ? 1 : 0);
  if (verdict.outcome != food::Outcome::within)
    return Error{Errc::refused, verdict.sentence + " Throw it, or heat on."};
  ReadingTaken reading;
  reading.reading = asked.state.record().readings_made + 1;
  reading.batch = batch.id;
  reading.probe = action.probe;
  reading.celsius = action.celsius;
  reading.taken_ms = to_ms(asked.at);
  reading.by = asked.by;
  return Happenings{
      reading, BatchRecooked{batch.id, action.celsius, action.lasting_s, action.probe, verdict.sentence, asked.by}};
}

}  // namespace nappe::line
