// Rows of published tables that the other files here do not hold: time alone, days, poultry, gels, levels, coolings
// that missed, power cuts. Each is typed in a second time from the source named.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "common/food/dose.hpp"
#include "common/food/gels.hpp"
#include "common/food/heat.hpp"
#include "common/food/judge.hpp"
#include "common/food/power_cut.hpp"
#include "tests/support/rule_files.hpp"

using namespace nappe;
using namespace nappe::food;
using nappe::tests::rules_of;

namespace {

constexpr double fahrenheit(double f) { return (f - 32) / 1.8; }
const Instant noon = *from_rfc3339("2026-11-20T12:00:00Z");

}  // namespace

TEST_CASE("Food Code 3-501.19: four hours from at most 5 C or at least 57 C, six hours if never above 21 C") {
  // Wisconsin's and Minnesota's adoption of 3-501.19(B), (C); Georgia 511-6-1-.04(6)(i) for (B)(2).
  const RuleSet code = rules_of("us-food-code-2022");
  struct Row {
    const char* food;
    double starts, warmest;
    int minutes_out;
    Outcome outcome;
  };
  const Row rows[] = {{"", 5, 30, 239, Outcome::within},  {"", 5, 30, 241, Outcome::outside},
                      {"", 57, 57, 239, Outcome::within}, {"", 56, 56, 60, Outcome::outside},
                      {"", 5, 21, 359, Outcome::within},  {"", 5, 21, 361, Outcome::outside},
                      {"", 5, 22, 300, Outcome::outside}, {"produce cut or can opened", 21, 21, 239, Outcome::within},
                      {"", 21, 21, 60, Outcome::outside}};
  for (const Row& row : rows) {
    CAPTURE(row.food, row.starts, row.warmest, row.minutes_out);
    const TimeOnly kept{row.food, row.starts, row.warmest, went_out({}, noon)};
    CHECK(judge_time_only(code, kept, noon + minutes(row.minutes_out)).outcome == row.outcome);
  }
}

TEST_CASE("Food Code 3-501.17: seven days, the day of preparation the first: 1 April, use by 7 April") {
  // Southern Nevada Health District's questions and answers; Minn. R. 4626.0400.
  const RuleSet code = rules_of("us-food-code-2022");
  using std::chrono::sys_days;
  const auto april = [](unsigned day) { return sys_days(std::chrono::year(2026) / 4 / day); };
  CHECK(judge_keeping(code, "ready to eat, prepared here", april(1), april(7)).outcome == Outcome::within);
  CHECK(judge_keeping(code, "ready to eat, prepared here", april(1), april(8)).outcome == Outcome::outside);
}

TEST_CASE("USDA poultry, 7-log at 12 % fat: both columns follow one D and z") {
  // Copies of the USDA table at ourtfam.com and a second forum. Seconds at each row; a line through 140 F with the
  // z of the column's ends (chicken 9.74 F, turkey 10.92 F) must give every printed row within three tenths.
  struct Row {
    double f, chicken, turkey;
  };
  const Row rows[] = {{136, 81.4 * 60, 70.8 * 60}, {138, 52.9 * 60, 48.5 * 60}, {140, 35 * 60, 33.7 * 60},
                      {142, 23.5 * 60, 23.7 * 60}, {144, 15.9 * 60, 16.6 * 60}, {145, 13 * 60, 13.8 * 60},
                      {146, 10.6 * 60, 11.5 * 60}, {148, 6.8 * 60, 7.7 * 60},   {150, 4.2 * 60, 4.9 * 60},
                      {152, 2.3 * 60, 2.8 * 60},   {154, 1.1 * 60, 1.6 * 60},   {155, 54.4, 1.3 * 60},
                      {158, 26.9, 40.9},           {160, 16.9, 26.9},           {162, 10.5, 17.7}};
  const HeatScale chicken{.reference_c = fahrenheit(140), .z = 9.74 / 1.8};
  const HeatScale turkey{.reference_c = fahrenheit(140), .z = 10.92 / 1.8};
  for (const Row& row : rows) {
    INFO(row.f << " F");
    const double c = fahrenheit(row.f);
    const auto reductions = [&](const HeatScale& scale, double printed_s, double at_140_s) {
      const auto received = heat_received(scale, held_at(c, from_seconds(printed_s), noon));
      REQUIRE(received);
      return log_reduction(*received, from_seconds(at_140_s / 7));
    };
    CHECK(reductions(chicken, row.chicken, 35 * 60) == Approx(7).epsilon(0.3));
    CHECK(reductions(turkey, row.turkey, 33.7 * 60) == Approx(7).epsilon(0.3));
  }
}

