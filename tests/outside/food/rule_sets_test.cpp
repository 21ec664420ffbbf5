// The shipped rule sets against the published tables, typed in here a second time from the sources named.

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "common/food/gels.hpp"
#include "common/food/heat.hpp"
#include "common/food/judge.hpp"
#include "common/kitchen/allergen.hpp"
#include "tests/support/rule_files.hpp"

using namespace nappe;
using namespace nappe::food;
using nappe::tests::rules_of;

namespace {

constexpr double celsius(double f) { return (f - 32) / 1.8; }
const Instant noon = *from_rfc3339("2026-11-20T12:00:00Z");

const CookingRule& cooking_of(const RuleSet& rules, const std::string& food) {
  for (const CookingRule& rule : rules.cooking) {
    if (rule.food == food) return rule;
  }
  FAIL("no cooking rule for " << food);
  return rules.cooking.front();
}

}  // namespace

TEST_CASE("Food Code 3-401.11(B)(2): the seventeen rows of the roast table") {
  // Fahrenheit and time as printed (CDC Vessel Sanitation Program 2018 Operations Manual p. 104, from the edition of
  // 2013; the first nine rows also in a printed course, the whole equal to the 6.5-log column of FSIS Appendix A).
  const std::pair<double, double> rows[] = {
      {130, 112 * 60}, {131, 89 * 60}, {133, 56 * 60}, {135, 36 * 60}, {136, 28 * 60}, {138, 18 * 60},
      {140, 12 * 60},  {142, 8 * 60},  {144, 5 * 60},  {145, 4 * 60},  {147, 134},     {149, 85},
      {151, 54},       {153, 34},      {155, 22},      {157, 14},      {158, 0}};
  const RuleSet code = rules_of("us-food-code-2022");
  const CookingRule& roast = cooking_of(code, "whole roast");
  REQUIRE(roast.holds.size() == std::size(rows));
  for (std::size_t i = 0; i < std::size(rows); ++i) {
    INFO(rows[i].first << " F");
    CHECK(roast.holds[i].min_c == Approx(celsius(rows[i].first)).margin(0.051));
    CHECK(in_seconds(roast.holds[i].lasting) == rows[i].second);
    // A roast held so is within (the rows are rounded to a tenth of a degree Celsius); a second less is not, nor half
    // a degree Fahrenheit less.
    const auto held = [&](double c, double s) {
      return judge_cooking(code, "whole roast", held_at(c, from_seconds(s), noon)).outcome;
    };
    const double c = celsius(rows[i].first);
    const double s = std::max(rows[i].second, 1.0);
    CHECK(held(c + 0.051, s) == Outcome::within);
    if (rows[i].second > 0) CHECK(held(c + 0.051, rows[i].second - 1) == Outcome::outside);
    CHECK(held(c - 0.28, s) == Outcome::outside);
  }
}

TEST_CASE("Food Code 3-401.11(A), 3-403.11, 3-501.14, 3-501.16: temperatures in Fahrenheit and times") {
  // Minn. R. 4626.0340, Maine 01-001 ch. 346, Delaware 16 DE 3-403.11, 3-501.14, 3-501.16; FDA summary of changes 2017.
  const RuleSet code = rules_of("us-food-code-2022");
  const auto near_f = [](double c, double f) { return std::abs(c - celsius(f)) <= 0.56; };  // rounded to whole C
  CHECK(near_f(*code.hot_holding->min_c, 135));
  CHECK(near_f(*code.chill_holding->max_c, 41));
  CHECK(near_f(cooking_of(code, "whole meat or fish").holds.at(0).min_c, 145));
  CHECK(cooking_of(code, "whole meat or fish").holds.at(0).lasting == seconds(15));
  CHECK(near_f(cooking_of(code, "poultry").holds.at(0).min_c, 165));
  const std::pair<double, int> minced[] = {{145, 180}, {150, 60}, {155, 17}, {158, 0}};
  for (std::size_t i = 0; i < std::size(minced); ++i) {
    CHECK(near_f(cooking_of(code, "minced").holds.at(i).min_c, minced[i].first));
    CHECK(cooking_of(code, "minced").holds.at(i).lasting == seconds(minced[i].second));
  }
  CHECK(near_f(code.reheating->holds.at(0).min_c, 165));
  CHECK(code.reheating->holds.at(0).lasting == seconds(15));
  CHECK(code.reheating->within == minutes(120));
  REQUIRE(code.cooling->stages.size() == 2);
  CHECK(near_f(*code.cooling->stages[0].from_c, 135));
  CHECK(near_f(code.cooling->stages[0].to_c, 70));
  CHECK(code.cooling->stages[0].within == minutes(120));
  CHECK(near_f(*code.cooling->stages[1].from_c, 135));
  CHECK(near_f(code.cooling->stages[1].to_c, 41));
  CHECK(code.cooling->stages[1].within == minutes(360));
}

