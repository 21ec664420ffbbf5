// What probes say: cooling, holding, reheating, checks of the probes themselves, corrections.
#include <fmt/format.h>

#include <algorithm>

#include "common/food/judge.hpp"
#include "common/line/batches.hpp"

namespace nappe::line {
namespace {

constexpr double coldest_c = -60;
constexpr double hottest_c = 300;
constexpr int bad_in_a_row = 3;  // one high reading is a door
// Iced water within a degree of 0 C and boiling water within a degree of 100 C: how probes are checked in UK kitchens,
// read in training pages; boiling is colder high above the sea.
constexpr double iced_low = -1;
constexpr double iced_high = 1;
constexpr double boiling_low = 99;
constexpr double boiling_high = 101;

Status check_reading(const Asked& asked, const std::string& probe, double celsius) {
  if (Status fine = named(asked, "read the probe"); !fine) return fine;
  if (probe.empty()) return Error{Errc::invalid, "say which probe it was", "/probe"};
  if (celsius >= coldest_c && celsius <= hottest_c) return Done{};
  return Error{
      Errc::invalid,
      fmt::format("{:g} C is not a temperature of food: it must lie from {:g} to {:g}", celsius, coldest_c, hottest_c),
      "/celsius"};
}

// A probe that did not know ice or boiling water decides about no food until it has been checked again.
Status trusted(const Asked& asked, const std::string& probe) {
  const auto& probes = asked.state.record().probes;
  const auto known = probes.find(probe);
  if (known == probes.end() || !known->second.failed) return Done{};
  return Error{Errc::refused,
               fmt::format("probe {} failed its check at {}: read it with another, or check this one again", probe,
                           when_text(asked.state, *known->second.failed)),
               "/probe"};
}

constexpr double warmer_by = 5;  // more than stirring, or another spot of the tray, can make

constexpr double hottest_core_c = 105;  // water boils at 100, with much salt or sugar a little above

// While something is cooled its core does not get warmer: another probe, another batch, or a slip.
std::string odd_about(const Record& record, const Batch& batch, double celsius, Instant taken) {
  if (!batch.chilling || !batch.cooling()) return {};
  if (celsius > hottest_core_c) return fmt::format("{:g} C, hotter than boiling", celsius);
  const food::Curve curve = record.curve_of(batch.id);
  const auto before =
      std::find_if(curve.rbegin(), curve.rend(), [&](const food::Reading& reading) { return reading.at <= taken; });
  if (before == curve.rend() || before->at < batch.chilling->since || celsius <= before->celsius + warmer_by) return {};
  return fmt::format("{:g} C after {:g} C", celsius, before->celsius);
}

ReadingTaken reading_of(const Asked& asked, int number, const std::string& probe, double celsius, Instant taken) {
  ReadingTaken reading;
  reading.reading = number;
  reading.probe = probe;
  reading.celsius = celsius;
  reading.taken_ms = to_ms(taken);
  reading.entered_later = entered_later(taken, asked.now);
  reading.by = asked.by;
  return reading;
}

std::string rule_text(const food::Source& source) { return fmt::format("{} ({})", source.rule, source.text); }

OutsideSet outside_set(const Batch& batch, const food::OutsideClock& clock, std::string why) {
  OutsideSet set{batch.id, clock.spent.count(), clock.periods, {}, std::move(why)};
  if (clock.since) set.since_ms = to_ms(*clock.since);
  return set;
}

// The food itself was read: outside counts from the last good reading, for nobody knows when it left.
void add_clock(const Record& before, const Batch& batch, const ReadingTaken& reading, Happenings& out) {
  if (batch.keeping() == Keeping::shelf) return;
  const bool bad = outside_limits(before.rule_set(), batch.keeping(), reading.celsius);
  const Instant taken = from_ms(reading.taken_ms);
  if (bad && !batch.outside.since) {
    const Instant from = std::min(taken, std::max(batch.last_good.value_or(batch.made), batch.made));
    out.push_back(outside_set(batch, food::went_out(batch.outside, from),
                              fmt::format("{:g} C; counted from the last good reading", reading.celsius)));
  }
  if (!bad && batch.outside.since && taken > *batch.outside.since)
    out.push_back(outside_set(batch, food::came_back(batch.outside, taken), fmt::format("{:g} C", reading.celsius)));
}

std::string limit_of_place(const food::RuleSet& rules) {
  if (!rules.chill_holding || !rules.chill_holding->max_c) return "its limit";
  return fmt::format("the limit of {}", rule_text(rules.chill_holding->source));
}

// `after` is the record with the reading in it.
void add_place(const Asked& asked, const Record& after, const ReadingTaken& reading, Happenings& out) {
  const KeepingPlace& place = after.places.at(reading.place);
  std::vector<const Batch*> inside;
  std::string names;
  for (const auto& [id, batch] : after.batches) {
    if (!batch.there() || batch.kept_in != reading.place || batch.keeping() == Keeping::shelf || batch.cooling())
      continue;
    inside.push_back(&batch);
    names += (names.empty() ? "" : ", ") + id;
  }
  const Instant taken = from_ms(reading.taken_ms);
  if (!place.fault && place.high >= bad_in_a_row) {
    const Instant since = place.good.value_or(place.first_bad.value_or(taken));
    out.push_back(PlaceJudged{
        reading.place, true, to_ms(since),
        fmt::format("{}: {} readings in a row outside {}, {:g} C now; the clock runs from {}, {}. In it: {}",
                    reading.place, place.high, limit_of_place(after.rule_set()), reading.celsius,
                    when_text(asked.state, since), place.good ? "the last good reading" : "the first reading",
                    names.empty() ? "nothing" : names)});
    for (const Batch* batch : inside)
      if (!batch->outside.since)
        out.push_back(outside_set(*batch, food::went_out(batch->outside, std::max(since, batch->made)),
                                  reading.place + " is at fault"));
  }
  if (place.fault && place.high == 0) {
    out.push_back(PlaceJudged{reading.place, false, to_ms(taken),
                              fmt::format("{}: {:g} C again", reading.place, reading.celsius)});
    for (const Batch* batch : inside)
      if (batch->outside.since)
        out.push_back(outside_set(*batch, food::came_back(batch->outside, taken), reading.place + " is well again"));
  }
}

struct Stage {
  food::ChillState state = food::ChillState::waiting;
  ChillJudged judged;
};

int weight(food::ChillState state) {
  switch (state) {
    case food::ChillState::made:
      return 0;
    case food::ChillState::on_course:
      return 1;
    case food::ChillState::waiting:
      return 2;
    case food::ChillState::unsure:
      return 3;
    case food::ChillState::gap:
      return 4;
    case food::ChillState::will_miss:
      return 5;
    case food::ChillState::missed:
      return 6;
  }
  return 0;
}

// As watch_chill, with what it cannot be asked: air too warm for the target, food below it from the start, no time
// left.
food::ChillState state_of(const food::ChillRun& run, Instant now, ChillJudged& judged) {
  const Instant due = run.started + run.limit;
  if (run.start_c <= run.target_c) {
    judged.says = fmt::format("Reached {:g} C.", run.target_c);
    return food::ChillState::made;
  }
  food::ChillState state = food::ChillState::will_miss;
  if (run.surround_c >= run.target_c) {
    judged.says = fmt::format("Air of {:g} C cannot bring it to {:g} C: move it.", run.surround_c, run.target_c);
  } else if (run.limit > Duration::zero()) {
    const auto outlook = food::watch_chill(run);
    if (!outlook) {
      judged.says = outlook.error().detail;
      return food::ChillState::waiting;
    }
    state = outlook->state;
    judged.says = outlook->sentence;
    if (outlook->expected) judged.expected_ms = to_ms(*outlook->expected);
  } else {
    state = food::ChillState::missed;
    judged.says = fmt::format("Did not reach {:g} C in time.", run.target_c);
  }
  const bool open = state != food::ChillState::made && state != food::ChillState::missed;
  if (open && now >= due) {
    state = food::ChillState::gap;
    judged.says = fmt::format("No reading shows that it was at {:g} C in time: the gap stays a gap.", run.target_c);
  }
  return state;
}

}  // namespace

Status check_probe_reading(const Asked& asked, const std::string& probe, double celsius) {
  if (Status fine = check_reading(asked, probe, celsius); !fine) return fine;
  return trusted(asked, probe);
}

std::optional<ChillJudged> judge_chill(const Record& record, const Batch& batch, Instant now) {
  const food::RuleSet& rules = record.rule_set();
  if (!batch.chilling || !rules.cooling || rules.cooling->stages.empty()) return {};
  const Chilling& chilling = *batch.chilling;
  std::optional<Stage> worst;
  for (const food::CoolingStage& rule : rules.cooling->stages) {
    food::ChillRun run;
    run.started = chilling.since;
    run.start_c = chilling.since_c;
    run.surround_c = chilling.air_c;
    run.target_c = rule.to_c;
    const Instant due = chilling.begun + rule.within;
    run.limit = due - chilling.since;
    for (const food::Reading& reading : record.curve_of(batch.id))
      if (reading.at >= chilling.since) run.readings.push_back(reading);
    Stage stage;
    stage.judged.batch = batch.id;
    stage.judged.due_ms = to_ms(due);
    stage.state = state_of(run, now, stage.judged);
    stage.judged.verdict = food::word(stage.state);
    if (!worst || weight(stage.state) > weight(worst->state)) worst = stage;
  }
  worst->judged.says += fmt::format(" Limit of {}.", rule_text(rules.cooling->source));
  return worst->judged;
}

void add_chill(const Record& record, const Batch& batch, Instant now, Happenings& out) {
  const auto judged = judge_chill(record, batch, now);
  if (!judged || judged->verdict == batch.chilling->verdict) return;
  out.push_back(*judged);
  if (judged->verdict == food::word(food::ChillState::missed) && batch.blocked.empty())
    out.push_back(BatchBlocked{batch.id, "its cooling is outside the limit: " + judged->says});
}

Result<std::optional<Event>> adopt_rules(const State& state, const std::string& rule_set, const std::string& house,
                                         const std::string& digest, Instant now) {
  const auto& held = state.record().rules;
  if (held && held->digest == digest) return std::optional<Event>();
  const auto rules = rules_of(rule_set, house);
  if (!rules) return rules.error();
  RulesAdopted adopted{rules->id, rules->name, rules->edition, digest, rule_set, house};
  return std::optional<Event>(Event{now, std::move(adopted)});
}

Decision decide_on(const Asked& asked, const StartChill& action) {
  if (Status fine = check_probe_reading(asked, action.probe, action.celsius); !fine) return fine.error();
  const auto found = batch_of(asked.state, action.batch);
  if (!found) return found.error();
  const auto taken = instant_said(asked, action.taken_ms, "/taken_ms");
  if (!taken) return taken.error();
  if (*taken < (*found)->made)
    return Error{Errc::invalid,
                 fmt::format("{} was made at {}: it cannot have been cooled before", action.batch,
                             when_text(asked.state, (*found)->made)),
                 "/taken_ms"};
  if ((*found)->chilling && (*found)->cooling())
    return Error{Errc::conflict, fmt::format("{} is being cooled since {}", action.batch,
                                             when_text(asked.state, (*found)->chilling->begun))};
  Record after = asked.state.record();
  ReadingTaken reading = reading_of(asked, after.readings_made + 1, action.probe, action.celsius, *taken);
  reading.batch = action.batch;
  Happenings out{ChillBegun{action.batch, to_ms(*taken), action.celsius, action.air_c, asked.by}, reading};
  for (const Happening& happening : out) apply_record(after, happening, asked.now);
  add_chill(after, *after.find(action.batch), asked.now, out);
  return out;
}

Decision decide_on(const Asked& asked, const TakeReading& action) {
  if (Status fine = check_reading(asked, action.probe, action.celsius); !fine) return fine.error();
  if (action.batch.has_value() == action.place.has_value())
    return Error{Errc::invalid, "a reading is of a batch or of a place: name one of them"};
  const auto taken = instant_said(asked, action.taken_ms, "/taken_ms");
  if (!taken) return taken.error();
  Record after = asked.state.record();
  ReadingTaken reading = reading_of(asked, after.readings_made + 1, action.probe, action.celsius, *taken);
  if (action.place) {
    if (action.place->empty()) return Error{Errc::invalid, "say which place was read", "/place"};
    reading.place = *action.place;
    Happenings out{reading};
    apply_record(after, reading, asked.now);
    add_place(asked, after, reading, out);
    for (const auto& [id, batch] : after.batches)
      if (batch.kept_in == reading.place) add_cut(after, batch, asked.now, false, out);
    return out;
  }
  if (Status fine = trusted(asked, action.probe); !fine) return fine.error();
  const auto found = batch_of(asked.state, *action.batch);
  if (!found) return found.error();
  if (*taken < (*found)->made)
    return Error{Errc::invalid,
                 fmt::format("{} was made at {}: it cannot have been read before", *action.batch,
                             when_text(asked.state, (*found)->made)),
                 "/taken_ms"};
  reading.batch = *action.batch;
  if (std::string odd = odd_about(after, **found, action.celsius, *taken); !odd.empty()) {
    // A probe that reads by itself cannot be asked; what it said stays, with the remark.
    if (!action.sure && !asked.device)
      return Error{
          Errc::refused,
          fmt::format("{} while {} is being cooled: is that the right probe, the right batch? If it is, say it "
                      "again with --sure (\"sure\": true)",
                      odd, *action.batch),
          "/celsius"};
    reading.remark = odd + ", warmer while cooling" + (asked.device ? "" : "; said to be right");
  }
  Happenings out{reading};
  if (!(*found)->cooling()) add_clock(asked.state.record(), **found, reading, out);
  apply_record(after, reading, asked.now);
  add_chill(after, *after.find(*action.batch), asked.now, out);
  add_cut(after, *after.find(*action.batch), asked.now, false, out);
  return out;
}

Decision decide_on(const Asked& asked, const ReheatBatch& action) {
  if (Status fine = check_probe_reading(asked, action.probe, action.celsius); !fine) return fine.error();
  const auto found = usable_batch(asked.state, action.batch);
  if (!found) return found.error();
  const Batch& batch = **found;
  if (batch.reheated) {
    return Error{Errc::refused,
                 fmt::format("{} was reheated at {} by {}: once only, so throw what is left", action.batch,
                             when_text(asked.state, batch.reheated->at), batch.reheated->by)};
  }
  if (!batch.labelled) return Error{Errc::refused, fmt::format("{} has no label: no label, no use", action.batch)};
  if (batch.cooling()) return Error{Errc::refused, fmt::format("{} is still being cooled", action.batch)};
  if (action.lasting_s < 0) return Error{Errc::invalid, "it cannot have lasted less than no time", "/lasting_s"};
  food::Reheating done;
  done.readings = {{asked.at, action.celsius}};  // some rules ask for reaching it and no more
  if (action.lasting_s > 0) {
    const Duration lasting = seconds(action.lasting_s);
    done.readings = food::held_at(action.celsius, lasting, asked.at - lasting);
  }
  if (action.began_ms) done.began = from_ms(*action.began_ms);
  done.to_order_at_once = action.to_order;
  const food::Verdict verdict = food::judge_reheating(asked.state.record().rule_set(), done);
  if (verdict.outcome == food::Outcome::outside || verdict.outcome == food::Outcome::not_decided)
    return Error{Errc::refused, fmt::format("{} Go on heating and read again.", verdict.sentence)};
  ReadingTaken reading =
      reading_of(asked, asked.state.record().readings_made + 1, action.probe, action.celsius, asked.at);
  reading.batch = action.batch;
  Happenings out{
      reading, BatchReheated{action.batch, action.celsius, action.lasting_s, action.probe, verdict.sentence, asked.by}};
  const Instant tonight = end_of_day(asked.state, asked.at, 0);
  if (tonight < batch.use_by) out.push_back(UseBySet{action.batch, to_ms(tonight), "reheated: same day"});
  return out;
}

Decision decide_on(const Asked& asked, const CorrectReading& action) {
  if (Status fine = check_reading(asked, "any", action.celsius); !fine) return fine.error();
  const auto found = asked.state.record().readings.find(action.reading);
  if (found == asked.state.record().readings.end())
    return Error{Errc::unknown, fmt::format("there is no reading {} that can still be corrected", action.reading),
                 "/reading"};
  if (action.why.empty()) return Error{Errc::invalid, "say why the reading was wrong", "/why"};
  Happenings out{ReadingCorrected{action.reading, action.celsius, action.why, asked.by}};
  Record after = asked.state.record();
  apply_record(after, out.front(), asked.now);
  const Batch* batch = after.find(found->second.batch);
  if (batch != nullptr && batch->there()) add_chill(after, *batch, asked.now, out);
  return out;
}

Decision decide_on(const Asked& asked, const CheckProbe& action) {
  if (Status fine = check_reading(asked, action.probe, action.celsius); !fine) return fine.error();
  const bool iced = action.bath == Bath::iced;
  ProbeChecked check;
  check.probe = action.probe;
  check.bath = action.bath;
  check.celsius = action.celsius;
  check.by = asked.by;
  check.passed =
      action.celsius >= (iced ? iced_low : boiling_low) && action.celsius <= (iced ? iced_high : boiling_high);
  if (!check.passed) {
    const auto probe = asked.state.record().probes.find(action.probe);
    const bool known = probe != asked.state.record().probes.end() && probe->second.good.has_value();
    for (const auto& [number, read] : asked.state.record().readings)
      if (read.probe == action.probe && (!known || read.taken >= *probe->second.good)) check.doubtful.push_back(number);
  }
  return Happenings{check};
}

}  // namespace nappe::line
