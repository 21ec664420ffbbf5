#include "common/food/power_cut.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "common/food/judge.hpp"

namespace nappe::food {
namespace {

constexpr double frozen_below = -10;              // above it what was frozen has begun to thaw
constexpr Duration hot_otherwise = minutes(120);  // where the rules allow hot food no time outside: so long to read it
constexpr std::string_view orientation = "for orientation, USDA FSIS and CDC; a reading decides";

bool is_outside(const RuleSet& rules, const CutCase& kept) {
  if (kept.kept != KeptHow::hot)
    return rules.chill_holding && rules.chill_holding->max_c && kept.read_c > *rules.chill_holding->max_c;
  if (!rules.hot_holding || !rules.hot_holding->min_c) return false;
  const double limit = *rules.hot_holding->min_c;
  return rules.hot_holding->above ? kept.read_c <= limit : kept.read_c < limit;
}

bool has_limit(const RuleSet& rules, KeptHow kept) {
  if (kept == KeptHow::hot) return rules.hot_holding && rules.hot_holding->min_c;
  return rules.chill_holding && rules.chill_holding->max_c;
}

const std::optional<Allowance>& allowance_of(const RuleSet& rules, KeptHow kept) {
  static const std::optional<Allowance> none;
  if (kept == KeptHow::hot) return rules.hot_holding ? rules.hot_holding->outside : none;
  return rules.chill_holding ? rules.chill_holding->outside : none;
}

Duration keeps(const RuleSet& rules, KeptHow kept) {
  if (kept == KeptHow::cold) return closed_fridge;
  if (kept == KeptHow::frozen) return closed_freezer;
  const auto& allowed = allowance_of(rules, kept);
  return allowed && allowed->shorter_than > Duration::zero() ? allowed->shorter_than : hot_otherwise;
}

// Whole minutes: nobody knows more.
std::string about(Duration span) { return limit_text(std::chrono::round<std::chrono::minutes>(span)); }

std::string off_text(const CutCase& kept, Instant now) {
  if (kept.back) return fmt::format("The power was off for {}", about(*kept.back - kept.since));
  return fmt::format("The power has been off for {}", about(now - kept.since));
}

std::string read_text(const CutCase& kept) {
  return fmt::format("{:g} C read {} after it went", kept.read_c, about(*kept.read - kept.since));
}

Verdict judge_holding(const RuleSet& rules, const CutCase& kept, const OutsideClock& clock, Instant now) {
  if (kept.kept == KeptHow::hot) return judge_hot_holding(rules, kept.read_c, clock, now);
  return judge_chill_holding(rules, kept.read_c, clock, now);
}

CutVerdict judge_outside(const RuleSet& rules, const CutCase& kept, Instant now) {
  OutsideClock clock = kept.clock;
  if (!clock.since) clock = went_out(clock, std::min(*kept.read, kept.good.value_or(kept.since)));
  const Verdict held = judge_holding(rules, kept, clock, now);
  CutVerdict out;
  out.says = fmt::format("{}; {}, and the clock runs from its last good reading. {}", off_text(kept, now),
                         read_text(kept), held.sentence);
  if (held.outcome == Outcome::outside) {
    out.state = CutState::expired;
    return out;
  }
  out.state = CutState::decide;
  const auto& allowed = allowance_of(rules, kept.kept);
  if (allowed) out.expires = used_up_at(clock, allowed->shorter_than);
  return out;
}

CutVerdict judge_read(const RuleSet& rules, const CutCase& kept, Instant now) {
  const std::string before = fmt::format("{}; {}", off_text(kept, now), read_text(kept));
  if (!has_limit(rules, kept.kept))
    return {CutState::decide, fmt::format("{}, and {} sets no limit for it.", before, rules.name), {}};
  const Side side = kept.kept == KeptHow::hot ? Side::hot : Side::chill;
  const Verdict spent = judge_time_outside(rules, side, kept.clock, now);
  if (spent.outcome == Outcome::outside) return {CutState::expired, fmt::format("{}. {}", before, spent.sentence), {}};
  if (kept.kept == KeptHow::frozen && kept.read_c > frozen_below)
    return {CutState::decide, fmt::format("{}: it has begun to thaw.", before), {}};
  return {CutState::within, fmt::format("{}. {}", before, judge_holding(rules, kept, kept.clock, now).sentence), {}};
}

CutVerdict judge_unread(const RuleSet& rules, const CutCase& kept, Instant now) {
  const Duration long_enough = keeps(rules, kept.kept);
  const Instant expires = std::max(kept.since, kept.good.value_or(kept.since)) + long_enough;
  const std::string keeping =
      kept.kept == KeptHow::hot
          ? fmt::format("hot food is given {} and no longer", limit_text(long_enough))
          : fmt::format("a closed door keeps the cold for about {} ({})", limit_text(long_enough), orientation);
  if (now >= expires)
    return {CutState::expired,
            fmt::format("{}, and no good reading is younger than {}: nothing shows that it stayed within its limit.",
                        off_text(kept, now), limit_text(long_enough)),
            {}};
  return {CutState::read_it, fmt::format("{}, not read since: {}. Read it.", off_text(kept, now), keeping), expires};
}

}  // namespace

std::string_view word(CutState state) {
  switch (state) {
    case CutState::within:
      return "within";
    case CutState::read_it:
      return "read it";
    case CutState::decide:
      return "decide";
    case CutState::expired:
      return "throw";
  }
  return "";
}

CutVerdict judge_cut(const RuleSet& rules, const CutCase& kept, Instant now) {
  if (kept.read && is_outside(rules, kept)) return judge_outside(rules, kept, now);
  if (kept.read && kept.back && *kept.read >= *kept.back) return judge_read(rules, kept, now);
  return judge_unread(rules, kept, now);
}

}  // namespace nappe::food
