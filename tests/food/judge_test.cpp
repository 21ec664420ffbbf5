#include "common/food/judge.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "common/food/cooling.hpp"
#include "tests/support/random.hpp"
#include "tests/support/rule_files.hpp"

using namespace nappe;
using namespace nappe::food;
using nappe::tests::rules_of;

namespace {

const Instant noon = *from_rfc3339("2026-11-20T12:00:00Z");

bool says(const Verdict& verdict, const std::string& what) { return verdict.sentence.find(what) != std::string::npos; }

Outcome reheated(const RuleSet& rules, double celsius, Duration held) {
  return judge_reheating(rules, {.readings = held_at(celsius, held, noon), .began = noon - minutes(20)}).outcome;
}

CoolingRecord cooled(std::vector<std::pair<int, double>> readings) {
  CoolingRecord out{noon, {}};
  for (const auto& [minute, celsius] : readings) out.readings.push_back({noon + minutes(minute), celsius});
  return out;
}

}  // namespace

TEST_CASE("reheating: 70 C for 119 s is refused, for 120 s accepted, 65 C for 10 min accepted under guidance") {
  const RuleSet england = rules_of("england");
  CHECK(reheated(england, 70, seconds(119)) == Outcome::outside);
  CHECK(reheated(england, 70, seconds(120)) == Outcome::within);
  CHECK(reheated(england, 65, minutes(10)) == Outcome::within);
  CHECK(reheated(england, 65, seconds(599)) == Outcome::outside);
  CHECK(reheated(england, 64.9, minutes(10)) == Outcome::outside);
  CHECK(reheated(england, 75, seconds(30)) == Outcome::within);
  CHECK(reheated(england, 80, seconds(6)) == Outcome::within);
  CHECK(reheated(england, 60, minutes(45)) == Outcome::within);
  CHECK(reheated(england, 82, seconds(1)) == Outcome::outside);  // hot enough, nobody saw it stay so
}

TEST_CASE("reheating: 81 C is refused under the Scottish rule set, 82 C accepted") {
  const RuleSet scotland = rules_of("scotland");
  CHECK(reheated(scotland, 81, minutes(30)) == Outcome::outside);
  CHECK(reheated(scotland, 82, seconds(1)) == Outcome::within);
  CHECK(judge_reheating(scotland, {.readings = {{noon, 82}}, .began = {}}).outcome == Outcome::within);
}

TEST_CASE("reheating: the Food Code wants 74 C for 15 s within two hours, and nothing of a portion to order") {
  const RuleSet code = rules_of("us-food-code-2022");
  CHECK(reheated(code, 74, seconds(15)) == Outcome::within);
  CHECK(reheated(code, 74, seconds(14)) == Outcome::outside);
  Reheating slow{.readings = held_at(75, seconds(30), noon), .began = noon - minutes(121)};
  CHECK(judge_reheating(code, slow).outcome == Outcome::outside);
  slow.began = noon - minutes(120);
  CHECK(judge_reheating(code, slow).outcome == Outcome::within);
  slow.began.reset();
  CHECK(judge_reheating(code, slow).outcome == Outcome::not_decided);
  CHECK(judge_reheating(code, {.readings = held_at(60, seconds(5), noon), .began = {}, .to_order_at_once = true})
            .outcome == Outcome::no_limit);
}

TEST_CASE("reheating a second time is outside where once is the rule") {
  const Reheating second{.readings = held_at(80, minutes(5), noon), .began = {}, .times_before = 1};
  const Verdict verdict = judge_reheating(rules_of("england"), second);
  CHECK(verdict.outcome == Outcome::outside);
  CHECK(says(verdict, "1 times already"));
}

TEST_CASE("a rising core counts from when it passes the temperature") {
  // 60 to 80 C in ten minutes: it is at 70 C or more for five minutes, at 75 C for two and a half.
  const Curve rise = {{noon, 60}, {noon + minutes(10), 80}};
  CHECK(judge_reheating(rules_of("england"), {.readings = rise, .began = {}}).outcome == Outcome::within);
  const Curve dip = {{noon, 70},
                     {noon + seconds(90), 70},
                     {noon + seconds(91), 60},
                     {noon + seconds(92), 70},
                     {noon + seconds(180), 70}};
  CHECK(judge_reheating(rules_of("england"), {.readings = dip, .began = {}}).outcome == Outcome::outside);
}

