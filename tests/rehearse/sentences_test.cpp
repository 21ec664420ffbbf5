#include "common/rehearse/sentences.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "common/rehearse/helped.hpp"
#include "common/rehearse/report.hpp"
#include "tests/rehearse/larkfold_night.hpp"

using namespace nappe;
using namespace nappe::rehearse;

namespace {

StationSummary station(const std::string& name, double worst, double over, double last_of_late) {
  StationSummary out;
  out.id = name;
  out.name = name;
  out.works = true;
  out.worst.mean = worst;
  out.over = {over, 0.01, 300};
  out.last_of_late = last_of_late;
  return out;
}

// 48 covers, 300 nights, two stations.
Summary quiet_nights() {
  Summary out;
  out.covers = 48;
  out.nights = 300;
  out.stations = {station("Garnish", 0.79, 0.01, 0.3), station("Sauce", 0.75, 0, 0.7)};
  return out;
}

// Late, past their window: differences and their errors.
Change change(const std::string& name, int nights, Estimate late, Estimate past) {
  Change out;
  out.name = name;
  out.nights = nights;
  out.late_alone_before = {0.038, 0.004, nights};
  out.past_before = {0.121, 0.003, nights};
  out.late_alone = late;
  out.past = past;
  return out;
}

}  // namespace

TEST_CASE("the first sentence says whether the line carries the night, and if not, why") {
  Summary summary = quiet_nights();
  const auto first = [&] { return verdict_sentence(summary); };
  CHECK(first() == "48 covers, 300 nights: the line carries it. Garnish is tightest.");
  // A station that is less full on average may be the one that is full on some nights.
  summary.stations[1].over.mean = 0.13;
  CHECK(first() ==
        "48 covers, 300 nights: the line carries it but is full at times: more than 90 % of the hands are wanted at "
        "Sauce on 13.0 % (±1.0) of nights. Garnish is tightest on average, Sauce is most often over 90 % (13.0 % of "
        "nights, Garnish 1.0 %).");
  // One night in twenty is allowed, however its mean is rounded.
  Mean three_in_sixty, seven_in_hundred_forty;
  for (int night = 0; night < 60; ++night) three_in_sixty.add(night % 20 == 0 ? 1 : 0);
  for (int night = 0; night < 140; ++night) seven_in_hundred_forty.add(night % 20 == 19 ? 1 : 0);
  for (const Mean& mean : {three_in_sixty, seven_in_hundred_forty}) {
    Summary at_most = quiet_nights();
    at_most.stations[0].over = mean.estimate();
    at_most.late = mean.estimate();
    CHECK(verdict_sentence(at_most) == "48 covers, 300 nights: the line carries it. Garnish is tightest.");
  }
  summary.late = {0.738, 0.009, 300};
  CHECK(first() ==
        "48 covers, 300 nights: the line does not carry it: 73.8 % (±0.9) of courses go late, and the last component "
        "of 70 % of those comes from Sauce. Garnish is tightest on average, Sauce is most often over 90 % (13.0 % of "
        "nights, Garnish 1.0 %).");
  summary.stations[1].over.mean = 0;
  CHECK(first() ==
        "48 covers, 300 nights: the line does not carry it: 73.8 % (±0.9) of courses go late, and the last component "
        "of 70 % of those comes from Sauce; no station is full. Garnish is tightest.");
  summary.unfinished = 2;
  CHECK(first() ==
        "48 covers, 300 nights: the line does not carry it: in 2 of them plates were still missing ten hours after "
        "the last booking (a station without hands, equipment too small for a pan, or far too much to do); 73.8 % "
        "(±0.9) of courses go late or never, and the last component of 70 % of those comes from Sauce. Garnish is "
        "tightest.");
  summary.stations[1].over = {1, 0, 300};
  CHECK(
      figure_sentences(tests::stage_of(tests::larkfold(), tests::larkfold_friday(tests::larkfold())), summary)[1].rfind(
          "Sauce: on every night some quarter-hour ", 0) == 0);
  summary.unfinished = 300;
  CHECK(first().rfind("48 covers, 300 nights: the line does not carry it: in every night plates ", 0) == 0);
}

TEST_CASE("nights that are not finished do not make courses look punctual") {
  const auto [stage, manner] = tests::far_too_much();
  const NightResult night = play_night(stage, manner, 1, 0);
  REQUIRE(night.unfinished);
  double never = 0;
  for (const CourseTrace& course : night.courses) never += course.gone == Instant{} ? 1 : 0;
  REQUIRE(never > 0);
  const Summary summary = summarise(stage, manner, {night});
  const auto fired = static_cast<double>(night.courses.size());
  CHECK(summary.late.mean >= never / fired);
  CHECK(summary.late_alone.mean >= never / fired);
  CHECK(summary.kept.mean <= 1 - never / fired);
}

