// What is done to batches: made, split, mixed, moved, opened, labelled, counted, thrown, noted.
#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "common/food/use_by.hpp"
#include "common/kitchen/allergen.hpp"
#include "common/line/batches.hpp"
#include "common/words.hpp"

namespace nappe::line {
namespace {

constexpr Duration later_than = minutes(1);        // longer after it happened, an entry says so
constexpr Duration short_life_max = minutes(240);  // what lives no longer is made again in service
constexpr Duration takes_otherwise = minutes(15);  // to make it again, when nobody said
constexpr int split_max = 20;
// What no kitchen of this size makes, keeps or counts: beyond it a finger slipped.
constexpr int grams_max = 1'000'000;
constexpr int portions_max = 10'000;
constexpr int days_max = 1000;
constexpr int minutes_max = days_max * 24 * 60;

bool is_id(const std::string& text) {
  return !text.empty() && std::all_of(text.begin(), text.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
  });
}

std::string spoken_kind(std::string kind) {
  std::replace(kind.begin(), kind.end(), '_', ' ');
  return kind;
}

// "swede_puree-20261120", the second of that day "swede_puree-20261120-2". No name is ever given twice in this house:
// of a day before the last one of its kind nobody remembers the names, so that the house's count of batches stands
// there.
std::string new_id(const State& state, const std::string& kind, Instant made) {
  const auto day = std::chrono::floor<std::chrono::days>(made + utc_offset(state));
  const std::chrono::year_month_day date(day);
  const int number = static_cast<int>(date.year()) * 10000 +
                     static_cast<int>(static_cast<unsigned>(date.month())) * 100 +
                     static_cast<int>(static_cast<unsigned>(date.day()));
  const Record& record = state.record();
  const std::string first = fmt::format("{}-{}", kind, number);
  const auto last = record.names.find(kind);
  if (last != record.names.end() && number < last->second.day)
    return fmt::format("{}-x{}", first, record.batches_made + 1);
  int n = last == record.names.end() || number > last->second.day ? 1 : last->second.number + 1;
  std::string id = n == 1 ? first : fmt::format("{}-{}", first, n);
  while (record.find(id) != nullptr) id = fmt::format("{}-{}", first, ++n);
  return id;
}

Status check_between(const std::optional<int>& amount, int low, int high, const char* what) {
  if (!amount || (*amount >= low && *amount <= high)) return Done{};
  return Error{Errc::invalid,
               fmt::format("{} is {}: give a whole number from {} to {}, or leave it out", what, *amount, low, high),
               fmt::format("/{}", what)};
}

Status check_amounts(const std::optional<int>& portions, const std::optional<int>& grams, int low) {
  if (Status fine = check_between(portions, low, portions_max, "portions"); !fine) return fine;
  return check_between(grams, low, grams_max, "grams");
}

Status check_kept_c(const std::optional<double>& celsius) {
  constexpr double coldest = -60;
  constexpr double hottest = 120;
  if (!celsius || (*celsius >= coldest && *celsius <= hottest)) return Done{};
  return Error{Errc::invalid,
               fmt::format("nothing is kept at {:g} C: it must lie from {:g} to {:g}", *celsius, coldest, hottest),
               "/kept_c"};
}

Status check_allergens(const std::vector<std::string>& names, const char* where) {
  for (const std::string& name : names) {
    if (kitchen::find_allergen(name) != nullptr) continue;
    const auto near = kitchen::nearest_allergen(name);
    return Error{Errc::unknown,
                 fmt::format("there is no allergen \"{}\"{}", name,
                             near ? fmt::format("; did you mean \"{}\"?", *near) : std::string()),
                 where};
  }
  return Done{};
}

// What a batch gets from those it is made from.
struct Inherited {
  std::vector<std::string> allergens;
  std::vector<Lot> lots;
  std::vector<food::OutsideClock> clocks;
  std::vector<food::Ending> endings;
  std::optional<Reheated> reheated;
};

void inherit(const Batch& from, Inherited& into) {
  into.allergens.insert(into.allergens.end(), from.allergens.begin(), from.allergens.end());
  for (const Lot& lot : from.lots)
    if (std::find(into.lots.begin(), into.lots.end(), lot) == into.lots.end()) into.lots.push_back(lot);
  into.clocks.push_back(from.outside);
  into.endings.push_back({fmt::format("{} ({})", from.id, from.ends), from.use_by});
  if (from.reheated && !into.reheated) into.reheated = from.reheated;
}

void add_lots(const std::vector<Lot>& lots, Inherited& into) {
  for (const Lot& lot : lots) {
    into.lots.push_back(lot);
    if (lot.until_ms) into.endings.push_back({"lot " + lot.what, from_ms(*lot.until_ms)});
  }
}

// A batch called free from something was made on a clean board, and nothing in it holds that.
Status check_free_from(const MakeBatch& action, const std::vector<std::string>& allergens) {
  const auto& free_from = action.free_from;
  if (!free_from || free_from->empty()) return Done{};
  if (Status fine = check_allergens(*free_from, "/free_from"); !fine) return fine;
  if (!action.clean_first) {
    return Error{
        Errc::refused,
        fmt::format("a batch may be called free from {} only when the maker says \"clean first\": clean board, "
                    "clean knife, then tick it",
                    fmt::join(*free_from, ", ")),
        "/clean_first"};
  }
  for (const std::string& name : *free_from)
    for (const std::string& held : allergens)
      if (kitchen::meets(name, held)) {
        return Error{Errc::refused, fmt::format("it cannot be called free from {}: it holds {}", name, held),
                     "/free_from"};
      }
  return Done{};
}

// The endings that the rules in force add.
void add_rule_endings(const State& state, const MakeBatch& action, Instant made, const food::OutsideClock& clock,
                      std::vector<food::Ending>& endings) {
  const food::RuleSet& rules = state.record().rule_set();
  for (const food::KeepingRule& rule : rules.keeping) {
    if (!action.keeps_as || rule.what != *action.keeps_as) continue;
    const int days_on = rule.first_day_counts ? rule.days - 1 : rule.days;
    endings.push_back({fmt::format("{}, {} ({})", counted(rule.days, "day"), rule.source.rule, rule.source.text),
                       end_of_day(state, made, days_on)});
  }
  const Keeping keeping = keeping_at(action.kept_c);
  const auto allowed = allowance_of(rules, keeping);
  if (clock.since && allowed) {
    const food::Source& source = keeping == Keeping::hot ? rules.hot_holding->source : rules.chill_holding->source;
    endings.push_back({fmt::format("time outside the limit of {} ({})", source.rule, source.text),
                       *food::used_up_at(clock, *allowed)});
  }
}

Result<Inherited> inherited_of(const Asked& asked, const std::vector<std::string>& batches) {
  Inherited from;
  std::set<std::string> seen;
  for (const std::string& id : batches) {
    if (!seen.insert(id).second) return Error{Errc::invalid, fmt::format("\"{}\" is named twice", id), "/made_from"};
    const auto source = usable_batch(asked.state, id);
    if (!source) return source.error();
    if (!(*source)->labelled)
      return Error{Errc::refused, fmt::format("{} has no label: no label, no use; label it or throw it", id)};
    inherit(**source, from);
  }
  return from;
}

void add_inherited(const Inherited& from, Instant made, BatchMade& batch) {
  batch.allergens = in_order(from.allergens);
  batch.lots = from.lots;
  if (from.reheated) {
    batch.reheated_ms = to_ms(from.reheated->at);
    batch.reheated_by = from.reheated->by;
  }
  const food::OutsideClock clock = food::inherited(from.clocks, made);
  batch.spent_ms = clock.spent.count();
  batch.periods = clock.periods;
  if (clock.since) batch.outside_ms = to_ms(*clock.since);
}

food::OutsideClock clock_of(const BatchMade& batch) {
  food::OutsideClock clock{Duration(batch.spent_ms), batch.periods, {}};
  if (batch.outside_ms) clock.since = from_ms(*batch.outside_ms);
  return clock;
}

void set_clock(const food::OutsideClock& clock, BatchMade& batch) {
  batch.spent_ms = clock.spent.count();
  batch.periods = clock.periods;
  batch.outside_ms.reset();
  if (clock.since) batch.outside_ms = to_ms(*clock.since);
}

Status set_use_by(const Asked& asked, const MakeBatch& action, Inherited& from, Instant made, BatchMade& batch) {
  food::BatchDates dates;
  dates.made = made;
  dates.vacuum_packed = action.vacuum;
  dates.other_control = action.other_control;
  if (action.life_min) {
    dates.life = minutes(*action.life_min);
    if (*dates.life <= short_life_max) {
      batch.life_ms = dates.life->count();
      batch.takes_ms = (action.takes_min ? minutes(*action.takes_min) : takes_otherwise).count();
    }
  }
  if (action.use_by_days) {
    from.endings.push_back({fmt::format("house: {}", counted(*action.use_by_days, "day")),
                            end_of_day(asked.state, made, *action.use_by_days)});
  }
  if (from.reheated) {
    dates.reheated = from.reheated->at;
    dates.end_of_that_day = end_of_day(asked.state, from.reheated->at, 0);
  }
  add_rule_endings(asked.state, action, made, clock_of(batch), from.endings);
  dates.others = from.endings;
  const auto ends = food::use_by(dates);
  if (!ends) return ends.error();
  batch.use_by_ms = to_ms(ends->at);
  batch.ends = ends->what;
  return Done{};
}

// A batch that is held outside its limits from birth has its counter running from birth.
void start_clock(const State& state, Instant made, BatchMade& batch) {
  food::OutsideClock clock = clock_of(batch);
  const Keeping keeping = keeping_at(batch.kept_c);
  const bool outside = batch.kept_c && outside_limits(state.record().rule_set(), keeping, *batch.kept_c);
  set_clock(outside ? food::went_out(clock, made) : food::came_back(clock, made), batch);
}

Status check_maker(const Asked& asked, const MakeBatch& action) {
  if (Status fine = named(asked, "made it"); !fine) return fine;
  if (!is_id(action.kind))
    return Error{Errc::invalid, "the kind of a batch is a word of small letters, digits and _: swede_puree", "/kind"};
  for (const auto* amount : {&action.grams, &action.portions})
    if (*amount && **amount <= 0)
      return Error{Errc::invalid, "a batch that was made has something in it: leave the amount out if nobody counted"};
  if (Status fine = check_amounts(action.portions, action.grams, 1); !fine) return fine;
  if (Status fine = check_between(action.life_min, 1, minutes_max, "life_min"); !fine) return fine;
  if (Status fine = check_between(action.takes_min, 1, 24 * 60, "takes_min"); !fine) return fine;
  if (Status fine = check_between(action.use_by_days, 0, days_max, "use_by_days"); !fine) return fine;
  return check_kept_c(action.kept_c);
}

}  // namespace