TEST_CASE("the same readings under three rule sets give three documented verdicts") {
  // Invented readings of one puree: reheated to 76 C for 40 s.
  const Reheating puree{.readings = held_at(76, seconds(40), noon), .began = noon - minutes(30)};
  const Verdict england = judge_reheating(rules_of("england"), puree);
  const Verdict scotland = judge_reheating(rules_of("scotland"), puree);
  const Verdict eu = judge_reheating(rules_of("eu-852-2004"), puree);
  CHECK(england.outcome == Outcome::within);
  CHECK(says(england, "Within the limit of England (Food Standards Agency"));
  CHECK(says(england, "guidance"));
  CHECK(scotland.outcome == Outcome::outside);
  CHECK(says(scotland,
             "Outside the limit of Scotland (Food Hygiene (Scotland) Regulations 2006, SSI 2006/3, sch. 4 para. 3"));
  CHECK(says(scotland, "82"));
  CHECK(eu.outcome == Outcome::no_limit);
  CHECK(says(eu, "852/2004"));

  // And held at 60 C for half an hour afterwards.
  const OutsideClock out = went_out({}, noon);
  const Instant later = noon + minutes(30);
  const Verdict held_england = judge_hot_holding(rules_of("england"), 60, out, later);
  const Verdict held_scotland = judge_hot_holding(rules_of("scotland"), 60, out, later);
  const Verdict held_code = judge_hot_holding(rules_of("us-food-code-2022"), 60, out, later);
  const Verdict held_eu = judge_hot_holding(rules_of("eu-852-2004"), 60, out, later);
  CHECK(held_england.outcome == Outcome::within);
  CHECK(says(held_england, "para. 7(2)"));
  CHECK(says(held_england, "from memory"));
  CHECK(held_scotland.outcome == Outcome::outside);
  CHECK(held_code.outcome == Outcome::within);
  CHECK(says(held_code, "3-501.16(A)(1)"));
  CHECK(held_eu.outcome == Outcome::no_limit);
  CHECK(says(held_eu, "sets no number"));
}

TEST_CASE("hot holding: the emulsion of 17:50 is within for two hours less a moment, and once only") {
  const RuleSet england = rules_of("england");
  const Instant born = *from_rfc3339("2026-11-20T17:50:00Z");
  const OutsideClock emulsion = went_out({}, born);
  const auto at = [&](const OutsideClock& clock, Instant now) {
    return judge_hot_holding(england, 52, clock, now).outcome;
  };
  CHECK(at(emulsion, born + minutes(119)) == Outcome::within);
  CHECK(at(emulsion, born + minutes(120)) == Outcome::outside);
  const OutsideClock again = went_out(came_back(emulsion, born + minutes(10)), born + minutes(20));
  CHECK(at(again, born + minutes(30)) == Outcome::outside);
  CHECK(at({}, born) == Outcome::not_decided);  // cold, and nobody noted since when
  CHECK(judge_hot_holding(england, 63.0, {}, born).outcome == Outcome::within);
  CHECK(judge_hot_holding(rules_of("scotland"), 63.0, {}, born).outcome == Outcome::outside);
  CHECK(judge_hot_holding(rules_of("scotland"), 63.1, {}, born).outcome == Outcome::within);
  CHECK(judge_hot_holding(rules_of("us-food-code-2022"), 56.9, emulsion, born).outcome == Outcome::outside);
}

