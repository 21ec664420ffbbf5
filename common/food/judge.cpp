#include "common/food/judge.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "common/food/use_by.hpp"

namespace nappe::food {
namespace {

// Readings come through sums and differences of degrees: what a probe shows as 21.0 must not fail by the last bit.
constexpr double hair_c = 1e-6;

std::string_view weight_of(const Source& source) {
  switch (source.standing) {
    case Standing::law:
      return "law";
    case Standing::guidance:
      return "guidance";
    case Standing::practice:
      return "common practice, no source";
    case Standing::house:
      return "house rule";
  }
  return "";
}

std::string doubt(const Source& source) {
  return source.verified == Checked::memory ? " The figure is from memory and was not checked against its source." : "";
}

std::string named(const Source& source) {
  return fmt::format("{} ({}; {})", source.rule, source.text, weight_of(source));
}

Verdict verdict(Outcome outcome, const Source& source, const std::string& what) {
  switch (outcome) {
    case Outcome::within:
      return {outcome, fmt::format("Within the limit of {}: {}.{}", named(source), what, doubt(source))};
    case Outcome::outside:
      return {outcome, fmt::format("Outside the limit of {}: {}.{}", named(source), what, doubt(source))};
    case Outcome::no_limit:
      return {outcome, fmt::format("No limit: {} sets no number; {}.{}", named(source), what, doubt(source))};
    case Outcome::not_decided:
      return {outcome, fmt::format("Not decided by {}: {}.{}", named(source), what, doubt(source))};
  }
  return {};
}

Verdict silent(const RuleSet& rules, std::string_view about) {
  return {Outcome::no_limit, fmt::format("No limit: the rule set {} says nothing about {}.", rules.name, about)};
}

std::string general_duty(const Source& source) {
  return source.note.empty() ? std::string("the house's own food-safety plan decides") : source.note;
}

bool allows_nothing(const std::optional<Allowance>& allowance) {
  return !allowance || allowance->shorter_than == Duration::zero();
}

// The time outside so far against the allowance. `state` is what there is to say before.
Verdict judge_spent(const Allowance& allowance, const std::string& state, const OutsideClock& clock, Instant now) {
  if (allowance.periods != 0 && clock.periods > allowance.periods) {
    return verdict(Outcome::outside, allowance.source,
                   fmt::format("{}, {} times; {} allowed", state, clock.periods, allowance.periods));
  }
  const Duration spent = outside_for(clock, now);
  return verdict(spent < allowance.shorter_than ? Outcome::within : Outcome::outside, allowance.source,
                 fmt::format("{}, for {} in all; it must be less than {}", state, limit_text(spent),
                             limit_text(allowance.shorter_than)));
}

// Food beyond a holding limit: what the allowance says of its time there. `state` names reading and limit.
Verdict judge_beyond(const std::optional<Allowance>& allowance, const Source& limit, const std::string& state,
                     const OutsideClock& clock, Instant now) {
  if (allows_nothing(allowance)) return verdict(Outcome::outside, limit, state + ", and no time outside is allowed");
  if (!clock.since) {
    return verdict(Outcome::not_decided, allowance->source, state + ", and nobody recorded when it left its limit");
  }
  return judge_spent(*allowance, state, clock, now);
}

// The counter alone, whatever the temperature is now.
Verdict judge_counter(const std::optional<Allowance>& allowance, const Source& limit, const OutsideClock& clock,
                      Instant now) {
  const Duration spent = outside_for(clock, now);
  if (spent == Duration::zero()) return verdict(Outcome::within, limit, "no time outside is recorded");
  if (allows_nothing(allowance)) {
    return verdict(Outcome::outside, limit, fmt::format("outside for {}, and none is allowed", limit_text(spent)));
  }
  return judge_spent(*allowance, "outside", clock, now);
}

// When a stage can have begun and ended, from what was read.
struct StageTimes {
  Instant begun_first, begun_last;  // the true beginning lies between these
  std::optional<Instant> ended;     // first reading at or below the end
  Instant still_warm;               // last moment known to be above the end
};

StageTimes stage_times(const CoolingStage& stage, const CoolingRecord& record) {
  StageTimes out{record.started, record.started, {}, record.started};
  bool begun = !stage.from_c;
  for (const Reading& r : record.readings) {
    if (!begun) {
      if (r.celsius >= *stage.from_c - hair_c) {
        out.begun_first = r.at;
        out.begun_last = r.at;
      } else {
        begun = true;
        out.begun_last = r.at;
      }
    }
    if (r.celsius <= stage.to_c + hair_c) {
      out.ended = r.at;
      break;
    }
    out.still_warm = r.at;
  }
  return out;
}

Verdict judge_stage(const CoolingStage& stage, const Source& source, const CoolingRecord& record, Instant now) {
  const StageTimes t = stage_times(stage, record);
  const std::string from = stage.from_c ? fmt::format("{:g} °C", *stage.from_c) : std::string("the start of cooling");
  const std::string goal = fmt::format("from {} to {:g} °C within {}", from, stage.to_c, limit_text(stage.within));
  const Duration shortest = t.still_warm - t.begun_last;
  if (t.ended && *t.ended - t.begun_first <= stage.within) {
    return verdict(Outcome::within, source,
                   fmt::format("{}: it took {} at most", goal, limit_text(*t.ended - t.begun_first)));
  }
  if (shortest >= stage.within) {
    return verdict(Outcome::outside, source, fmt::format("{}: still warmer after {}", goal, limit_text(shortest)));
  }
  if (!t.ended && now - t.begun_first < stage.within) {
    return verdict(Outcome::not_decided, source, fmt::format("{}: {} gone", goal, limit_text(now - t.begun_first)));
  }
  return verdict(Outcome::not_decided, source, fmt::format("{}: no reading shows it; a gap stays a gap", goal));
}

// The hold that the curve fulfils, and when it reached that hold's temperature.
struct Fulfilled {
  Hold hold;
  Instant reached;
};

std::optional<Fulfilled> fulfilled(const std::vector<Hold>& holds, const Curve& readings) {
  for (const Hold& hold : holds) {
    const double min_c = hold.min_c - hair_c;
    const auto there =
        std::find_if(readings.begin(), readings.end(), [&](const Reading& r) { return r.celsius >= min_c; });
    if (there == readings.end() || longest_at_or_above(readings, min_c) < hold.lasting) continue;
    return Fulfilled{hold, there->at};
  }
  return {};
}

std::string hold_text(const Hold& hold) {
  return hold.lasting == Duration::zero() ? fmt::format("{:g} °C", hold.min_c)
                                          : fmt::format("{:g} °C for {:g} s", hold.min_c, in_seconds(hold.lasting));
}

std::string all_holds(const std::vector<Hold>& holds) {
  std::string out;
  for (const Hold& hold : holds) out += (out.empty() ? "" : " or ") + hold_text(hold);
  return out;
}

std::string best_reading(const Curve& readings) {
  const auto top = warmest(readings);
  return top ? fmt::format("{:.1f} °C at most", *top) : std::string("nothing was read");
}

std::optional<Verdict> unreadable(const Curve& readings, const Source& source) {
  const Status ordered = check_curve(readings);
  if (ordered) return {};
  return verdict(Outcome::not_decided, source, ordered.error().detail);
}

}  // namespace

std::string_view word(Outcome outcome) {
  switch (outcome) {
    case Outcome::within:
      return "within";
    case Outcome::outside:
      return "outside";
    case Outcome::no_limit:
      return "no limit";
    case Outcome::not_decided:
      return "not decided";
  }
  return "";
}

Verdict judge_hot_holding(const RuleSet& rules, double celsius, const OutsideClock& clock, Instant now) {
  if (!rules.hot_holding) return silent(rules, "hot holding");
  const HotHolding& rule = *rules.hot_holding;
  if (!rule.min_c) return verdict(Outcome::no_limit, rule.source, general_duty(rule.source));
  const std::string state =
      fmt::format("{:.1f} °C, held hot {} {:g} °C", celsius, rule.above ? "above" : "at no less than", *rule.min_c);
  const bool warm = rule.above ? celsius > *rule.min_c + hair_c : celsius >= *rule.min_c - hair_c;
  if (warm) return verdict(Outcome::within, rule.source, state);
  return judge_beyond(rule.outside, rule.source, state, clock, now);
}

Verdict judge_chill_holding(const RuleSet& rules, double celsius, const OutsideClock& clock, Instant now) {
  if (!rules.chill_holding) return silent(rules, "chill holding");
  const ChillHolding& rule = *rules.chill_holding;
  if (!rule.max_c) return verdict(Outcome::no_limit, rule.source, general_duty(rule.source));
  const std::string state = fmt::format("{:.1f} °C, held cold at no more than {:g} °C", celsius, *rule.max_c);
  if (celsius <= *rule.max_c + hair_c) return verdict(Outcome::within, rule.source, state);
  return judge_beyond(rule.outside, rule.source, state, clock, now);
}

Verdict judge_time_outside(const RuleSet& rules, Side side, const OutsideClock& clock, Instant now) {
  if (side == Side::hot) {
    if (!rules.hot_holding) return silent(rules, "time below hot holding");
    const HotHolding& rule = *rules.hot_holding;
    if (!rule.min_c) return verdict(Outcome::no_limit, rule.source, general_duty(rule.source));
    return judge_counter(rule.outside, rule.source, clock, now);
  }
  if (!rules.chill_holding) return silent(rules, "time above chill holding");
  const ChillHolding& rule = *rules.chill_holding;
  if (!rule.max_c) return verdict(Outcome::no_limit, rule.source, general_duty(rule.source));
  return judge_counter(rule.outside, rule.source, clock, now);
}

Verdict judge_cooling(const RuleSet& rules, const CoolingRecord& record, Instant now) {
  if (!rules.cooling) return silent(rules, "cooling");
  const CoolingRule& rule = *rules.cooling;
  if (rule.stages.empty()) return verdict(Outcome::no_limit, rule.source, general_duty(rule.source));
  if (const auto bad = unreadable(record.readings, rule.source)) return *bad;
  if (!record.readings.empty() && record.readings.front().at < record.started) {
    return verdict(Outcome::not_decided, rule.source, "a reading is older than the start of cooling");
  }
  Verdict worst;
  bool first = true;
  // Outside beats not decided beats within.
  const auto rank = [](Outcome o) { return o == Outcome::outside ? 2 : o == Outcome::not_decided ? 1 : 0; };
  for (const CoolingStage& stage : rule.stages) {
    Verdict one = judge_stage(stage, rule.source, record, now);
    if (first || rank(one.outcome) > rank(worst.outcome)) worst = std::move(one);
    first = false;
  }
  return worst;
}

Verdict judge_reheating(const RuleSet& rules, const Reheating& done) {
  if (!rules.reheating) return silent(rules, "reheating");
  const ReheatingRule& rule = *rules.reheating;
  if (rule.times != 0 && done.times_before >= rule.times) {
    return verdict(
        Outcome::outside, rule.source,
        fmt::format("it has been reheated {} times already, and {} is allowed", done.times_before, rule.times));
  }
  if (rule.holds.empty()) return verdict(Outcome::no_limit, rule.source, general_duty(rule.source));
  if (done.to_order_at_once && rule.order_exempt) {
    return verdict(Outcome::no_limit, rule.source, "this is one portion to order, served at once");
  }
  if (const auto bad = unreadable(done.readings, rule.source)) return *bad;
  const auto hold = fulfilled(rule.holds, done.readings);
  if (!hold) {
    return verdict(Outcome::outside, rule.source,
                   fmt::format("{}; asked for is {}", best_reading(done.readings), all_holds(rule.holds)));
  }
  if (!rule.within) return verdict(Outcome::within, rule.source, "it was at " + hold_text(hold->hold) + " or more");
  if (!done.began) {
    return verdict(Outcome::not_decided, rule.source,
                   fmt::format("it was at {}, but nobody recorded when it left {:g} °C; {} are allowed",
                               hold_text(hold->hold), *rule.counted_from_c, limit_text(*rule.within)));
  }
  const Duration took = hold->reached - *done.began;
  return verdict(took <= *rule.within ? Outcome::within : Outcome::outside, rule.source,
                 fmt::format("it was at {} after {}; {} are allowed", hold_text(hold->hold), limit_text(took),
                             limit_text(*rule.within)));
}

Verdict judge_recook(const RuleSet& rules, const Curve& readings, Duration late, int times_before) {
  if (!rules.cooling || !rules.cooling->recook) return silent(rules, "cooking again what was cooled too slowly");
  const RecookRule& rule = *rules.cooling->recook;
  if (times_before > 0)
    return verdict(Outcome::outside, rule.source, "it has been cooked again already, and once is all");
  if (late > rule.late) {
    const std::string allowed = rule.late == Duration::zero() ? std::string("before the limit has passed and not after")
                                                              : limit_text(rule.late) + " after the limit at most";
    return verdict(Outcome::outside, rule.source,
                   fmt::format("the limit passed {} ago; it may be cooked again {}",
                               limit_text(std::chrono::floor<std::chrono::minutes>(late)), allowed));
  }
  if (const auto bad = unreadable(readings, rule.source)) return *bad;
  const auto hold = fulfilled(rule.holds, readings);
  if (hold) return verdict(Outcome::within, rule.source, "it was at " + hold_text(hold->hold) + " or more");
  return verdict(Outcome::outside, rule.source,
                 fmt::format("{}; asked for is {}", best_reading(readings), all_holds(rule.holds)));
}

Verdict judge_cooking(const RuleSet& rules, std::string_view food, const Curve& readings) {
  const auto find = [&](std::string_view kind) {
    return std::find_if(rules.cooking.begin(), rules.cooking.end(),
                        [&](const CookingRule& rule) { return rule.food == kind; });
  };
  auto rule = find(food);
  if (rule == rules.cooking.end()) rule = find("any");
  if (rule == rules.cooking.end()) return silent(rules, fmt::format("cooking {}", food));
  if (const auto bad = unreadable(readings, rule->source)) return *bad;
  const auto hold = fulfilled(rule->holds, readings);
  if (hold) {
    return verdict(Outcome::within, rule->source, fmt::format("{} was at {} or more", food, hold_text(hold->hold)));
  }
  return verdict(Outcome::outside, rule->source,
                 fmt::format("{}: {}; asked for is {}", food, best_reading(readings), all_holds(rule->holds)));
}

Verdict judge_time_only(const RuleSet& rules, const TimeOnly& kept, Instant now) {
  if (rules.time_only.empty()) return silent(rules, "keeping by time alone");
  const Duration spent = outside_for(kept.clock, now);
  const TimeOnlyRule* nearest = nullptr;
  std::string why;
  for (const TimeOnlyRule& rule : rules.time_only) {
    if (!rule.food.empty() && rule.food != kept.food) continue;
    const bool cold = rule.starts_max_c && kept.starts_c <= *rule.starts_max_c + hair_c;
    const bool hot = rule.starts_min_c && kept.starts_c >= *rule.starts_min_c - hair_c;
    const bool cool = !rule.warmest_c || kept.warmest_c <= *rule.warmest_c + hair_c;
    if ((cold || hot) && cool && spent <= rule.longest) {
      return verdict(Outcome::within, rule.source,
                     fmt::format("\"{}\", {} of {}", rule.name, limit_text(spent), limit_text(rule.longest)));
    }
    // The rule that says most about why not: one whose temperatures fit and whose time is over, if there is one.
    if (nearest == nullptr || ((cold || hot) && cool)) {
      nearest = &rule;
      why = !(cold || hot) ? fmt::format("it started at {:.1f} °C", kept.starts_c)
            : !cool        ? fmt::format("it was at {:.1f} °C", kept.warmest_c)
                           : fmt::format("{} of {}", limit_text(spent), limit_text(rule.longest));
    }
  }
  if (nearest == nullptr) return silent(rules, fmt::format("keeping {} by time alone", kept.food));
  return verdict(Outcome::outside, nearest->source, fmt::format("\"{}\", {}", nearest->name, why));
}

Verdict judge_keeping(const RuleSet& rules, std::string_view what, std::chrono::sys_days made,
                      std::chrono::sys_days used) {
  const auto rule =
      std::find_if(rules.keeping.begin(), rules.keeping.end(), [&](const KeepingRule& r) { return r.what == what; });
  if (rule == rules.keeping.end()) return silent(rules, fmt::format("how long {} keeps", what));
  const auto last = last_day(made, rule->days, rule->first_day_counts);
  const std::chrono::year_month_day date(last);
  const std::string until =
      fmt::format("{} made that day may be used until {:04}-{:02}-{:02}", what, static_cast<int>(date.year()),
                  static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
  if (used < made) return verdict(Outcome::not_decided, rule->source, "it cannot be used before it is made");
  return verdict(used <= last ? Outcome::within : Outcome::outside, rule->source, until);
}

}  // namespace nappe::food