Result<const Batch*> batch_of(const State& state, const std::string& id) {
  const Batch* batch = state.record().find(id);
  if (batch == nullptr) return Error{Errc::unknown, fmt::format("there is no batch \"{}\"", id), "/batch"};
  if (!batch->there())
    return Error{Errc::conflict, fmt::format("nothing is left of {}: {}", id, batch->ended), "/batch"};
  return batch;
}

Result<const Batch*> usable_batch(const State& state, const std::string& id) {
  const auto batch = batch_of(state, id);
  if (!batch) return batch;
  if (!(*batch)->blocked.empty())
    return Error{Errc::refused, fmt::format("{} may not be used: {}", id, (*batch)->blocked)};
  if ((*batch)->past)
    return Error{Errc::refused, fmt::format("{} is past its use-by, {} ({}): throw it", id,
                                            when_text(state, (*batch)->use_by), (*batch)->ends)};
  return batch;
}

Status named(const Asked& asked, const char* for_what) {
  if (!asked.by.empty()) return Done{};
  return Error{Errc::invalid, fmt::format("the record needs a name: say who {}", for_what), "/by"};
}

Result<Instant> instant_said(const Asked& asked, const std::optional<std::int64_t>& said_ms, const char* where) {
  const Instant at = said_ms ? from_ms(*said_ms) : asked.at;
  if (at <= asked.now) return at;
  return Error{Errc::invalid,
               fmt::format("{} has not come yet: the kitchen's clock shows {}", when_text(asked.state, at),
                           when_text(asked.state, asked.now)),
               where};
}