TEST_CASE("food that used its time up stays outside when it is warm again") {
  const RuleSet england = rules_of("england");
  const OutsideClock long_out = came_back(went_out({}, noon), noon + minutes(125));
  const OutsideClock short_out = came_back(went_out({}, noon), noon + minutes(20));
  const auto count = [&](const char* rules, Side side, const OutsideClock& clock) {
    return judge_time_outside(rules_of(rules), side, clock, noon + minutes(300)).outcome;
  };
  CHECK(count("england", Side::hot, long_out) == Outcome::outside);
  CHECK(count("england", Side::chill, long_out) == Outcome::within);
  CHECK(count("england", Side::hot, short_out) == Outcome::within);
  CHECK(count("england", Side::hot, {}) == Outcome::within);
  const OutsideClock twice = came_back(went_out(short_out, noon + minutes(50)), noon + minutes(60));
  CHECK(count("england", Side::hot, twice) == Outcome::outside);
  CHECK(count("us-food-code-2022", Side::hot, short_out) == Outcome::outside);
  CHECK(count("scotland", Side::chill, long_out) == Outcome::no_limit);
  CHECK(count("eu-852-2004", Side::hot, long_out) == Outcome::no_limit);
  CHECK(judge_time_outside(RuleSet{}, Side::hot, long_out, noon).outcome == Outcome::no_limit);
  // What is made from it takes the count along.
  CHECK(count("england", Side::hot, inherited({short_out, long_out}, noon + minutes(200))) == Outcome::outside);
}

TEST_CASE("chill holding: 8 C in England with four hours, 5 C under the Food Code with none, no number in Scotland") {
  const OutsideClock out = went_out({}, noon);
  CHECK(judge_chill_holding(rules_of("england"), 8.0, {}, noon).outcome == Outcome::within);
  CHECK(judge_chill_holding(rules_of("england"), 9.4, out, noon + minutes(239)).outcome == Outcome::within);
  CHECK(judge_chill_holding(rules_of("england"), 9.4, out, noon + minutes(240)).outcome == Outcome::outside);
  CHECK(judge_chill_holding(rules_of("us-food-code-2022"), 5.0, {}, noon).outcome == Outcome::within);
  CHECK(judge_chill_holding(rules_of("us-food-code-2022"), 5.1, out, noon).outcome == Outcome::outside);
  const Verdict scotland = judge_chill_holding(rules_of("scotland"), 12, out, noon);
  CHECK(scotland.outcome == Outcome::no_limit);
  CHECK(says(scotland, "cool ventilated place"));
}

TEST_CASE("cooling: the exact boundary of two hours and six hours is within, a minute more is not") {
  // Newton cooling in 3 C air from 57 C with 21 C after exactly 2 h is at exactly 5 C after 6 h (arithmetic).
  const auto tau = time_constant({.first_c = 57, .second_c = 21, .between = minutes(120), .surround_c = 3});
  REQUIRE(tau);
  const RuleSet code = rules_of("us-food-code-2022");
  CoolingRecord record{noon, {}};
  for (int m = 0; m <= 360; m += 30) {
    // Read as a probe shows it, to a hundredth of a degree.
    const double c = temperature_after({.from_c = 57, .surround_c = 3, .time_constant = *tau}, minutes(m));
    record.readings.push_back({noon + minutes(m), std::round(c * 100) / 100});
  }
  CHECK(judge_cooling(code, record, noon + minutes(400)).outcome == Outcome::within);

  CoolingRecord warmer = record;
  warmer.readings[4].celsius = 21.1;                                                        // at two hours
  CHECK(judge_cooling(code, warmer, noon + minutes(400)).outcome == Outcome::not_decided);  // 90 min to 150 min: a gap
  warmer.readings[1].celsius = 56.9;
  warmer.readings.insert(warmer.readings.begin() + 1, {noon + minutes(1), 56.99});
  warmer.readings[5].at = noon + minutes(121);
  const Verdict missed = judge_cooling(code, warmer, noon + minutes(400));
  CHECK(missed.outcome == Outcome::outside);
  CHECK(says(missed, "21 °C within 2 h"));
}