TEST_CASE("UK: 63 C, 8 C, two and four hours, 82 C in Scotland, and the table of equivalents") {
  // WSI 2006/31 sch. 4 paras 6, 7(2); UKSI 2013/2996 sch. 4 para. 2; NISR 2006/3 sch. 4 para. 5(1); SSI 2006/3 sch. 4
  // paras 2, 3; the table as quoted from the Food Standards Agency by two trainers.
  const RuleSet england = rules_of("england");
  CHECK(england.hot_holding->min_c == 63.0);
  CHECK(england.hot_holding->outside->shorter_than == minutes(120));
  CHECK(england.hot_holding->outside->periods == 1);
  CHECK(england.chill_holding->max_c == 8.0);
  CHECK(england.chill_holding->outside->shorter_than == minutes(240));
  const std::pair<double, int> table[] = {{60, 45 * 60}, {65, 10 * 60}, {70, 2 * 60}, {75, 30}, {80, 6}};
  REQUIRE(england.reheating->holds.size() == std::size(table));
  for (std::size_t i = 0; i < std::size(table); ++i) {
    CHECK(england.reheating->holds[i].min_c == table[i].first);
    CHECK(england.reheating->holds[i].lasting == seconds(table[i].second));
  }
  const RuleSet scotland = rules_of("scotland");
  CHECK(scotland.hot_holding->min_c == 63.0);
  CHECK(scotland.hot_holding->above);
  CHECK(scotland.reheating->holds.at(0).min_c == 82.0);
  CHECK_FALSE(scotland.chill_holding->max_c);
}

TEST_CASE("every way of cooking a burger in the English set is worth two minutes at 70 C on the scale of ACMSF 2007") {
  const RuleSet england = rules_of("england");
  for (const Hold& hold : cooking_of(england, "burger").holds) {
    INFO(hold.min_c << " C");
    const auto worth = heat_received(burgers, held_at(hold.min_c, hold.lasting, noon));
    REQUIRE(worth);
    CHECK(*worth >= seconds(120));
  }
}

TEST_CASE("EU: Regulation 852/2004 sets no number for hot holding, chill holding, cooling or reheating") {
  const RuleSet eu = rules_of("eu-852-2004");
  CHECK_FALSE(eu.hot_holding->min_c);
  CHECK_FALSE(eu.chill_holding->max_c);
  CHECK(eu.cooling->stages.empty());
  CHECK(eu.reheating->holds.empty());
}

