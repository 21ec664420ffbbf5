// What a house adds to the rule set in force. A limit of the house is accepted only if everything it allows is allowed
// by the rule set too.

#include <fmt/format.h>

#include <algorithm>

#include "common/food/rules.hpp"

namespace nappe::food {
namespace {

Error looser(std::string where, const Source& law, const std::string& what) {
  return Error{Errc::refused,
               fmt::format("{}: looser than {} ({}). A house may be stricter, not looser: correct the house's rule",
                           what, law.rule, law.text),
               std::move(where)};
}

// 0 periods means as many as you like.
bool more_periods(int house, int law) { return law != 0 && (house == 0 || house > law); }

// The allowance that holds: the house's if it names one no larger than the rule set's, else the rule set's. An
// allowance beside a limit that the rule set gives without one would be a hole in it.
Result<std::optional<Allowance>> merge(const std::optional<Allowance>& law, const std::optional<Allowance>& house,
                                       const Source& limit, const std::string& where) {
  if (!house) return law;
  if (!law) {
    if (house->shorter_than == Duration::zero()) return house;
    return looser(where, limit, "it allows time outside a limit that has none");
  }
  if (house->shorter_than > law->shorter_than) {
    return looser(where + "/minutes", law->source, fmt::format("{} outside", span_text(house->shorter_than)));
  }
  if (more_periods(house->periods, law->periods)) {
    return looser(where + "/periods", law->source, "more periods outside");
  }
  return house;
}

Status merge_hot(std::optional<HotHolding>& in_force, const HotHolding& house) {
  if (!house.min_c) return Done{};
  if (!in_force || !in_force->min_c) {
    in_force = house;
    return Done{};
  }
  if (*house.min_c < *in_force->min_c) {
    return looser("/hot_holding/min_c", in_force->source, fmt::format("hot holding at {:g} °C", *house.min_c));
  }
  const auto outside = merge(in_force->outside, house.outside, in_force->source, "/hot_holding/outside");
  if (!outside) return outside.error();
  const bool above = house.above || (in_force->above && *house.min_c == *in_force->min_c);
  in_force = HotHolding{house.min_c, above, *outside, house.source};
  return Done{};
}

Status merge_chill(std::optional<ChillHolding>& in_force, const ChillHolding& house) {
  if (!house.max_c) return Done{};
  if (!in_force || !in_force->max_c) {
    in_force = house;
    return Done{};
  }
  if (*house.max_c > *in_force->max_c) {
    return looser("/chill_holding/max_c", in_force->source, fmt::format("chill holding at {:g} °C", *house.max_c));
  }
  const auto outside = merge(in_force->outside, house.outside, in_force->source, "/chill_holding/outside");
  if (!outside) return outside.error();
  in_force = ChillHolding{house.max_c, *outside, house.source};
  return Done{};
}

// Whoever keeps `house` keeps `law`: colder at the end, no more time, counted from no later.
bool implies(const CoolingStage& house, const CoolingStage& law) {
  const bool from_earlier = !house.from_c || (law.from_c && *house.from_c >= *law.from_c);
  return from_earlier && house.to_c <= law.to_c && house.within <= law.within;
}

Status check_holds(const std::vector<Hold>& law, const std::vector<Hold>& house, const Source& source,
                   const std::string& where);

// A house may cook again where the rule set says nothing of it; where it does, hotter, longer and sooner only.
Status merge_recook(std::optional<RecookRule>& in_force, const std::optional<RecookRule>& house) {
  if (!house) return Done{};
  if (in_force) {
    const Status holds = check_holds(in_force->holds, house->holds, in_force->source, "/cooling/recook/holds");
    if (!holds) return holds;
    if (house->late > in_force->late)
      return looser("/cooling/recook/late_minutes", in_force->source,
                    fmt::format("cooking again {} after the limit", span_text(house->late)));
  }
  in_force = house;
  return Done{};
}

Status merge_cooling(std::optional<CoolingRule>& in_force, const CoolingRule& house) {
  std::optional<RecookRule> recook;
  if (in_force) recook = in_force->recook;
  if (Status merged = merge_recook(recook, house.recook); !merged) return merged;
  if (house.stages.empty()) {
    if (in_force) in_force->recook = recook;
    return Done{};
  }
  if (in_force) {
    for (const CoolingStage& law : in_force->stages) {
      const bool kept = std::any_of(house.stages.begin(), house.stages.end(),
                                    [&](const CoolingStage& stage) { return implies(stage, law); });
      if (!kept) {
        return looser("/cooling/stages", in_force->source,
                      fmt::format("no stage of the house assures {:g} °C within {}", law.to_c, span_text(law.within)));
      }
    }
  }
  in_force = house;
  in_force->recook = recook;
  return Done{};
}

// Every hold the house accepts must be one that the rule set accepts.
Status check_holds(const std::vector<Hold>& law, const std::vector<Hold>& house, const Source& source,
                   const std::string& where) {
  for (std::size_t i = 0; i < house.size(); ++i) {
    const bool accepted = std::any_of(law.begin(), law.end(), [&](const Hold& hold) {
      return house[i].min_c >= hold.min_c && house[i].lasting >= hold.lasting;
    });
    if (!accepted) {
      return looser(fmt::format("{}/{}", where, i), source,
                    fmt::format("{:g} °C for {:g} s", house[i].min_c, in_seconds(house[i].lasting)));
    }
  }
  return Done{};
}

Status merge_reheating(std::optional<ReheatingRule>& in_force, const ReheatingRule& house) {
  if (!in_force) {
    in_force = house;
    return Done{};
  }
  ReheatingRule merged = *in_force;
  merged.source = house.source;
  if (!house.holds.empty()) {
    if (!in_force->holds.empty()) {
      const Status holds = check_holds(in_force->holds, house.holds, in_force->source, "/reheating/holds");
      if (!holds) return holds;
    }
    merged.holds = house.holds;
  }
  if (house.within) {
    const bool longer = in_force->within && *house.within > *in_force->within;
    const bool later = in_force->counted_from_c && *house.counted_from_c > *in_force->counted_from_c;
    if (longer || later) return looser("/reheating/minutes", in_force->source, "the time allowed for reheating");
    merged.within = house.within;
    merged.counted_from_c = house.counted_from_c;
  }
  if (house.times != 0) {
    if (more_periods(house.times, in_force->times)) {
      return looser("/reheating/times", in_force->source, fmt::format("reheating {} times", house.times));
    }
    merged.times = house.times;
  }
  if (house.order_exempt && !in_force->order_exempt && !in_force->holds.empty()) {
    return looser("/reheating/order_exempt", in_force->source, "no number for portions to order");
  }
  // A house that names reheating and no exemption wants its holds for every portion.
  merged.order_exempt = house.order_exempt;
  in_force = merged;
  return Done{};
}

Status merge_cooking(std::vector<CookingRule>& in_force, const std::vector<CookingRule>& house) {
  for (std::size_t i = 0; i < house.size(); ++i) {
    const CookingRule& own = house[i];
    const auto named =
        std::find_if(in_force.begin(), in_force.end(), [&](const CookingRule& law) { return law.food == own.food; });
    const auto any =
        std::find_if(in_force.begin(), in_force.end(), [](const CookingRule& law) { return law.food == "any"; });
    const auto law = named != in_force.end() ? named : any;
    if (law != in_force.end()) {
      const Status holds = check_holds(law->holds, own.holds, law->source, fmt::format("/cooking/{}/holds", i));
      if (!holds) return holds;
    }
    if (named != in_force.end()) {
      *named = own;
    } else {
      in_force.push_back(own);
    }
  }
  return Done{};
}

Status merge_time_only(RuleSet& in_force, const std::vector<TimeOnlyRule>& house) {
  for (std::size_t i = 0; i < house.size(); ++i) {
    const TimeOnlyRule& own = house[i];
    const auto law = std::find_if(in_force.time_only.begin(), in_force.time_only.end(),
                                  [&](const TimeOnlyRule& rule) { return rule.name == own.name; });
    const std::string where = fmt::format("/time_only/{}", i);
    if (law == in_force.time_only.end()) {
      return Error{Errc::refused,
                   fmt::format("{} has no rule \"{}\" by time alone: name one of its rules", in_force.name, own.name),
                   where + "/name"};
    }
    const auto wider_max = own.starts_max_c && (!law->starts_max_c || *own.starts_max_c > *law->starts_max_c);
    const auto wider_min = own.starts_min_c && (!law->starts_min_c || *own.starts_min_c < *law->starts_min_c);
    const auto warmer = law->warmest_c && (!own.warmest_c || *own.warmest_c > *law->warmest_c);
    const auto more_food = !law->food.empty() && own.food != law->food;
    if (wider_max || wider_min || warmer || more_food || own.longest > law->longest) {
      return looser(where, law->source, fmt::format("\"{}\"", own.name));
    }
    *law = own;
  }
  return Done{};
}

// The last day, counted in whole days after making.
int days_after(const KeepingRule& rule) { return rule.first_day_counts ? rule.days - 1 : rule.days; }

Status merge_keeping(std::vector<KeepingRule>& in_force, const std::vector<KeepingRule>& house) {
  for (std::size_t i = 0; i < house.size(); ++i) {
    const KeepingRule& own = house[i];
    const auto law =
        std::find_if(in_force.begin(), in_force.end(), [&](const KeepingRule& rule) { return rule.what == own.what; });
    if (law == in_force.end()) {
      in_force.push_back(own);
      continue;
    }
    const bool warmer = law->max_c && (!own.max_c || *own.max_c > *law->max_c);
    if (days_after(own) > days_after(*law) || warmer) {
      return looser(fmt::format("/keeping/{}", i), law->source,
                    fmt::format("keeping {} for {} days", own.what, own.days));
    }
    *law = own;
  }
  return Done{};
}

// A house may declare more; what the rule set in force asks for stays.
Status merge_allergens(std::optional<AllergenRule>& in_force, const AllergenRule& house) {
  if (!in_force) {
    in_force = house;
    return Done{};
  }
  for (const std::string& group : house.groups) {
    auto& all = in_force->groups;
    if (std::find(all.begin(), all.end(), group) == all.end()) all.push_back(group);
  }
  return Done{};
}

}  // namespace

Result<RuleSet> with_house(const RuleSet& in_force, const RuleSet& house) {
  RuleSet out = in_force;
  const auto step = [](const auto& section, auto merge_section) -> Status {
    return section ? merge_section(*section) : Status(Done{});
  };
  const Status merged[] = {
      step(house.hot_holding, [&](const HotHolding& own) { return merge_hot(out.hot_holding, own); }),
      step(house.chill_holding, [&](const ChillHolding& own) { return merge_chill(out.chill_holding, own); }),
      step(house.cooling, [&](const CoolingRule& own) { return merge_cooling(out.cooling, own); }),
      step(house.reheating, [&](const ReheatingRule& own) { return merge_reheating(out.reheating, own); }),
      merge_cooking(out.cooking, house.cooking),
      merge_time_only(out, house.time_only),
      merge_keeping(out.keeping, house.keeping),
      step(house.allergens, [&](const AllergenRule& own) { return merge_allergens(out.allergens, own); })};
  for (const Status& status : merged) {
    if (!status) return status.error();
  }
  return out;
}

}  // namespace nappe::food