TEST_CASE("cooling: 90 minutes to 8 C counts from the start") {
  const RuleSet england = rules_of("england");
  const Instant after = noon + minutes(200);
  CHECK(judge_cooling(england, cooled({{0, 90}, {45, 30}, {90, 8}}), after).outcome == Outcome::within);
  CHECK(judge_cooling(england, cooled({{0, 90}, {45, 30}, {90, 8.1}, {93, 7}}), after).outcome == Outcome::outside);
  CHECK(judge_cooling(england, cooled({{0, 90}, {80, 10}, {100, 7}}), after).outcome == Outcome::not_decided);
  CHECK(judge_cooling(england, cooled({{0, 90}, {45, 30}}), noon + minutes(50)).outcome == Outcome::not_decided);
  CHECK(judge_cooling(england, cooled({{0, 90}, {45, 30}}), after).outcome == Outcome::not_decided);
  CHECK(judge_cooling(england, cooled({}), after).outcome == Outcome::not_decided);
  CHECK(judge_cooling(england, cooled({{-5, 90}}), after).outcome == Outcome::not_decided);
  CHECK(judge_cooling(england, cooled({{10, 50}, {5, 60}}), after).outcome == Outcome::not_decided);
  CHECK(judge_cooling(rules_of("scotland"), cooled({{0, 90}, {300, 50}}), after).outcome == Outcome::no_limit);
}

TEST_CASE("cooling: whether 57 C was passed early or late between two readings decides only if it matters") {
  const RuleSet code = rules_of("us-food-code-2022");
  const Instant after = noon + minutes(600);
  // 90 C when it came off; 57 C was passed somewhere in the first hour.
  CHECK(judge_cooling(code, cooled({{0, 90}, {60, 50}, {115, 20}, {300, 5}}), after).outcome == Outcome::within);
  CHECK(judge_cooling(code, cooled({{0, 90}, {60, 50}, {150, 20}, {300, 5}}), after).outcome == Outcome::not_decided);
  CHECK(judge_cooling(code, cooled({{0, 90}, {60, 50}, {180, 22}, {300, 5}}), after).outcome == Outcome::outside);
  CHECK(judge_cooling(code, cooled({{0, 90}, {60, 58}, {150, 20}, {300, 5}}), after).outcome == Outcome::within);
}

TEST_CASE("cooking by kind of food") {
  const RuleSet code = rules_of("us-food-code-2022");
  const auto cooked = [&](const char* food, double c, Duration held) {
    return judge_cooking(code, food, held_at(c, held, noon)).outcome;
  };
  CHECK(cooked("poultry", 74, seconds(1)) == Outcome::within);
  CHECK(cooked("poultry", 73.9, minutes(10)) == Outcome::outside);
  CHECK(cooked("minced", 68, seconds(17)) == Outcome::within);
  CHECK(cooked("minced", 68, seconds(16)) == Outcome::outside);
  CHECK(cooked("minced", 63, minutes(3)) == Outcome::within);
  CHECK(cooked("whole meat or fish", 63, seconds(15)) == Outcome::within);
  CHECK(cooked("whole roast", 54.4, minutes(112)) == Outcome::within);
  CHECK(cooked("whole roast", 54.4, minutes(111)) == Outcome::outside);
  CHECK(cooked("whole roast", 54.3, minutes(500)) == Outcome::outside);
  CHECK(cooked("vegetables for hot holding", 57, seconds(1)) == Outcome::within);
  CHECK(cooked("bread", 57, seconds(1)) == Outcome::no_limit);
  const RuleSet england = rules_of("england");
  CHECK(judge_cooking(england, "burger", held_at(65, minutes(10), noon)).outcome == Outcome::outside);
  CHECK(judge_cooking(england, "loin", held_at(65, minutes(10), noon)).outcome == Outcome::within);
  CHECK(judge_cooking(england, "loin", {}).outcome == Outcome::outside);
  CHECK(judge_cooking(england, "loin", {{noon, 65}, {noon, 66}}).outcome == Outcome::not_decided);
}