TEST_CASE("FSIS Appendix B can be written as a rule set: 130 to 80 F in 1.5 h, then to 40 F in 5 h") {
  // USDA FSIS Appendix B, options 1 and 3 (guide to Appendix B, v5ultimate.com).
  const auto option = [](double warm_min, double cold_f, double cold_min) {
    RuleSet rules;
    rules.name = "FSIS Appendix B";
    rules.cooling = CoolingRule{{{celsius(130), celsius(80), from_seconds(60 * warm_min)},
                                 {celsius(80), celsius(cold_f), from_seconds(60 * cold_min)}},
                                {"FSIS Appendix B", "option", Standing::guidance, Checked::secondary, {}}};
    return rules;
  };
  const auto run = [](int at_80_f, int cold_at, double cold_f) {
    return CoolingRecord{noon,
                         {{noon, celsius(130)},
                          {noon + minutes(1), celsius(129)},
                          {noon + minutes(at_80_f), celsius(80)},
                          {noon + minutes(at_80_f + 1), celsius(79)},
                          {noon + minutes(cold_at - 1), celsius(cold_f + 1)},
                          {noon + minutes(cold_at), celsius(cold_f)}}};
  };
  const Instant after = noon + minutes(2000);
  const RuleSet first = option(90, 40, 300);
  CHECK(judge_cooling(first, run(90, 390, 40), after).outcome == Outcome::within);
  CHECK(judge_cooling(first, run(95, 390, 40), after).outcome == Outcome::not_decided);  // no reading near 1.5 h
  CHECK(judge_cooling(first, run(90, 393, 40), after).outcome == Outcome::outside);
  const RuleSet cured = option(300, 45, 600);
  CHECK(judge_cooling(cured, run(300, 900, 45), after).outcome == Outcome::within);
  CHECK(judge_cooling(cured, run(300, 903, 45), after).outcome == Outcome::outside);
}

TEST_CASE("gels: agar sets at 35 to 45 C and melts at 80 to 90 C, gelatine melts at 25 to 40 C") {
  // Comparison of hydrocolloid properties, gellangum.cinogel.com; carrageenans melt 10 to 20 C (kappa) and 5 to 10 C
  // (iota) above where they set.
  const Gel* agar = find_gel("agar");
  const Gel* gelatine = find_gel("gelatine");
  const Gel* kappa = find_gel("kappa carrageenan");
  const Gel* iota = find_gel("iota carrageenan");
  REQUIRE((agar && gelatine && kappa && iota));
  CHECK(agar->sets.low_c == 35.0);
  CHECK(agar->sets.high_c == 45.0);
  CHECK(agar->melts.low_c == 80.0);
  CHECK(agar->melts.high_c == 90.0);
  CHECK(gelatine->melts.low_c == 25.0);
  CHECK(gelatine->melts.high_c == 40.0);
  CHECK(*kappa->melts.low_c - *kappa->sets.low_c == 10);
  CHECK(*kappa->melts.high_c - *kappa->sets.high_c == 20);
  CHECK(*iota->melts.low_c - *iota->sets.low_c == 5);
  CHECK(*iota->melts.high_c - *iota->sets.high_c == 10);
}

TEST_CASE(
    "EU: the fourteen groups of Annex II of Regulation 1169/2011, in its order, for the EU, England and Scotland") {
  const std::vector<std::string> annex{"gluten", "crustaceans", "egg",     "fish",   "peanuts",   "soya",  "milk",
                                       "nuts",   "celery",      "mustard", "sesame", "sulphites", "lupin", "molluscs"};
  for (const char* id : {"eu-852-2004", "england", "scotland"}) {
    const RuleSet rules = rules_of(id);
    REQUIRE(rules.allergens);
    CHECK(rules.allergens->groups == annex);
  }
}

TEST_CASE("US: nine major food allergens, FD&C Act 201(qq), and what of the EU's list is not among them") {
  // FALCPA 2004: milk, eggs, fish, Crustacean shellfish, tree nuts, peanuts, wheat, soybeans; FASTER Act 2021: sesame.
  const RuleSet rules = rules_of("us-food-code-2022");
  REQUIRE(rules.allergens);
  const auto& groups = rules.allergens->groups;
  CHECK(groups.size() == 9);
  std::vector<std::string> not_there;
  for (const kitchen::Allergen& one : kitchen::allergens()) {
    const bool asked = std::any_of(groups.begin(), groups.end(),
                                   [&](const std::string& group) { return group == one.name || group == one.group; });
    if (!asked) not_there.emplace_back(one.name);
  }
  CHECK(not_there == std::vector<std::string>{"gluten", "rye", "barley", "oats", "celery", "mustard", "sulphites",
                                              "lupin", "molluscs"});
}
