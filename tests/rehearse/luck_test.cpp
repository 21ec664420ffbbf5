// The same seed gives the same bytes; variants share their luck.
#include <catch2/catch.hpp>
#include <cmath>
#include <set>

#include "client/rehearse.hpp"
#include "common/line/ticket_line.hpp"
#include "common/rehearse/guests.hpp"
#include "common/rehearse/report.hpp"
#include "common/rehearse/sentences.hpp"
#include "tests/rehearse/larkfold_night.hpp"

using namespace nappe;
using namespace nappe::rehearse;

namespace {

std::string bytes_of(const Stage& stage, const Manner& manner, std::uint64_t seed, int threads) {
  const int number = manner.rule == Rule::planner ? 2 : 6;
  const auto nights = client::play_nights(stage, manner, seed, number, threads);
  const Summary summary = summarise(stage, manner, nights);
  const std::vector<Change> changes{compare("nothing", manner, nights, nights, 0)};
  const auto sentences = in_sentences(stage, summary, changes);
  const Asked asked{"test", seed, "alone", 0.5, 1, 1, false, {}};
  return to_json(asked, stage, summary, changes, sentences) + to_page(asked, stage, summary, changes);
}

std::size_t index_of(const Stage& stage, const std::string& component) {
  for (std::size_t i = 0; i < stage.kitchen->components.size(); ++i)
    if (stage.kitchen->components[i].id == component) return i;
  throw std::runtime_error("no " + component);
}

}  // namespace

TEST_CASE("the same seed gives the same bytes, on one thread and on several") {
  const auto kitchen = tests::larkfold();
  const Stage stage = tests::stage_of(kitchen, tests::larkfold_friday(kitchen));
  Manner manner;
  manner.rule = GENERATE(Rule::alone, Rule::planner);
  const std::string one = bytes_of(stage, manner, 7, 1);
  CHECK(one == bytes_of(stage, manner, 7, 1));
  CHECK(one == bytes_of(stage, manner, 7, 2));
  CHECK(one == bytes_of(stage, manner, 7, 5));
  CHECK(one != bytes_of(stage, manner, 8, 1));
}

TEST_CASE("no table orders before the first quarter-hour in which load is counted") {
  const auto kitchen = tests::larkfold();
  const Stage stage = tests::stage_of(kitchen, tests::larkfold_saturday(kitchen));
  int early = 0;
  for (int night = 0; night < 1000; ++night)
    for (const Visit& visit : visits(stage, {}, Draws(1, night))) {
      CHECK(visit.orders >= stage.first);
      early += visit.orders < stage.midnight + stage.sheet.bookings.front().at ? 1 : 0;
    }
  CHECK(early > 0);
}

TEST_CASE("a variant that changes nothing gives identical figures") {
  const auto kitchen = tests::larkfold();
  const auto sheet = tests::larkfold_friday(kitchen);
  Variant nothing;
  nothing.hands["garnish"] = 2;
  nothing.moved["t3-1830"] = Duration::zero();
  Manner manner;
  manner.rule = Rule::alone;
  const Stage before = tests::stage_of(kitchen, sheet);
  const Stage after = tests::stage_of(kitchen, sheet, nothing);
  const auto nights = client::play_nights(before, manner, 2, 4, 1);
  const auto again = client::play_nights(after, manner, 2, 4, 1);
  const Change change = compare("nothing", manner, nights, again, 2);
  CHECK(change.late_alone.mean == 0);
  CHECK(change.past.mean == 0);
  CHECK(change.worst.mean == 0);
  CHECK(change.worst.error == 0);
}

TEST_CASE("a dish that is off changes only the plates of those who would have had it") {
  const auto kitchen = tests::larkfold();
  const auto sheet = tests::larkfold_saturday(kitchen);
  Variant off;
  off.without.push_back("emmer");
  const Stage with = tests::stage_of(kitchen, sheet);
  const Stage without = tests::stage_of(kitchen, sheet, off);
  int changed = 0;
  for (int night = 0; night < 5; ++night) {
    const auto a = visits(with, {}, Draws(1, night));
    const auto b = visits(without, {}, Draws(1, night));
    REQUIRE(a.size() == b.size());
    for (std::size_t i = 0; i < a.size(); ++i) {
      CHECK(a[i].arrives == b[i].arrives);
      CHECK(a[i].orders == b[i].orders);
      REQUIRE(a[i].order.courses.size() == b[i].order.courses.size());
      for (std::size_t c = 0; c < a[i].order.courses.size(); ++c)
        for (std::size_t p = 0; p < a[i].order.courses[c].plates.size(); ++p) {
          const auto& was = a[i].order.courses[c].plates[p];
          const auto& is = b[i].order.courses[c].plates[p];
          CHECK(is.dish != "emmer");
          if (was.dish == "emmer")
            ++changed;
          else
            CHECK(was == is);
        }
    }
  }
  CHECK(changed > 0);
}

TEST_CASE("another pair of hands changes who is free and not how long a move takes") {
  const auto kitchen = tests::larkfold();
  const auto sheet = tests::larkfold_friday(kitchen);
  Variant more;
  more.hands["larder"] = 2;
  Manner manner;
  manner.rule = Rule::alone;
  const Stage stage = tests::stage_of(kitchen, sheet);
  const auto alone = play_night(stage, manner, 3, 0, true);
  const auto helped = play_night(tests::stage_of(kitchen, sheet, more), manner, 3, 0, true);
  const auto mackerel = static_cast<int>(index_of(stage, "mackerel"));
  const auto times = [&](const NightResult& night) {
    std::multiset<std::int64_t> out;
    for (const MoveTrace& move : night.moves)
      if (move.component == mackerel) out.insert((move.end - move.start).count());
    return out;
  };
  CHECK_FALSE(times(alone).empty());
  CHECK(times(alone) == times(helped));
}

TEST_CASE("guests' mix follows the sheet, and allergies are kept to") {
  const auto kitchen = tests::larkfold();
  const Stage stage = tests::stage_of(kitchen, tests::larkfold_friday(kitchen));
  std::map<std::string, double> count;
  double starters = 0;
  const int nights = 200;
  for (int night = 0; night < nights; ++night)
    for (const Visit& visit : visits(stage, {}, Draws(1, night))) {
      CHECK(bool(line::check_order(visit.order, *stage.kitchen)));
      for (const auto& course : visit.order.courses)
        for (const auto& plate : course.plates)
          if (course.course == "starters" && visit.order.guests.empty()) {
            ++count[plate.dish];
            ++starters;
          }
    }
  for (const auto& [dish, share] : stage.mix.front().shares) {
    const double error = std::sqrt(share * (1 - share) / starters);
    CHECK(std::abs(count[dish] / starters - share) < 4 * error);
  }
}