TEST_CASE("what would help says by what it counts, and no change spares more than there is") {
  const std::vector<Change> changes{change("no help", 60, {-0.002, 0.003, 60}, {0.001, 0.002, 60}),
                                    change("fewer ladles", 60, {-0.019, 0.004, 60}, {-0.022, 0.003, 60}),
                                    change("pear off", 60, {0.001, 0.003, 60}, {-0.012, 0.002, 60}),
                                    change("one pair less", 60, {0.1, 0.01, 60}, {0, 0, 60})};
  const auto said = help_sentences(changes);
  REQUIRE(said.size() == 6);
  CHECK(
      said[0] ==
      "What would help? The first 60 nights were played again with one thing changed. Counted against what each table "
      "would be told if it had the kitchen to itself, 3.8 % (±0.4) of courses are late in them, and 12.1 % (±0.3) "
      "of components are past their window.");
  CHECK(said[1] == "Most against lateness: fewer ladles.");
  CHECK(said[2] ==
        "With fewer ladles: 1.9 points (±0.4) fewer courses late by that count, 2.2 points (±0.3) fewer components "
        "past their window.");
  CHECK(said[3] == "With pear off: 1.2 points (±0.2) fewer components past their window.");
  CHECK(said[4] ==
        "With no help: no difference that 60 nights could tell from luck (0.2 points (±0.3) fewer courses late by "
        "that count, 0.1 points (±0.2) more components past their window).");
  CHECK(said[5] == "With one pair less: 10.0 points (±1.0) more courses late by that count.");

  // What a change spares is counted over the same nights as what there is.
  const auto kitchen = tests::larkfold();
  const Stage stage = tests::stage_of(kitchen, tests::larkfold_saturday(kitchen));
  Manner manner;
  manner.rule = Rule::alone;
  std::vector<NightResult> nights;
  for (int night = 0; night < 3; ++night) nights.push_back(play_night(stage, manner, 1, night));
  const std::vector<NightResult> first(nights.begin(), nights.begin() + 2);
  std::vector<NightResult> punctual = first;
  for (NightResult& night : punctual)
    for (CourseTrace& course : night.courses) course.gone = course.word_alone;
  const Change all = compare("all in time", manner, first, punctual, 2);
  CHECK(all.late_alone_before.mean == Approx(summarise(stage, manner, first).late_alone.mean));
  CHECK(all.late_alone.mean == Approx(-all.late_alone_before.mean));
}

TEST_CASE("few nights claim nothing") {
  // Two nights that agree have no deviation, and prove nothing all the same.
  CHECK_FALSE(told_from_luck({-0.02, 0, 2}));
  CHECK_FALSE(told_from_luck({-0.02, 0, nights_to_tell - 1}));
  CHECK(told_from_luck({-0.02, 0, nights_to_tell}));
  CHECK_FALSE(told_from_luck({0, 0, 300}));
  // Student's t for 9 degrees of freedom is 2.262, for 59 it is 2.001.
  CHECK_FALSE(told_from_luck({0.0226, 0.01, 10}));
  CHECK(told_from_luck({0.0227, 0.01, 10}));
  CHECK(told_from_luck({0.0201, 0.01, 60}));

  const auto nothing = help_sentences({change("pear off", 60, {0, 0, 60}, {0, 0, 60})});
  CHECK(nothing.back() ==
        "With pear off: no difference that 60 nights could tell from luck (as many courses late by that count, as many "
        "components past their window).");
  const auto two = help_sentences({change("fewer ladles", 2, {-0.02, 0, 2}, {0.01, 0.01, 2})});
  REQUIRE(two.size() == 2);
  CHECK(two[0].find(" 2 nights cannot tell a change from luck; it takes 6 at least.") != std::string::npos);
  CHECK(two[1] ==
        "With fewer ladles: 2.0 points fewer courses late by that count, 1.0 points (±1.0) more components "
        "past their window.");
}

TEST_CASE("one night has no ±") {
  const auto kitchen = tests::larkfold();
  const Stage stage = tests::stage_of(kitchen, tests::larkfold_friday(kitchen));
  Manner manner;
  manner.rule = Rule::alone;
  const std::vector<NightResult> nights{play_night(stage, manner, 1, 0)};
  const Summary summary = summarise(stage, manner, nights);
  const std::vector<Change> changes{compare("nothing", manner, nights, nights, 2)};
  for (const std::string& said : in_sentences(stage, summary, changes)) {
    CAPTURE(said);
    CHECK((said.find("±") == std::string::npos || said == "One night says nothing about luck: no ± is known."));
    CHECK(said.find("1 nights") == std::string::npos);
  }
  Summary quiet = quiet_nights();
  quiet.nights = 1;
  CHECK(verdict_sentence(quiet) == "48 covers, 1 night: the line carries it this once. Garnish is tightest.");
  const auto figures =
      nlohmann::json::parse(to_json({}, stage, summary, changes, in_sentences(stage, summary, changes)));
  CHECK(figures.at("late").at("standard_error").is_null());
  CHECK(figures.at("changes")[0].at("difference").at("past_window").at("standard_error").is_null());
  CHECK(figures.at("changes")[0].at("before").at("late_against_the_table_alone").at("mean") ==
        figures.at("late_against_the_table_alone").at("mean"));
}
