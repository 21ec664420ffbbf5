#include "common/mise/batch_record.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "common/food/judge.hpp"
#include "common/line/record.hpp"

namespace nappe::mise {
namespace {

using namespace nappe::line;

std::string when(Instant at, Duration offset) {
  const std::string text = to_rfc3339(at + offset);
  return text.substr(0, 10) + " " + text.substr(11, 5);
}

std::string joined(const std::vector<std::string>& words) { return fmt::format("{}", fmt::join(words, ", ")); }

std::string lots_text(const std::vector<Lot>& lots, Duration offset) {
  std::vector<std::string> out;
  for (const Lot& lot : lots)
    out.push_back(lot.until_ms ? fmt::format("{} (until {})", lot.what, when(from_ms(*lot.until_ms), offset))
                               : lot.what);
  return joined(out);
}

std::string amount_text(const std::optional<int>& portions, const std::optional<int>& grams) {
  std::vector<std::string> out;
  if (portions) out.push_back(fmt::format("{} portions", *portions));
  if (grams) out.push_back(fmt::format("{} g", *grams));
  return out.empty() ? "not counted" : joined(out);
}

std::string_view bath_text(Bath bath) { return bath == Bath::iced ? "iced water" : "boiling water"; }

struct Check {
  Instant at{};
  ProbeChecked what;
};

// The checks of each probe in order.
std::map<std::string, std::vector<Check>> checks_of(const std::vector<Recorded>& events) {
  std::map<std::string, std::vector<Check>> checks;
  for (const Recorded& one : events)
    if (const auto* check = std::get_if<ProbeChecked>(&one.event.what))
      checks[check->probe].push_back({one.event.at, *check});
  return checks;
}

void add_check(const std::vector<Check>& checks, ReadingLine& reading) {
  const Check* before = nullptr;
  const Check* after = nullptr;
  for (const Check& check : checks) {
    if (check.at <= reading.taken) before = &check;
    if (check.at > reading.taken && after == nullptr) after = &check;
  }
  reading.probe_check = "never checked before";
  if (before != nullptr)
    reading.probe_check =
        fmt::format("{} {:.1f} C at {}Z by {}: {}", bath_text(before->what.bath), before->what.celsius,
                    when(before->at, {}), before->what.by, before->what.passed ? "passed" : "failed");
  const bool failed_before = before != nullptr && !before->what.passed;
  const bool failed_after = after != nullptr && !after->what.passed;
  reading.doubtful = failed_before || failed_after;
}

// The batches it is a share of, itself first.
std::vector<std::string> shares_of(const Record& record, const std::string& id) {
  std::vector<std::string> out{id};
  if (const Batch* batch = record.find(id)) out.insert(out.end(), batch->was.rbegin(), batch->was.rend());
  return out;
}

class Words {
 public:
  Words(const std::set<std::string>& ids, Duration offset) : ids_(ids), offset_(offset) {}

  // What an event says about these batches; nothing if it is about others or shown elsewhere on the page.
  std::string operator()(const BatchMade& e) const {
    if (!about(e.batch)) return {};
    return fmt::format("{} by {}{}: {}", e.mixed ? "mixed" : "made", e.by, e.entered_later ? " (entered later)" : "",
                       amount_text(e.portions, e.grams));
  }
  std::string operator()(const BatchSplit& e) const {
    std::vector<std::string> into;
    bool mine = about(e.batch);
    for (const BatchShare& share : e.into) {
      into.push_back(share.batch);
      mine = mine || about(share.batch);
    }
    return mine ? fmt::format("{} split into {} by {}", e.batch, joined(into), e.by) : std::string();
  }
  std::string operator()(const BatchMoved& e) const { return say(e.batch, "moved to " + e.kept_in, e.by); }
  std::string operator()(const BatchOpened& e) const { return say(e.batch, "opened", e.by); }
  std::string operator()(const UseBySet& e) const {
    return say(e.batch, fmt::format("use by {} ({})", when(from_ms(e.use_by_ms), offset_), e.ends));
  }
  std::string operator()(const BatchLabelled& e) const {
    return say(e.batch, e.on ? "label put on" : "label came off", e.by);
  }
  std::string operator()(const BatchCounted& e) const {
    return say(e.batch,
               fmt::format("counted: {}; the record had {}", amount_text(e.portions, e.grams),
                           amount_text(e.portions_before, e.grams_before)),
               e.by);
  }
  std::string operator()(const ChillBegun& e) const {
    return say(e.batch,
               fmt::format("into the chiller at {}, {:.1f} C, air {:.1f} C", when(from_ms(e.begun_ms), offset_),
                           e.celsius, e.air_c),
               e.by);
  }
  std::string operator()(const ChillJudged& e) const { return say(e.batch, e.verdict + ": " + e.says); }
  std::string operator()(const OutsideSet& e) const {
    if (e.since_ms)
      return say(e.batch, fmt::format("outside its limits since {}: {}", when(from_ms(*e.since_ms), offset_), e.why));
    return say(e.batch, fmt::format("within its limits again ({}), {} outside so far", e.why,
                                    food::limit_text(Duration(e.spent_ms))));
  }
  std::string operator()(const BatchBlocked& e) const { return say(e.batch, "blocked: " + e.why); }
  std::string operator()(const BatchReheated& e) const {
    return say(e.batch,
               fmt::format("reheated, {:.1f} C for {} s, probe {}: {}", e.celsius, e.lasting_s, e.probe, e.says), e.by);
  }
  std::string operator()(const BatchRecooked& e) const {
    return say(e.batch,
               fmt::format("cooked again, {:.1f} C for {} s, probe {}: {}", e.celsius, e.lasting_s, e.probe, e.says),
               e.by);
  }
  std::string operator()(const CutJudged& e) const {
    return say(e.batch, fmt::format("after the power cut: {}. {}", e.verdict, e.says));
  }
  std::string operator()(const BatchThrown& e) const {
    const bool all = !e.portions && !e.grams;
    return say(e.batch, fmt::format("thrown, {}: {}", all ? "all of it" : amount_text(e.portions, e.grams), e.reason),
               e.by);
  }
  std::string operator()(const BatchKept& e) const {
    return say(e.batch, e.fate == Fate::keep ? "close-down: keep" : "close-down: cool", e.by);
  }
  std::string operator()(const BatchNoted& e) const { return say(e.batch, "note: " + e.note, e.by); }
  std::string operator()(const BatchEnded& e) const { return say(e.batch, e.why, e.by); }
  std::string operator()(const BatchPast& e) const { return say(e.batch, "past its use-by: " + e.why); }
  template <class Other>
  std::string operator()(const Other&) const {
    return {};
  }

