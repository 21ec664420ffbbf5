#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "client/rehearse.hpp"
#include "common/rehearse/summary.hpp"
#include "tests/rehearse/larkfold_night.hpp"

using namespace nappe;
using namespace nappe::rehearse;

namespace {

Stage friday(const Variant& variant = {}) {
  const auto kitchen = tests::larkfold();
  return tests::stage_of(kitchen, tests::larkfold_friday(kitchen), variant);
}

}  // namespace

TEST_CASE("a Friday at Larkfold is played to its end by every rule") {
  const Stage stage = friday();
  Manner manner;
  manner.rule = GENERATE(Rule::at_fire, Rule::fixed, Rule::alone, Rule::planner);
  const NightResult night = play_night(stage, manner, 1, 0);
  CHECK(night.refused == 0);
  CHECK_FALSE(night.unfinished);
  CHECK(night.courses.size() == 48);  // Sixteen tables, three courses each.
  int covers = 0;
  for (const CourseTrace& course : night.courses) {
    CHECK(course.gone > course.fired);
    CHECK(course.word > course.fired);
    CHECK(course.word.time_since_epoch() % minutes(1) == Duration::zero());
    covers += course.course == "mains" ? course.covers : 0;
  }
  CHECK(covers == 48);
  for (const StationNight& station : night.stations)
    for (const double load : station.load) CHECK(load <= 1.0 + 1e-9);
}

TEST_CASE("a slower pair of hands takes longer by as much as it counts for less") {
  Variant one;
  one.hands["garnish"] = 1;
  auto kitchen = tests::larkfold();
  auto sheet = tests::larkfold_friday(kitchen);
  // One table: nobody to share a pan with, whenever its components are begun.
  sheet.bookings.resize(1);
  Manner manner;
  manner.rule = Rule::at_fire;
  const auto quick = play_night(tests::stage_of(kitchen, sheet, one), manner, 3, 0, true);
  for (auto& station : kitchen.stations)
    if (station.id == "garnish") station.people.front().counts = 0.5;
  const auto slow = play_night(tests::stage_of(kitchen, sheet, one), manner, 3, 0, true);
  const auto took = [](const NightResult& night) {
    Duration sum{};
    for (const MoveTrace& move : night.moves)
      if (move.station == 2) sum += move.end - move.start;
    return in_seconds(sum);
  };
  CHECK(took(slow) == Approx(2 * took(quick)).epsilon(1e-4));
}

TEST_CASE("bias stretches what cooks do, and no rest") {
  const Stage stage = friday();
  Manner manner;
  manner.rule = Rule::at_fire;
  manner.scatter = 0;
  manner.wait_scatter = 0;
  const auto work = [&](double bias) {
    manner.bias = bias;
    Duration sum{};
    for (const MoveTrace& move : play_night(stage, manner, 1, 0, true).moves)
      if (stage.kitchen->stations[static_cast<std::size_t>(move.station)].id == "sauce") sum += move.end - move.start;
    return in_seconds(sum);
  };
  CHECK(work(1.12) == Approx(1.12 * work(1.0)).epsilon(1e-4));
}

TEST_CASE("a night with far too much to do says that it was not finished") {
  const auto [stage, manner] = tests::far_too_much();
  const NightResult night = play_night(stage, manner, 1, 0);
  CHECK(night.unfinished);
  CHECK(night.refused == 0);
}

TEST_CASE("hands that nobody has cannot be rehearsed") {
  const auto kitchen = tests::larkfold();
  Variant nobody;
  nobody.hands["pastry"] = 0;
  const auto stage = make_stage(kitchen, tests::larkfold_friday(kitchen), nobody);
  REQUIRE_FALSE(stage);
  CHECK(stage.error().detail.find("nobody stands at \"pastry\"") != std::string::npos);
}

TEST_CASE("a smaller press makes mushrooms wait") {
  auto kitchen = tests::larkfold();
  const auto sheet = tests::larkfold_saturday(kitchen);
  Manner manner;
  manner.rule = Rule::at_fire;
  // Pans of one portion in both, so that only the number of places differs.
  const auto waited = [&](int places) {
    for (auto& station : kitchen.stations)
      for (auto& equipment : station.equipment)
        if (equipment.id == "press") equipment.places = places;
    for (auto& component : kitchen.components)
      if (component.id == "mushroom") component.cap = 1;
    const Stage stage = tests::stage_of(kitchen, sheet);
    Duration sum{};
    for (const MoveTrace& move : play_night(stage, manner, 1, 0, true).moves)
      if (stage.kitchen->components[static_cast<std::size_t>(move.component)].id == "mushroom" && move.step == 0)
        sum += move.start - move.wanted;
    return sum;
  };
  CHECK(waited(1) > waited(3) + minutes(10));
}

TEST_CASE("on the full Saturday planning all tables together spares lateness and windows by a third at least") {
  // The same guests, cooks and luck under both rules; late against the word given when the course was fired.
  const auto kitchen = tests::larkfold();
  const Stage stage = tests::stage_of(kitchen, tests::larkfold_saturday(kitchen));
  struct Share {
    double late = 0;
    double past = 0;
  };
  const auto share_of = [&](Rule rule) {
    Manner manner;
    manner.rule = rule;
    manner.tries = 10;
    int courses = 0, late = 0, pans = 0, past = 0;
    for (int number = 0; number < 8; ++number) {
      const NightResult night = play_night(stage, manner, 1, number);
      REQUIRE_FALSE(night.unfinished);
      REQUIRE(night.refused == 0);
      for (const CourseTrace& course : night.courses) {
        ++courses;
        if (course.gone > course.word + manner.late_after) ++late;
      }
      for (const ComponentNight& component : night.components) {
        pans += component.pans;
        past += component.past;
      }
    }
    return Share{static_cast<double>(late) / courses, static_cast<double>(past) / pans};
  };
  const Share alone = share_of(Rule::alone);
  const Share together = share_of(Rule::planner);
  CAPTURE(alone.late, together.late, alone.past, together.past);
  CHECK(together.late < alone.late * 2 / 3);
  CHECK(together.past < alone.past * 2 / 3);
}