TEST_CASE("FSIS Appendix A, 6.5-log and 7-log: the rows printed in whole minutes stand between 6.5 and 8 reductions") {
  // USDA FSIS Appendix A (1999). Whole minutes round by up to half a minute: that is the tolerance.
  struct Row {
    double f, s_65, s_70;
  };
  const Row rows[] = {
      {134, 45 * 60, 47 * 60}, {135, 36 * 60, 37 * 60}, {136, 28 * 60, 32 * 60}, {137, 23 * 60, 24 * 60},
      {138, 18 * 60, 19 * 60}, {139, 15 * 60, 15 * 60}, {140, 12 * 60, 12 * 60}, {141, 9 * 60, 10 * 60},
      {142, 8 * 60, 8 * 60},   {143, 6 * 60, 6 * 60},   {144, 5 * 60, 5 * 60},   {145, 4 * 60, 4 * 60},
      {154, 27, 29},           {155, 22, 23},           {156, 17, 19},           {157, 14, 15}};
  for (const Row& row : rows) {
    INFO(row.f << " F");
    const double logs = log_reduction(from_seconds(row.s_70), from_seconds(row.s_65 / 6.5));
    CHECK(logs >= 6.499);  // times are whole milliseconds
    CHECK(logs <= 7.5);
  }
}

TEST_CASE("gels: where each agent sets and melts, as printed") {
  // Comparison of hydrocolloid properties (gellangum.cinogel.com); second values PMC6961714 table 6: gelatine sets
  // below 20 C; Vigouret et al. 1996: methylcellulose gels on heating. Rows from memory say so in their source.
  const auto row = [](const char* agent) {
    const Gel* gel = find_gel(agent);
    INFO(agent);
    REQUIRE(gel != nullptr);
    return *gel;
  };
  CHECK(row("gelatine").sets.high_c == 20.0);
  CHECK(row("kappa carrageenan").sets.low_c == 30.0);
  CHECK(row("kappa carrageenan").sets.high_c == 60.0);
  CHECK(row("iota carrageenan").sets.low_c == 40.0);
  CHECK(row("iota carrageenan").sets.high_c == 70.0);
  CHECK(row("gellan, low acyl").melts.low_c == 90.0);
  CHECK(row("methylcellulose").sets_on_heating);
  for (const char* agent : {"gellan, low acyl", "gellan, high acyl", "methylcellulose"})
    CHECK(std::string(row(agent).source).find("from memory, not checked") != std::string::npos);
}

TEST_CASE("use levels of hydrocolloids, percent of the total mass") {
  // konjacfoods.com hydrocolloids reference; gellan from 0.05 %: gellangum.cn. Guar is from memory and says so.
  struct Row {
    const char* agent;
    double low, high;
  };
  const Row rows[] = {{"gelatine", 0.3, 10},          {"xanthan", 0.02, 0.3},       {"agar", 0.05, 0.5},
                      {"kappa carrageenan", 0.01, 3}, {"iota carrageenan", 0.1, 1}, {"konjac", 0.05, 0.5},
                      {"alginate", 0.005, 1}};
  for (const Row& row : rows) {
    INFO(row.agent);
    const auto found = std::find_if(use_levels().begin(), use_levels().end(),
                                    [&](const UseLevel& one) { return one.agent == row.agent; });
    REQUIRE(found != use_levels().end());
    CHECK(found->low_percent == row.low);
    CHECK(found->high_percent == row.high);
    // A dose inside passes without a word; ten times the upper end is a slipped decimal point.
    CHECK(hydrocolloid(row.agent, 1, (row.low + row.high) / 2)->remark.empty());
    CHECK_FALSE(hydrocolloid(row.agent, 1, 10 * row.high)->remark.empty());
  }
}