TEST_CASE("keeping by time alone") {
  const RuleSet code = rules_of("us-food-code-2022");
  const auto kept = [&](double starts, double warmest, int minute, const char* food = "") {
    return judge_time_only(code, {food, starts, warmest, went_out({}, noon)}, noon + minutes(minute));
  };
  CHECK(kept(5, 30, 240).outcome == Outcome::within);
  CHECK(kept(5, 30, 241).outcome == Outcome::outside);
  CHECK(kept(57, 57, 240).outcome == Outcome::within);
  CHECK(kept(40, 40, 10).outcome == Outcome::outside);
  CHECK(kept(5, 21, 360).outcome == Outcome::within);
  CHECK(kept(5, 21.5, 360).outcome == Outcome::outside);
  CHECK(kept(20, 21, 100).outcome == Outcome::outside);
  CHECK(kept(20, 21, 100, "produce cut or can opened").outcome == Outcome::within);
  CHECK(says(kept(5, 30, 241), "4 hours"));
  CHECK(judge_time_only(rules_of("england"), {"", 5, 10, {}}, noon).outcome == Outcome::no_limit);
}

TEST_CASE("how long it keeps: made on 1 April with seven days, use by 7 April") {
  using namespace std::chrono;
  const RuleSet code = rules_of("us-food-code-2022");
  const sys_days made = sys_days(year(2026) / April / 1);
  const auto on = [&](unsigned day) {
    return judge_keeping(code, "ready to eat, prepared here", made, sys_days(year(2026) / April / day));
  };
  CHECK(on(1).outcome == Outcome::within);
  CHECK(on(7).outcome == Outcome::within);
  CHECK(says(on(7), "2026-04-07"));
  CHECK(on(8).outcome == Outcome::outside);
  CHECK(judge_keeping(code, "ready to eat, prepared here", made, made - days(1)).outcome == Outcome::not_decided);
  CHECK(judge_keeping(code, "puree", made, made).outcome == Outcome::no_limit);
  CHECK(judge_keeping(rules_of("england"), "vacuum packed", made, made + days(10)).outcome == Outcome::within);
  CHECK(judge_keeping(rules_of("england"), "vacuum packed", made, made + days(11)).outcome == Outcome::outside);
}

TEST_CASE("no verdict calls food safe, and every verdict says its outcome, its rule set and a whole sentence") {
  std::vector<RuleSet> all;
  for (const char* id : {"england", "scotland", "eu-852-2004", "us-food-code-2022"}) all.push_back(rules_of(id));
  CHECK(caution.find("safe ") == std::string_view::npos);
  for (std::uint64_t seed = 0; seed < 400; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    const RuleSet& rules = random.pick(all);
    OutsideClock clock;
    if (random.chance(0.7)) clock = went_out(clock, noon - minutes(random.between(0, 300)));
    const double c = -2 + 90 * random.unit();
    Reheating warm{.readings = held_at(c, seconds(random.between(1, 900)), noon),
                   .began = noon - minutes(60),
                   .times_before = static_cast<int>(random.between(0, 1)),
                   .to_order_at_once = random.chance(0.3)};
    const Verdict verdicts[] = {
        judge_hot_holding(rules, c, clock, noon),
        judge_chill_holding(rules, c, clock, noon),
        judge_reheating(rules, warm),
        judge_cooking(rules, "minced", warm.readings),
        judge_cooling(rules, cooled({{0, 90}, {60, c}}), noon + minutes(random.between(60, 400))),
        judge_time_only(rules, {"", c, c, clock}, noon)};
    for (const Verdict& verdict : verdicts) {
      INFO(verdict.sentence);
      CHECK(verdict.sentence.find("safe ") == std::string::npos);
      CHECK(verdict.sentence.find("safely") == std::string::npos);
      CHECK(verdict.sentence.back() == '.');
      CHECK(says(verdict, rules.name));
      const char* starts = verdict.outcome == Outcome::within     ? "Within the limit of "
                           : verdict.outcome == Outcome::outside  ? "Outside the limit of "
                           : verdict.outcome == Outcome::no_limit ? "No limit: "
                                                                  : "Not decided by ";
      CHECK(verdict.sentence.rfind(starts, 0) == 0);
    }
    // Warmer is never worse for hot holding and reheating, colder never worse for chill holding.
    if (verdicts[0].outcome == Outcome::within) {
      CHECK(judge_hot_holding(rules, c + 5, clock, noon).outcome == Outcome::within);
    }
    if (verdicts[1].outcome == Outcome::within) {
      CHECK(judge_chill_holding(rules, c - 5, clock, noon).outcome == Outcome::within);
    }
    if (verdicts[2].outcome == Outcome::within) {
      warm.readings = held_at(c + 5, warm.readings[1].at - warm.readings[0].at, noon);
      CHECK(judge_reheating(rules, warm).outcome == Outcome::within);
    }
  }
}