// Each course backwards from a meet that never moves, so that only the order in which hands take their moves differs.
TEST_CASE("D5: hands that take the smallest latest start first are late less often than hands that go by table") {
  const auto kitchen = tests::larkfold();
  const Stage stage = tests::stage_of(kitchen, tests::larkfold_saturday(kitchen));
  const auto nights_of = [&](HandOrder order) {
    Manner manner;
    manner.rule = Rule::fixed;
    manner.order = order;
    return client::play_nights(stage, manner, 1, 80, 0);
  };
  const auto by_table = nights_of(HandOrder::table_time);
  const auto by_start = nights_of(HandOrder::latest_start);
  const Change change = compare("smallest latest start", {}, by_table, by_start, 0);
  CAPTURE(change.late_alone_before.mean, change.late_alone.mean, change.late_alone.error);
  CHECK(told_from_luck(change.late_alone));
  CHECK(change.late_alone.mean < 0);
  // The yardstick is the word that was given: a meet that never moves is the table's own.
  for (const NightResult& night : by_start)
    for (const CourseTrace& course : night.courses) CHECK(course.word == course.word_alone);
}

TEST_CASE("D22: what would have helped is another question than why it was late") {
  const auto kitchen = tests::larkfold();
  const auto sheet = tests::larkfold_saturday(kitchen);
  Manner manner;
  manner.rule = Rule::fixed;
  const auto nights_with = [&](const Variant& variant) {
    return client::play_nights(tests::stage_of(kitchen, sheet, variant), manner, 1, 60, 0);
  };
  Variant garnish, pastry, leek;
  garnish.hands["garnish"] = 3;
  pastry.hands["pastry"] = 2;
  leek.without = {"leek"};
  const Stage stage = tests::stage_of(kitchen, sheet);
  const auto before = nights_with({});
  const auto with_garnish = nights_with(garnish);
  const auto with_pastry = nights_with(pastry);
  const auto without_leek = nights_with(leek);
  const auto spared = [&](const auto& after) { return compare("", manner, before, after, 0).late_alone; };
  const auto share_of = [&](const std::string& station) {
    for (const StationSummary& one : summarise(stage, manner, before).stations)
      if (one.id == station) return one.last_of_late;
    return 0.0;
  };

  // The difference is counted night by night: it is that of the two means, and much surer than they are, since the two
  // evenings share their guests and their luck.
  const Estimate was = summarise(stage, manner, before).late_alone;
  const Estimate is = summarise(stage, manner, with_garnish).late_alone;
  const Estimate by_garnish = spared(with_garnish);
  CHECK(by_garnish.mean == Approx(is.mean - was.mean));
  CHECK(by_garnish.error < std::hypot(is.error, was.error));

  // Garnish is last in most late courses, and a pair of hands there helps. A dish of garnish off does the contrary:
  // those who would have had it eat something else.
  CHECK(share_of("garnish") > 0.5);
  CHECK(told_from_luck(by_garnish));
  CHECK(by_garnish.mean < 0);
  CHECK(std::any_of(kitchen.components.begin(), kitchen.components.end(),
                    [](const auto& one) { return one.id == "leek" && one.station == "garnish"; }));
  CHECK(told_from_luck(spared(without_leek)));
  CHECK(spared(without_leek).mean > 0);
  // Pastry has its share of the late courses; a pair of hands there spares less than one at garnish.
  CHECK(share_of("pastry") > 0.2);
  const Estimate rather = compare("", manner, with_pastry, with_garnish, 0).late_alone;
  CHECK(told_from_luck(rather));
  CHECK(rather.mean < 0);
}

TEST_CASE("36: the house's setting moves the nights from fresh to prompt") {
  auto kitchen = tests::larkfold();
  const auto sheet = tests::larkfold_saturday(kitchen);
  struct Trade {
    double past = 0;
    double minutes = 0;
  };
  const auto trade = [&](double prompt) {
    Variant variant;
    variant.prompt = prompt;
    const Stage stage = tests::stage_of(kitchen, sheet, variant);
    Manner manner;
    manner.tries = 10;
    Trade out;
    int pans = 0, past = 0, courses = 0;
    for (int number = 0; number < 6; ++number) {
      const NightResult night = play_night(stage, manner, 1, number);
      for (const CourseTrace& course : night.courses) {
        out.minutes += in_seconds(course.gone - course.fired) / 60;
        ++courses;
      }
      for (const ComponentNight& component : night.components) {
        pans += component.pans;
        past += component.past;
      }
    }
    out.past = static_cast<double>(past) / pans;
    out.minutes /= courses;
    return out;
  };
  const Trade fresh = trade(0);
  const Trade prompt = trade(1);
  CAPTURE(fresh.past, prompt.past, fresh.minutes, prompt.minutes);
  CHECK(fresh.past < prompt.past);
  CHECK(fresh.minutes > prompt.minutes);
}