bool entered_later(Instant happened, Instant now) { return now - happened > later_than; }

Duration utc_offset(const State& state) {
  return state.kitchen ? minutes(state.kitchen->settings.utc_offset_minutes) : Duration::zero();
}

std::string when_text(const State& state, Instant at) {
  const std::string text = to_rfc3339(at + utc_offset(state));
  return text.substr(0, 10) + " " + text.substr(11, 5);
}

Instant end_of_day(const State& state, Instant at, int days_on) {
  const Duration offset = utc_offset(state);
  return std::chrono::floor<std::chrono::days>(at + offset) + std::chrono::days(days_on + 1) - offset;
}

std::optional<Duration> allowance_of(const food::RuleSet& rules, Keeping keeping) {
  if (keeping == Keeping::hot && rules.hot_holding && rules.hot_holding->outside)
    return rules.hot_holding->outside->shorter_than;
  if (keeping == Keeping::cold && rules.chill_holding && rules.chill_holding->outside)
    return rules.chill_holding->outside->shorter_than;
  return {};
}

Decision decide_on(const Asked& asked, const MakeBatch& action) {
  if (Status fine = check_maker(asked, action); !fine) return fine.error();
  const auto made = instant_said(asked, action.made_ms, "/made_ms");
  if (!made) return made.error();
  auto from = inherited_of(asked, action.made_from);
  if (!from) return from.error();
  Inherited inherited = *from;
  if (action.allergens) {
    if (Status fine = check_allergens(*action.allergens, "/allergens"); !fine) return fine.error();
    inherited.allergens.insert(inherited.allergens.end(), action.allergens->begin(), action.allergens->end());
  }
  if (Status fine = check_free_from(action, inherited.allergens); !fine) return fine.error();
  add_lots(action.lots, inherited);

  BatchMade batch;
  batch.batch = new_id(asked.state, action.kind, *made);
  batch.kind = action.kind;
  batch.named = action.named.value_or(spoken_kind(action.kind));
  batch.station = action.station.value_or("");
  batch.by = asked.by;
  batch.made_ms = to_ms(*made);
  batch.entered_later = entered_later(*made, asked.now);
  batch.made_from = action.made_from;
  batch.grams = action.grams;
  batch.portions = action.portions;
  batch.kept_in = action.kept_in.value_or("");
  batch.kept_c = action.kept_c;
  batch.free_from = in_order(action.free_from.value_or(std::vector<std::string>()));
  batch.labelled = action.labelled;
  add_inherited(inherited, *made, batch);
  start_clock(asked.state, *made, batch);
  if (Status fine = set_use_by(asked, action, inherited, *made, batch); !fine) return fine.error();
  return Happenings{batch};
}

