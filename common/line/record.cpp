#include "common/line/record.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <stdexcept>
#include <tuple>
#include <type_traits>

#include "common/food/power_cut.hpp"

namespace nappe::line {
namespace {

constexpr double frozen_below = -10;
constexpr double cold_below = 15;
constexpr Duration readings_kept = minutes(7 * 24 * 60);

[[noreturn]] void does_not_fit(const std::string& what) {
  throw std::logic_error("event does not fit the record: " + what);
}

std::optional<Instant> instant_of(const std::optional<std::int64_t>& ms) {
  if (!ms) return {};
  return from_ms(*ms);
}

Batch batch_of(const BatchMade& e) {
  Batch batch;
  batch.id = e.batch;
  batch.kind = e.kind;
  batch.name = e.named;
  batch.station = e.station;
  batch.by = e.by;
  batch.made = from_ms(e.made_ms);
  batch.lots = e.lots;
  batch.made_from = e.made_from;
  batch.grams = e.grams;
  batch.portions = e.portions;
  batch.kept_in = e.kept_in;
  batch.kept_c = e.kept_c;
  batch.allergens = e.allergens;
  batch.free_from = e.free_from;
  batch.use_by = from_ms(e.use_by_ms);
  batch.ends = e.ends;
  if (e.life_ms) batch.life = Duration(*e.life_ms);
  if (e.takes_ms) batch.takes = Duration(*e.takes_ms);
  batch.labelled = e.labelled;
  batch.outside = {Duration(e.spent_ms), e.periods, instant_of(e.outside_ms)};
  if (e.reheated_ms) batch.reheated = Reheated{from_ms(*e.reheated_ms), e.reheated_by.value_or(e.by)};
  return batch;
}

// Sets what is left; a batch of which nothing is left has ended, and one of which something comes back has not.
void leave(Batch& batch, std::optional<int> portions, std::optional<int> grams) {
  batch.portions = portions;
  batch.grams = grams;
  const bool none = portions ? *portions <= 0 : grams && *grams <= 0;
  if (none && batch.ended.empty()) batch.ended = "used up";
  if (!none && batch.ended == "used up") batch.ended.clear();
}

std::optional<int> less(const std::optional<int>& have, const std::optional<int>& by) {
  if (!have || !by) return have;
  return std::max(0, *have - *by);
}

// Whether the text is all digits, so many of them or more.
bool is_number(std::string_view text) {
  return !text.empty() && std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
}

// "swede_puree-20261120-2": the name of that day and number. Nothing of names given otherwise, as journals once did.
std::optional<NameGiven> name_given(const std::string& kind, const std::string& id) {
  constexpr std::size_t day_digits = 8;
  if (!id.starts_with(kind + "-")) return {};
  const std::string_view rest = std::string_view(id).substr(kind.size() + 1);
  const auto dash = rest.find('-');
  const std::string_view day = rest.substr(0, dash);
  if (day.size() != day_digits || !is_number(day)) return {};
  NameGiven given;
  std::from_chars(day.data(), day.data() + day.size(), given.day);
  if (dash == std::string_view::npos) return given;
  const std::string_view count = rest.substr(dash + 1);
  if (!is_number(count) || count.size() > day_digits) return {};
  std::from_chars(count.data(), count.data() + count.size(), given.number);
  return given;
}

class RecordApplier {
 public:
  RecordApplier(Record& record, Instant at) : r_(record), at_(at) {}