 private:
  [[nodiscard]] bool about(const std::string& id) const { return ids_.count(id) != 0; }
  [[nodiscard]] std::string say(const std::string& id, const std::string& what, const std::string& by = {}) const {
    if (!about(id)) return {};
    return fmt::format("{}: {}{}{}", id, what, by.empty() ? "" : ", ", by);
  }

  const std::set<std::string>& ids_;
  Duration offset_;
};

// The record as it stood after the last event; what touched the batch last, and the rules then.
struct Folded {
  Record record;
  std::size_t first = 0;  ///< Of the last batch of that name.
  std::shared_ptr<const Rules> rules;
  std::string rules_text;
};

std::string rules_text(const RulesAdopted& rules) { return fmt::format("{}, {}", rules.name, rules.edition); }

std::optional<Folded> fold(const std::vector<Recorded>& events, const std::string& id) {
  Folded out;
  bool found = false;
  std::string in_force;
  for (std::size_t i = 0; i < events.size(); ++i) {
    const Happening& what = events[i].event.what;
    apply_record(out.record, what, events[i].event.at);
    if (const auto* rules = std::get_if<RulesAdopted>(&what)) in_force = rules_text(*rules);
    const auto* made = std::get_if<BatchMade>(&what);
    const auto* split = std::get_if<BatchSplit>(&what);
    const bool born = (made != nullptr && made->batch == id) ||
                      (split != nullptr && std::any_of(split->into.begin(), split->into.end(),
                                                       [&](const BatchShare& share) { return share.batch == id; }));
    if (born) {
      found = true;
      out.first = i;
    }
    // The rules that held while something was there of it.
    const Batch* batch = out.record.find(id);
    if (born || (batch != nullptr && batch->there())) {
      out.rules = out.record.rules;
      out.rules_text = in_force;
    }
  }
  if (!found) return {};
  return out;
}

void add_facts(const Batch& batch, Duration offset, BatchPage& page) {
  const auto add = [&](const char* what, std::string is) {
    if (!is.empty()) page.facts.emplace_back(what, std::move(is));
  };
  add("what", batch.name);
  add("made", fmt::format("{} by {}", when(batch.made, offset), batch.by));
  add("from lots", lots_text(batch.lots, offset));
  add("from batches", joined(batch.made_from));
  add("left", amount_text(batch.portions, batch.grams));
  std::string kept = batch.kept_in;
  if (batch.kept_c) kept += fmt::format("{}at {:g} C", kept.empty() ? "" : ", ", *batch.kept_c);
  add("kept", kept);
  add("allergens", batch.allergens.empty() ? "none declared" : joined(batch.allergens));
  add("made free from", joined(batch.free_from));
  add("use by", fmt::format("{} ({})", when(batch.use_by, offset), batch.ends));
  std::string state = batch.unfit();
  add("state", state.empty() ? "fit to be used by this kitchen's rules" : state);
}

void add_verdicts(const Folded& folded, const Batch& batch, Instant now, BatchPage& page) {
  const food::RuleSet none;
  const food::RuleSet& rules = folded.rules ? folded.rules->in_force : none;
  if (batch.chilling) {
    food::CoolingRecord cooling{batch.chilling->begun, {}};
    for (const food::Reading& reading : folded.record.curve_of(batch.id))
      if (reading.at >= cooling.started) cooling.readings.push_back(reading);
    page.verdicts.push_back("Cooling. " + food::judge_cooling(rules, cooling, now).sentence);
  }
  if (batch.keeping() != Keeping::shelf) {
    const auto side = batch.keeping() == Keeping::hot ? food::Side::hot : food::Side::chill;
    page.verdicts.push_back("Holding. " + food::judge_time_outside(rules, side, batch.outside, now).sentence);
  }
}

}  // namespace

std::vector<ReadingLine> reading_lines(const std::vector<Recorded>& events) {
  const auto checks = checks_of(events);
  std::map<int, ReadingLine> lines;
  for (const Recorded& one : events) {
    if (const auto* taken = std::get_if<ReadingTaken>(&one.event.what)) {
      ReadingLine line;
      line.number = taken->reading;
      line.taken = from_ms(taken->taken_ms);
      line.entered = one.event.at;
      line.entered_later = taken->entered_later;
      line.batch = taken->batch;
      line.place = taken->place;
      line.celsius = taken->celsius;
      line.probe = taken->probe;
      line.by = taken->by;
      line.remark = taken->remark.value_or("");
      const auto known = checks.find(taken->probe);
      add_check(known == checks.end() ? std::vector<Check>() : known->second, line);
      lines[taken->reading] = line;
    }
    if (const auto* corrected = std::get_if<ReadingCorrected>(&one.event.what)) {
      ReadingLine& line = lines[corrected->reading];
      line.corrected_c = corrected->celsius;
      line.corrected = fmt::format("{}, {}", corrected->why, corrected->by);
    }
  }
  std::vector<ReadingLine> out;
  for (auto& [number, line] : lines) out.push_back(std::move(line));
  return out;
}

std::vector<PlateLine> plate_lines(const std::vector<Recorded>& events) {
  std::vector<PlateLine> out;
  for (const Recorded& one : events) {
    if (const auto* drawn = std::get_if<BatchDrawn>(&one.event.what)) {
      out.push_back({one.event.at,
                     drawn->table,
                     drawn->plate.course,
                     drawn->plate.position,
                     drawn->dish,
                     drawn->component,
                     drawn->batch,
                     {}});
    } else if (const auto* gap = std::get_if<DrawnUntraced>(&one.event.what)) {
      out.push_back(
          {one.event.at, gap->table, gap->plate.course, gap->plate.position, gap->dish, gap->component, {}, gap->why});
    } else if (const auto* back = std::get_if<BatchReturned>(&one.event.what)) {
      // The press was taken back: the last such portion never went on the plate.
      const auto found = std::find_if(out.rbegin(), out.rend(), [&](const PlateLine& line) {
        return line.batch == back->batch && line.course == back->plate.course &&
               line.position == back->plate.position && line.component == back->component;
      });
      if (found != out.rend()) out.erase(std::next(found).base());
    }
  }
  return out;
}

Result<BatchPage> batch_page(const std::vector<Recorded>& events, const std::string& id, Duration utc_offset,
                             Instant now) {
  const auto folded = fold(events, id);
  if (!folded) return Error{Errc::unknown, fmt::format("the record has no batch \"{}\"", id)};
  BatchPage page;
  page.id = id;
  page.utc_offset = utc_offset;
  page.rules = folded->rules_text.empty() ? "none was adopted" : folded->rules_text;
  const Batch& batch = *folded->record.find(id);
  add_facts(batch, utc_offset, page);
  add_verdicts(*folded, batch, now, page);
  const std::vector<std::string> shares = shares_of(folded->record, id);
  const std::set<std::string> ids(shares.begin(), shares.end());
  for (ReadingLine& line : reading_lines(events))
    if (ids.count(line.batch) != 0 && line.taken >= batch.made) page.readings.push_back(std::move(line));
  for (PlateLine& line : plate_lines(events))
    if (line.batch == id && line.at >= batch.made) page.plates.push_back(std::move(line));
  for (const Recorded& one : events) {
    if (one.event.at < batch.made) continue;
    std::string says = std::visit(Words(ids, utc_offset), one.event.what);
    if (!says.empty()) page.log.push_back({one.number, one.event.at, std::move(says)});
  }
  return page;
}

std::string plates_text(const std::vector<Recorded>& events, const std::string& table, const std::string& course,
                        int position, Duration utc_offset) {
  std::string out;
  for (const PlateLine& line : plate_lines(events)) {
    if (line.table != table || (!course.empty() && line.course != course)) continue;
    if (position != 0 && line.position != position) continue;
    out += fmt::format("{}  table {} {} position {}, {}: {} ", when(line.at, utc_offset), line.table, line.course,
                       line.position, line.dish, line.component);
    out +=
        line.batch.empty() ? fmt::format("from no batch known ({})\n", line.why) : fmt::format("from {}\n", line.batch);
  }
  return out;
}

}  // namespace nappe::mise