Decision decide_on(const Asked& asked, const MixBatches& action) {
  if (Status fine = named(asked, "mixed them"); !fine) return fine.error();
  if (action.batches.size() < 2) return Error{Errc::invalid, "mixing takes two batches or more", "/batches"};
  auto from = inherited_of(asked, action.batches);
  if (!from) return from.error();
  const Batch& first = **batch_of(asked.state, action.batches.front());
  BatchMade batch;
  batch.kind = first.kind;
  batch.named = action.named.value_or(first.name);
  batch.station = first.station;
  batch.by = asked.by;
  batch.made_from = action.batches;
  batch.kept_in = action.kept_in.value_or(first.kept_in);
  batch.kept_c = first.kept_c;
  batch.mixed = true;
  add_inherited(*from, asked.at, batch);
  Instant oldest = first.made;
  bool portions = true;
  bool grams = true;
  std::vector<std::string> free_from = first.free_from;
  for (const std::string& id : action.batches) {
    const Batch& one = **batch_of(asked.state, id);
    if (one.cooling()) return Error{Errc::refused, fmt::format("{} is still being cooled: mix it when it is cold", id)};
    oldest = std::min(oldest, one.made);
    if (one.kept_c && (!batch.kept_c || *one.kept_c < *batch.kept_c)) batch.kept_c = one.kept_c;
    portions = portions && one.portions.has_value();
    grams = grams && one.grams.has_value();
    if (one.portions) batch.portions = batch.portions.value_or(0) + *one.portions;
    if (one.grams) batch.grams = batch.grams.value_or(0) + *one.grams;
    std::erase_if(free_from, [&](const std::string& name) {
      return std::find(one.free_from.begin(), one.free_from.end(), name) == one.free_from.end();
    });
    if (one.life && (!batch.life_ms || one.life->count() < *batch.life_ms)) {
      batch.life_ms = one.life->count();
      batch.takes_ms = one.takes.value_or(takes_otherwise).count();
    }
  }
  if (!portions) batch.portions.reset();  // half a count is none
  if (!grams) batch.grams.reset();
  batch.free_from = free_from;
  batch.made_ms = to_ms(oldest);
  batch.batch = new_id(asked.state, first.kind, oldest);
  const auto ends = std::min_element(from->endings.begin(), from->endings.end(),
                                     [](const food::Ending& a, const food::Ending& b) { return a.at < b.at; });
  batch.use_by_ms = to_ms(ends->at);
  batch.ends = ends->what;
  Happenings out{batch};
  for (const std::string& id : action.batches)
    out.push_back(BatchEnded{id, fmt::format("mixed into {}", batch.batch), asked.by});
  return out;
}