  void operator()(const RulesAdopted& e) {
    auto rules = rules_of(e.rule_set, e.house);
    if (!rules) does_not_fit("rules " + e.id + ": " + rules.error().detail);
    r_.rules = std::make_shared<const Rules>(Rules{e.digest, std::move(rules).value()});
  }
  void operator()(const BatchMade& e) {
    r_.batches[e.batch] = batch_of(e);
    r_.batches_made += 1;
    const auto given = name_given(e.kind, e.batch);
    if (!given) return;
    NameGiven& last = r_.names[e.kind];
    if (std::tie(given->day, given->number) > std::tie(last.day, last.number)) last = *given;
  }
  void operator()(const BatchSplit& e) {
    const Batch parent = batch(e.batch);
    for (const BatchShare& share : e.into) {
      Batch child = parent;
      child.id = share.batch;
      child.made_from = {parent.id};
      child.portions = share.portions;
      child.grams = share.grams;
      child.kept_in = e.kept_in;
      child.labelled = false;
      child.drawn.clear();
      child.was.push_back(parent.id);
      if (child.chilling) {  // thinner now: what was read before says nothing of how it cools from here
        const food::Curve curve = r_.curve_of(parent.id);
        child.chilling->since = at_;
        child.chilling->since_c = curve.empty() ? parent.chilling->from_c : curve.back().celsius;
        child.chilling->verdict.clear();
        child.chilling->says.clear();
      }
      r_.batches[child.id] = child;
    }
    batch(e.batch).ended = "split";
  }
  void operator()(const BatchMoved& e) {
    Batch& b = batch(e.batch);
    b.kept_in = e.kept_in;
    if (e.kept_c) b.kept_c = e.kept_c;
  }
  void operator()(const BatchOpened& e) { batch(e.batch).opened = true; }
  void operator()(const UseBySet& e) {
    Batch& b = batch(e.batch);
    b.use_by = from_ms(e.use_by_ms);
    b.ends = e.ends;
    b.past = false;
  }
  void operator()(const BatchLabelled& e) { batch(e.batch).labelled = e.on; }
  void operator()(const BatchCounted& e) {
    Batch& b = batch(e.batch);
    leave(b, e.portions ? e.portions : b.portions, e.grams ? e.grams : b.grams);
  }
  void operator()(const ReadingTaken& e) {
    Read read{e.reading, e.batch, e.place, e.probe, e.celsius, {}, from_ms(e.taken_ms), e.entered_later, e.by};
    r_.readings[e.reading] = read;
    r_.readings_made = std::max(r_.readings_made, e.reading);
    note_reading(read);
  }
  void operator()(const ReadingCorrected& e) {
    const auto found = r_.readings.find(e.reading);
    if (found == r_.readings.end()) does_not_fit("no such reading");
    found->second.corrected_c = e.celsius;
  }
  void operator()(const ChillBegun& e) {
    const Instant begun = from_ms(e.begun_ms);
    batch(e.batch).chilling = Chilling{begun, e.celsius, begun, e.celsius, e.air_c, {}, {}, {}};
  }
  void operator()(const ChillJudged& e) {
    Batch& b = batch(e.batch);
    if (!b.chilling) does_not_fit("a cooling is judged that nobody began");
    b.chilling->verdict = e.verdict;
    b.chilling->says = e.says;
    b.chilling->due = from_ms(e.due_ms);
  }
  void operator()(const OutsideSet& e) {
    batch(e.batch).outside = {Duration(e.spent_ms), e.periods, instant_of(e.since_ms)};
  }
  void operator()(const BatchBlocked& e) { batch(e.batch).blocked = e.why; }
  void operator()(const BatchReheated& e) {
    Batch& b = batch(e.batch);
    b.reheated = Reheated{at_, e.by};
    b.chilling.reset();
  }
  void operator()(const BatchRecooked& e) {
    Batch& b = batch(e.batch);
    b.recooked = true;
    b.chilling.reset();
    if (b.cut_verdict != food::word(food::CutState::expired)) b.blocked.clear();
  }
  void operator()(const PowerCut& e) {
    r_.cut = Cut{from_ms(e.since_ms), {}};
    for (auto& [id, b] : r_.batches) {
      b.cut_verdict.clear();
      b.cut_says.clear();
    }
  }
  void operator()(const PowerBack& e) {
    if (!r_.cut) does_not_fit("the power is back that never went");
    r_.cut->back = from_ms(e.back_ms);
  }
  void operator()(const CutJudged& e) {
    Batch& b = batch(e.batch);
    b.cut_verdict = e.verdict;
    b.cut_says = e.says;
  }
  void operator()(const BatchThrown& e) {
    Batch& b = batch(e.batch);
    if (!e.portions && !e.grams) {
      b.ended = "thrown";
      return;
    }
    leave(b, less(b.portions, e.portions), less(b.grams, e.grams));
    if (!b.ended.empty()) b.ended = "thrown";
  }
  void operator()(const BatchKept& e) {
    Batch& b = batch(e.batch);
    b.fate = e.fate;
    b.fate_by = e.by;
  }
  void operator()(const BatchNoted&) {}
  void operator()(const BatchDrawn& e) {
    Batch& b = batch(e.batch);
    b.drawn.push_back({e.plate, e.component});
    leave(b, less(b.portions, 1), b.grams);
  }
  void operator()(const BatchReturned& e) {
    Batch& b = batch(e.batch);
    const auto found = std::find(b.drawn.begin(), b.drawn.end(), Drawn{e.plate, e.component});
    if (found == b.drawn.end()) does_not_fit("a portion comes back that was not drawn");
    b.drawn.erase(found);
    if (b.portions) leave(b, *b.portions + 1, b.grams);
  }
  void operator()(const DrawnUntraced&) {}
  void operator()(const BatchEnded& e) { batch(e.batch).ended = e.why; }
  void operator()(const BatchPast& e) { batch(e.batch).past = true; }
  void operator()(const PlaceJudged& e) { r_.places[e.place].fault = e.fault; }
  void operator()(const ProbeChecked& e) {
    Probe& probe = r_.probes[e.probe];
    if (e.passed) {
      probe.good = at_;
      probe.failed.reset();
    } else {
      probe.failed = at_;
    }
  }
  void operator()(const HandoverWritten& e) {
    r_.handovers[e.handover] = Handover{e.handover, e.note, e.different, e.by, at_};
    r_.handovers_made = std::max(r_.handovers_made, e.handover);
  }
  void operator()(const HandoverAnswered& e) {
    if (r_.handovers.erase(e.handover) == 0) does_not_fit("no such handover");
  }
  template <class Other>
  void operator()(const Other&) {}