TEST_CASE("cooked again: US, 165 F for 15 s, and only before the limit has passed; elsewhere no rule set says how") {
  // Food Code Annex 5 (from memory; a two-stage cooling log of a school prints 165 F for 15 s, once; University of
  // Maine Extension's cooling record sheet 165 F). 74 C is 165 F rounded to whole degrees.
  const RuleSet code = rules_of("us-food-code-2022");
  REQUIRE(code.cooling->recook);
  CHECK(code.cooling->recook->holds.at(0).min_c == Approx(fahrenheit(165)).margin(0.56));
  CHECK(code.cooling->recook->holds.at(0).lasting == seconds(15));
  const auto again = [&](double c, int s, int late_min, int before) {
    return judge_recook(code, held_at(c, seconds(s), noon), minutes(late_min), before).outcome;
  };
  CHECK(again(74, 15, -1, 0) == Outcome::within);
  CHECK(again(74, 14, -1, 0) == Outcome::outside);
  CHECK(again(73.4, 15, -1, 0) == Outcome::outside);
  CHECK(again(74, 15, 1, 0) == Outcome::outside);
  CHECK(again(74, 15, -1, 1) == Outcome::outside);
  for (const char* id : {"england", "scotland", "eu-852-2004"})
    CHECK(judge_recook(rules_of(id), held_at(99, minutes(10), noon), minutes(-1), 0).outcome == Outcome::no_limit);
}

TEST_CASE("power cut: a closed fridge keeps for four hours, a closed freezer half full for a day") {
  // USDA FSIS (quoted by UPI, 28 August 2012) and CDC: 4 hours; 48 hours for a full freezer, 24 for one half full.
  CHECK(closed_fridge == minutes(4 * 60));
  CHECK(closed_freezer == minutes(24 * 60));
  const RuleSet england = rules_of("england");
  CutCase kept;
  kept.since = noon;
  kept.good = noon - minutes(300);  // read in the morning: the door kept what the fridge had kept till then
  const auto state_at = [&](KeptHow how, int after_min) {
    kept.kept = how;
    return judge_cut(england, kept, noon + minutes(after_min)).state;
  };
  CHECK(state_at(KeptHow::cold, 239) == CutState::read_it);
  CHECK(state_at(KeptHow::cold, 240) == CutState::expired);
  CHECK(state_at(KeptHow::frozen, 24 * 60 - 1) == CutState::read_it);
  CHECK(state_at(KeptHow::frozen, 24 * 60) == CutState::expired);
  // SI 2013/2996 sch. 4: hot food below 63 C for less than two hours, and chilled food above 8 C for less than four.
  CHECK(state_at(KeptHow::hot, 119) == CutState::read_it);
  CHECK(state_at(KeptHow::hot, 120) == CutState::expired);
  kept.good = noon;
  kept.back = noon + minutes(60);
  kept.read = noon + minutes(70);
  kept.read_c = 8.1;
  CHECK(state_at(KeptHow::cold, 239) == CutState::decide);
  CHECK(state_at(KeptHow::cold, 240) == CutState::expired);
  kept.read_c = 8;
  CHECK(state_at(KeptHow::cold, 239) == CutState::within);
  CHECK(state_at(KeptHow::cold, 1000) == CutState::within);
  kept.read_c = 62.9;
  CHECK(state_at(KeptHow::hot, 119) == CutState::decide);
  CHECK(state_at(KeptHow::hot, 120) == CutState::expired);
}