Decision decide_on(const Asked& asked, const SplitBatch& action) {
  if (Status fine = named(asked, "split it"); !fine) return fine.error();
  const auto found = batch_of(asked.state, action.batch);
  if (!found) return found.error();
  if (action.into < 2 || action.into > split_max)
    return Error{Errc::invalid, fmt::format("a batch is split into 2 to {}", split_max), "/into"};
  const Batch& batch = **found;
  for (const auto* amount : {&batch.portions, &batch.grams})
    if (*amount && **amount < action.into)
      return Error{
          Errc::invalid,
          fmt::format("there is too little of {} for {} vessels: {} by the record", batch.id, action.into, **amount),
          "/into"};
  BatchSplit split{batch.id, {}, action.kept_in.value_or(batch.kept_in), asked.by};
  const auto share = [&](const std::optional<int>& whole, int i) -> std::optional<int> {
    if (!whole) return {};
    return *whole * (i + 1) / action.into - *whole * i / action.into;
  };
  for (int i = 0; i < action.into; ++i) {
    std::string id = fmt::format("{}-{}", batch.id, static_cast<char>('a' + i));
    if (asked.state.record().find(id) != nullptr)
      return Error{Errc::conflict, fmt::format("there is a batch \"{}\" already", id)};
    split.into.push_back({std::move(id), share(batch.portions, i), share(batch.grams, i)});
  }
  return Happenings{split};
}