 private:
  Batch& batch(const std::string& id) {
    const auto found = r_.batches.find(id);
    if (found == r_.batches.end()) does_not_fit("no batch \"" + id + "\"");
    return found->second;
  }

  // Remembers when a batch and a place were last read within the limits.
  void note_reading(const Read& read) {
    if (!read.place.empty()) {
      KeepingPlace& place = r_.places[read.place];
      const bool bad = high_in_place(read.place, read.celsius);
      place.high = bad ? place.high + 1 : 0;
      if (!bad) place.good = std::max(place.good.value_or(read.taken), read.taken);
      if (bad && place.high == 1) place.first_bad = read.taken;
      for (auto& [id, batch] : r_.batches)
        if (batch.there() && batch.kept_in == read.place) note_good(batch, read);
      return;
    }
    const auto found = r_.batches.find(read.batch);
    if (found != r_.batches.end()) note_good(found->second, read);
  }

  void note_good(Batch& batch, const Read& read) const {
    if (outside_limits(r_.rule_set(), batch.keeping(), read.celsius)) return;
    batch.last_good = std::max(batch.last_good.value_or(read.taken), read.taken);
  }

  // A place is as strict as the strictest way anything in it is kept; an empty one is taken for a fridge.
  [[nodiscard]] bool high_in_place(const std::string& place, double celsius) const {
    bool any = false;
    bool high = false;
    for (const auto& [id, batch] : r_.batches) {
      if (!batch.there() || batch.kept_in != place || batch.keeping() == Keeping::shelf) continue;
      any = true;
      high = high || outside_limits(r_.rule_set(), batch.keeping(), celsius);
    }
    return any ? high : outside_limits(r_.rule_set(), Keeping::cold, celsius);
  }

