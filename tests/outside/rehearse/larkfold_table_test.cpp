// The invented evenings of Larkfold against an independent rehearsal of the same evenings, made with other cooks and
// another plan (its table is repeated beside each check). Absolute figures hang on invented times and on how cooks
// behave, so only what must not depend on that is asserted: order, and broad bands.
#include <catch2/catch.hpp>

#include "common/rehearse/summary.hpp"
#include "tests/rehearse/larkfold_night.hpp"

using namespace nappe;
using namespace nappe::rehearse;

namespace {

constexpr int nights = 60;

struct Played {
  Stage stage;
  std::vector<NightResult> results;
  Summary summary;
};

Played play(const kitchen::BookingSheet& sheet, Rule rule, HandOrder order, const Variant& variant = {}) {
  Manner manner;
  manner.rule = rule;
  manner.order = order;
  manner.walk_counts = false;  // The independent rehearsal knows no walking.
  Played out{tests::stage_of(tests::larkfold(), sheet, variant), {}, {}};
  for (int night = 0; night < nights; ++night) out.results.push_back(play_night(out.stage, manner, 1, night));
  out.summary = summarise(out.stage, manner, out.results);
  return out;
}

std::size_t tight_of(const Played& played) {
  return static_cast<std::size_t>(played.summary.tightest() - played.summary.stations.data());
}

void say(const char* what, const Played& played) {
  const StationSummary& tight = *played.summary.tightest();
  std::printf(
      "%-42s late %4.1f ± %.1f %%  past %4.1f ± %.1f %%  %s worst %3.0f %%, mean %3.0f %% at %s, over 90: %3.0f %%\n",
      what, 100 * played.summary.late.mean, 100 * played.summary.late.error, 100 * played.summary.past.mean,
      100 * played.summary.past.error, tight.id.c_str(), 100 * tight.worst.mean, 100 * tight.fullest_load,
      clock_text(tight.fullest).c_str(), 100 * tight.over.mean);
}

}  // namespace

TEST_CASE("Friday and Saturday keep the order that an independent rehearsal found") {
  const auto kitchen = tests::larkfold();
  const auto friday = tests::larkfold_friday(kitchen);
  const auto saturday = tests::larkfold_saturday(kitchen);
  const Played friday_follows = play(friday, Rule::alone, HandOrder::latest_start);
  const Played saturday_follows = play(saturday, Rule::alone, HandOrder::latest_start);
  const Played by_table = play(saturday, Rule::fixed, HandOrder::table_time);
  const Played by_start = play(saturday, Rule::fixed, HandOrder::latest_start);
  Variant alone_at_garnish;
  alone_at_garnish.hands["garnish"] = 1;
  const Played no_commis = play(friday, Rule::alone, HandOrder::latest_start, alone_at_garnish);
  Variant ahead;
  ahead.fewer_rounds["emmer"] = 3;
  const Played half_ahead = play(saturday, Rule::alone, HandOrder::latest_start, ahead);
  say("Friday 48, follows", friday_follows);             // theirs: 1.3 %, 7.4 %, garnish 61 %
  say("Friday 48, follows, no commis", no_commis);       // theirs: 33.1 %, 19.6 %, 96 %
  say("Saturday 60, fixed, by table", by_table);         // theirs: 7.4 %, 18.6 %, 86 %
  say("Saturday 60, fixed, by latest start", by_start);  // theirs: 4.7 %, 16.4 %, 87 %
  say("Saturday 60, follows", saturday_follows);         // theirs: 7.5 %, 9.2 %, 86 %
  say("Saturday 60, follows, half ahead", half_ahead);   // theirs: 3.5 %, 8.2 %, 74 %

  for (const Played* one : {&friday_follows, &saturday_follows, &by_table, &by_start, &no_commis, &half_ahead}) {
    CHECK(one->summary.refused == 0);
    CHECK(one->summary.unfinished == 0);
  }
  // Garnish is the tightest station, fullest about 20:30, and fuller on Saturday.
  CHECK(friday_follows.summary.tightest()->id == "garnish");
  CHECK(saturday_follows.summary.tightest()->id == "garnish");
  const Instant half_past = saturday_follows.stage.midnight + std::chrono::hours(20) + minutes(30);
  CHECK(saturday_follows.summary.tightest()->fullest >= half_past - minutes(30));
  CHECK(saturday_follows.summary.tightest()->fullest <= half_past + minutes(30));
  CHECK(saturday_follows.summary.tightest()->worst.mean > friday_follows.summary.tightest()->worst.mean);
  // Theirs: 61 % and 86 % in the fullest quarter-hour, 96 % without the commis.
  CHECK(friday_follows.summary.tightest()->fullest_load == Approx(0.61).margin(0.12));
  CHECK(saturday_follows.summary.tightest()->fullest_load == Approx(0.86).margin(0.12));
  CHECK(no_commis.summary.tightest()->fullest_load == Approx(0.96).margin(0.12));
  // 25 % more covers give more than 25 % more lateness.
  CHECK(saturday_follows.summary.late.mean > 1.25 * friday_follows.summary.late.mean);
  // Without the commis Friday is worse than Saturday with.
  CHECK(no_commis.summary.late.mean > saturday_follows.summary.late.mean);
  // Following the pull saves windows; latest start is not behind table time; emmer half ahead helps.
  const Manner manner;
  const std::size_t garnish = tight_of(saturday_follows);
  const Change follow = compare("follow", manner, by_start.results, saturday_follows.results, garnish);
  CHECK(follow.past.mean < -2 * follow.past.error);
  const Change order = compare("order", manner, by_table.results, by_start.results, garnish);
  CHECK(order.late_alone.mean < 2 * order.late_alone.error);
  const Change helped = compare("ahead", manner, saturday_follows.results, half_ahead.results, garnish);
  CHECK(helped.late_alone.mean < 0);
  CHECK(helped.worst.mean < -2 * helped.worst.error);
}