Decision decide_on(const Asked& asked, const MoveBatch& action) {
  if (Status fine = named(asked, "moved it"); !fine) return fine.error();
  const auto found = batch_of(asked.state, action.batch);
  if (!found) return found.error();
  if (action.kept_in.empty()) return Error{Errc::invalid, "say where it is now", "/kept_in"};
  if (Status fine = check_kept_c(action.kept_c); !fine) return fine.error();
  return Happenings{BatchMoved{action.batch, action.kept_in, action.kept_c, asked.by}};
}

Decision decide_on(const Asked& asked, const OpenBatch& action) {
  if (Status fine = named(asked, "opened it"); !fine) return fine.error();
  const auto found = usable_batch(asked.state, action.batch);
  if (!found) return found.error();
  if (action.within_min <= 0 || action.within_min > minutes_max)
    return Error{Errc::invalid,
                 fmt::format("say for how long it keeps once opened, in minutes from 1 to {}", minutes_max),
                 "/within_min"};
  Happenings out{BatchOpened{action.batch, asked.by}};
  const Instant until = asked.at + minutes(action.within_min);
  if (until < (*found)->use_by) out.push_back(UseBySet{action.batch, to_ms(until), "opened"});
  return out;
}

Decision decide_on(const Asked& asked, const LabelBatch& action) {
  if (Status fine = named(asked, "labels it"); !fine) return fine.error();
  const auto found = batch_of(asked.state, action.batch);
  if (!found) return found.error();
  if ((*found)->labelled == action.on) return Happenings{};
  return Happenings{BatchLabelled{action.batch, action.on, asked.by}};
}

Decision decide_on(const Asked& asked, const CountBatch& action) {
  if (Status fine = named(asked, "counted it"); !fine) return fine.error();
  const auto found = batch_of(asked.state, action.batch);
  if (!found) return found.error();
  if (!action.portions && !action.grams) return Error{Errc::invalid, "say how many portions or grams there are"};
  if (Status fine = check_amounts(action.portions, action.grams, 0); !fine) return fine.error();
  return Happenings{
      BatchCounted{action.batch, action.portions, action.grams, (*found)->portions, (*found)->grams, asked.by}};
}

Decision decide_on(const Asked& asked, const ThrowBatch& action) {
  if (Status fine = named(asked, "throws it"); !fine) return fine.error();
  const auto found = batch_of(asked.state, action.batch);
  if (!found) return found.error();
  if (action.reason.empty()) return Error{Errc::invalid, "say why it is thrown", "/reason"};
  if (Status fine = check_amounts(action.portions, action.grams, 0); !fine) return fine.error();
  const Batch& batch = **found;
  const auto too_many = [](const std::optional<int>& thrown, const std::optional<int>& have) {
    return thrown && have && *thrown > *have;
  };
  if (too_many(action.portions, batch.portions) || too_many(action.grams, batch.grams))
    return Error{Errc::invalid,
                 fmt::format("there is not so much of {}: {}, {} g by the record; count it first", batch.id,
                             counted(batch.portions.value_or(0), "portion"), batch.grams.value_or(0))};
  if (action.portions && !batch.portions)
    return Error{Errc::invalid, fmt::format("{} is not counted in portions: count it first", batch.id), "/portions"};
  if (action.grams && !batch.grams)
    return Error{Errc::invalid, fmt::format("{} is not weighed: weigh it first", batch.id), "/grams"};
  return Happenings{BatchThrown{action.batch, action.portions, action.grams, action.reason, asked.by}};
}

Decision decide_on(const Asked& asked, const NoteBatch& action) {
  if (Status fine = named(asked, "notes it"); !fine) return fine.error();
  if (asked.state.record().find(action.batch) == nullptr)
    return Error{Errc::unknown, fmt::format("there is no batch \"{}\"", action.batch), "/batch"};
  if (action.note.empty()) return Error{Errc::invalid, "the note is empty", "/note"};
  return Happenings{BatchNoted{action.batch, action.note, asked.by}};
}

}  // namespace nappe::line