  Record& r_;
  Instant at_;
};

}  // namespace

Keeping keeping_at(const std::optional<double>& celsius) {
  if (!celsius) return Keeping::shelf;
  if (*celsius <= frozen_below) return Keeping::frozen;
  return *celsius < cold_below ? Keeping::cold : Keeping::hot;
}

bool outside_limits(const food::RuleSet& rules, Keeping keeping, double celsius) {
  switch (keeping) {
    case Keeping::shelf:
      return false;
    case Keeping::frozen:
    case Keeping::cold:
      return rules.chill_holding && rules.chill_holding->max_c && celsius > *rules.chill_holding->max_c;
    case Keeping::hot: {
      if (!rules.hot_holding || !rules.hot_holding->min_c) return false;
      const double limit = *rules.hot_holding->min_c;
      return rules.hot_holding->above ? celsius <= limit : celsius < limit;
    }
  }
  return false;
}

std::string Batch::unfit() const {
  if (!ended.empty()) return ended;
  if (!blocked.empty()) return blocked;
  if (past) return "past its use-by (" + ends + ")";
  if (!labelled) return "it has no label";
  if (cooling()) return "it is still being cooled";
  return {};
}

bool Batch::cooling() const { return chilling && chilling->verdict != food::word(food::ChillState::made); }

const Batch* Record::find(std::string_view id) const {
  const auto found = batches.find(std::string(id));
  return found == batches.end() ? nullptr : &found->second;
}

const food::RuleSet& Record::rule_set() const {
  static const food::RuleSet none;
  return rules ? rules->in_force : none;
}

food::Curve Record::curve_of(const std::string& batch) const {
  std::map<Instant, double> by_time;  // readings count up, so that the later entry wins
  const Batch* own = find(batch);
  const auto is_of = [&](const std::string& id) {
    if (id == batch) return true;
    return own != nullptr && std::find(own->was.begin(), own->was.end(), id) != own->was.end();
  };
  for (const auto& [number, read] : readings)
    if (!read.batch.empty() && is_of(read.batch)) by_time[read.taken] = read.counts();
  food::Curve curve;
  for (const auto& [at, celsius] : by_time) curve.push_back({at, celsius});
  return curve;
}

Result<food::RuleSet> rules_of(const std::string& rule_set, const std::string& house) {
  auto named = food::parse_rule_set(rule_set);
  if (!named || house.empty()) return named;
  const auto own = food::parse_rule_set(house);
  if (!own) return own.error();
  return food::with_house(*named, *own);
}

void apply_record(Record& record, const Happening& happening, Instant at) {
  std::visit(RecordApplier(record, at), happening);
}

Record carried_over(const Record& record, Instant at) {
  Record out = record;
  std::erase_if(out.batches, [](const auto& entry) { return !entry.second.there(); });
  for (auto& [id, batch] : out.batches) {
    batch.drawn.clear();
    batch.fate.reset();
    batch.fate_by.clear();
  }
  std::erase_if(out.readings, [&](const auto& entry) {
    const Read& read = entry.second;
    const bool wanted = std::any_of(out.batches.begin(), out.batches.end(), [&](const auto& held) {
      const auto& was = held.second.was;
      return held.first == read.batch || std::find(was.begin(), was.end(), read.batch) != was.end();
    });
    const auto probe = out.probes.find(read.probe);
    const bool trusted = probe != out.probes.end() && probe->second.good && *probe->second.good > read.taken;
    return !wanted && trusted && read.taken + readings_kept < at;
  });
  return out;
}

std::vector<std::string> in_lines(const Record& record) {
  std::vector<std::string> lines;
  if (record.rules) lines.push_back("rules " + record.rules->digest);
  const auto ms = [](const std::optional<Instant>& at) { return at ? to_ms(*at) : -1; };
  for (const auto& [id, b] : record.batches) {
    lines.push_back(fmt::format("batch {} {} {} {} {} {} {} {} {} {} {} {} {} {}", id, b.kind, b.portions.value_or(-1),
                                b.grams.value_or(-1), b.kept_in, b.kept_c.value_or(-273), to_ms(b.use_by), b.labelled,
                                b.opened, b.past, b.blocked, b.ended, b.fate ? static_cast<int>(*b.fate) : -1,
                                ms(b.last_good)));
    lines.push_back(fmt::format("outside {} {} {}", b.outside.spent.count(), b.outside.periods, ms(b.outside.since)));
    if (b.chilling) lines.push_back(fmt::format("chill {} {}", to_ms(b.chilling->begun), b.chilling->verdict));
    if (b.reheated) lines.push_back(fmt::format("reheated {} {}", to_ms(b.reheated->at), b.reheated->by));
    if (b.recooked || !b.cut_verdict.empty())
      lines.push_back(fmt::format("recooked {} cut {}", b.recooked, b.cut_verdict));
    for (const Drawn& drawn : b.drawn)
      lines.push_back(fmt::format("drawn {} {} {} {}", number(drawn.plate.ticket), drawn.plate.course,
                                  drawn.plate.position, drawn.component));
  }
  for (const auto& [number, read] : record.readings)
    lines.push_back(
        fmt::format("reading {} {} {} {} {}", number, read.batch, read.place, read.counts(), to_ms(read.taken)));
  for (const auto& [id, probe] : record.probes)
    lines.push_back(fmt::format("probe {} {} {}", id, ms(probe.good), ms(probe.failed)));
  for (const auto& [id, place] : record.places)
    lines.push_back(fmt::format("place {} {} {} {}", id, place.high, place.fault, ms(place.good)));
  for (const auto& [number, handover] : record.handovers) lines.push_back(fmt::format("handover {}", number));
  for (const auto& [kind, last] : record.names)
    lines.push_back(fmt::format("named {} {} {}", kind, last.day, last.number));
  if (record.cut) lines.push_back(fmt::format("cut {} {}", to_ms(record.cut->since), ms(record.cut->back)));
  lines.push_back(fmt::format("made {} {} {}", record.readings_made, record.handovers_made, record.batches_made));
  return lines;
}

}  // namespace nappe::line