TEST_CASE("a house that is accepted never lets through what the rule set does not") {
  std::vector<RuleSet> all;
  for (const char* id : {"england", "scotland", "eu-852-2004", "us-food-code-2022"}) all.push_back(rules_of(id));
  int accepted = 0;
  int turned_down = 0;
  for (std::uint64_t seed = 0; seed < 3000; ++seed) {
    INFO("SEED=" << seed);
    tests::Random random(seed);
    const RuleSet& law = random.pick(all);
    const Source own{"Larkfold", "plan of the house", Standing::house, Checked::own, {}};
    const auto around = [&](double c) { return c + static_cast<double>(random.between(-2, 6)); };
    RuleSet house;
    house.name = "Larkfold";
    if (random.chance(0.5)) house.hot_holding = HotHolding{around(60), random.chance(0.3), {}, own};
    if (house.hot_holding && random.chance(0.4)) {
      house.hot_holding->outside =
          Allowance{minutes(random.between(0, 150)), static_cast<int>(random.between(0, 2)), own};
    }
    if (random.chance(0.5)) house.chill_holding = ChillHolding{around(4), {}, own};
    if (random.chance(0.5)) {
      house.cooling = CoolingRule{{{{}, around(4), minutes(random.between(60, 130))}}, own};
      if (random.chance(0.5))
        house.cooling->stages.push_back({around(57), around(17), minutes(random.between(90, 130))});
    }
    if (random.chance(0.5)) {
      house.reheating = ReheatingRule{{{around(72), seconds(random.between(0, 150))}}, {}, {}, 0, false, own};
      house.reheating->times = static_cast<int>(random.between(0, 2));
    }
    const auto merged = with_house(law, house);
    if (!merged) {
      ++turned_down;
      continue;
    }
    ++accepted;
    OutsideClock clock = went_out({}, noon - minutes(random.between(0, 200)));
    if (random.chance(0.3)) clock = went_out(came_back(clock, noon - minutes(1)), noon);
    const double hot = 50 + 20 * random.unit();
    const double cold = 12 * random.unit();
    const Reheating warm{.readings = held_at(65 + 20 * random.unit(), seconds(random.between(1, 200)), noon),
                         .began = noon - minutes(60),
                         .times_before = static_cast<int>(random.between(0, 2))};
    const CoolingRecord record =
        cooled({{0, 90}, {30, 58}, {100, 15 + 8 * random.unit()}, {130, 3 + 8 * random.unit()}});
    const std::pair<Verdict, Verdict> pairs[] = {
        {judge_hot_holding(*merged, hot, clock, noon), judge_hot_holding(law, hot, clock, noon)},
        {judge_chill_holding(*merged, cold, clock, noon), judge_chill_holding(law, cold, clock, noon)},
        {judge_reheating(*merged, warm), judge_reheating(law, warm)},
        {judge_cooling(*merged, record, noon + minutes(500)), judge_cooling(law, record, noon + minutes(500))}};
    for (const auto& [with, without] : pairs) {
      INFO(with.sentence << " | " << without.sentence);
      if (with.outcome == Outcome::within) {
        CHECK((without.outcome == Outcome::within || without.outcome == Outcome::no_limit));
      }
      if (without.outcome == Outcome::outside) CHECK(with.outcome != Outcome::no_limit);
    }
  }
  CHECK(accepted > 100);
  CHECK(turned_down > 100);
}
