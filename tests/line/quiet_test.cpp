// A kitchen that never presses a key: hand lists go on by plan and by evidence, and everything so assumed is marked.
#include "common/line/quiet.hpp"

#include <catch2/catch.hpp>

#include "common/line/chain.hpp"
#include "common/line/line.hpp"
#include "tests/support/night.hpp"

using namespace nappe;
using namespace nappe::line;
using nappe::tests::friday;
using nappe::tests::Night;

namespace {

// Every run of this pan that nobody pressed says so.
bool all_inferred(const Pan& pan) {
  return std::all_of(pan.runs.begin(), pan.runs.end(),
                     [](const Run& run) { return run.start_inferred && (!run.ended || run.end_inferred); });
}

// The hand steps of a pan that should have ended by `now` for the meet, and did.
int hand_steps_behind(const State& state, const Pan& pan) {
  int n = 0;
  for (const Run& run : pan.runs)
    if (run.ended && state.component_of(pan).steps[static_cast<std::size_t>(run.step)].by_hand()) ++n;
  return n;
}

}  // namespace

TEST_CASE("44: with no press at all the list goes on by plan, step by step, marked as a guess, and is never history") {
  Night night(friday(19, 40));
  const auto ten = night.send("10: 1e 2e");
  REQUIRE(night.ask(Fire{ten, "starters", to_ms(friday(20, 10))}, "Mara"));
  const PanId emmer = night.pan(ten, "emmer").id;
  int most = 0;
  bool quiet_seen = false;
  for (Instant at = night.now(); at < friday(20, 12); at += seconds(20)) {
    night.until(at);
    const Assumed assumed = assume(night.state(), at);
    REQUIRE(night.state().find_pan(emmer)->runs.empty());
    if (!assumed.state) {
      CHECK(most == 0);
      continue;
    }
    quiet_seen = true;
    CHECK(assumed.quiet.at("garnish") == night.state().opened);
    const Pan& pan = *assumed.state->find_pan(emmer);
    CHECK(all_inferred(pan));
    const int behind = hand_steps_behind(*assumed.state, pan);
    CHECK(behind >= most);
    most = behind;
    // By the promised meet no hand step that ought to be over is still to come, but for the dressing of the plate.
    const auto ahead = steps_ahead(assumed.state->component_of(pan), pan, at);
    const auto latest = latest_starts(ahead, friday(20, 10));
    for (std::size_t i = 0; i < ahead.size(); ++i) {
      const auto& step = assumed.state->component_of(pan).steps[static_cast<std::size_t>(ahead[i].step)];
      if (ahead[i].running || !ahead[i].by_hand || step.kind == kitchen::StepKind::plate) continue;
      CHECK(latest[i] + ahead[i].takes > at);
    }
    CHECK_FALSE(pan.finished);
    CHECK((!assumed.changes_at || *assumed.changes_at > at));
  }
  CHECK(quiet_seen);
  CHECK(most > 5);
  CHECK(night.all<StepStarted>().empty());
}

TEST_CASE("44: a whole service is played with no station press: only gone is asked, and it is never refused") {
  Night night(friday(18, 30));
  struct Course {
    TicketId ticket;
    const char* course;
    Instant meet;
  };
  std::vector<Course> to_fire;
  const char* const lines[] = {"3: 1e 2m / 1h 2p / 1d 2r", "7: 1m 2m 3e 4k / 1h 2h 3p 4u / 1d 2d 3d 4r",
                               "5: 1e 2m 3m 4k!milk / 1h 2h 3p 4u", "11: 1e 2e 3m 4k / 1h 2h 3p 4p / 1d 2d 3r 4r"};
  Instant at = friday(18, 40);
  for (const char* const line : lines) {
    night.until(at);
    const TicketId ticket = night.send(line);
    Instant meet = at + minutes(28);
    for (const line::Course& course : night.state().find_ticket(ticket)->courses) {
      to_fire.push_back({ticket,
                         course.course == "starters" ? "starters"
                         : course.course == "mains"  ? "mains"
                                                     : "desserts",
                         meet});
      meet += minutes(35);
    }
    at += minutes(12);
  }
  std::stable_sort(to_fire.begin(), to_fire.end(), [](const Course& a, const Course& b) { return a.meet < b.meet; });
  for (const Course& one : to_fire) {
    const Instant meet = std::max(one.meet, night.now() + minutes(25));
    const Status fired = night.ask(Fire{one.ticket, one.course, to_ms(meet), true}, "Mara");
    INFO((fired ? std::string() : fired.error().detail));
    REQUIRE(fired);
    night.until(meet + seconds(40));
    const Status gone = night.ask(Gone{one.ticket, one.course, {}, false}, "Mara");
    INFO((gone ? std::string() : gone.error().detail));
    REQUIRE(gone);
    // What has gone is proved: nothing of it is on any list.
    for (const auto& [id, pan] : night.state().pans)
      for (const Portion& portion : pan.portions)
        CHECK_FALSE((portion.plate.ticket == one.ticket && portion.plate.course == one.course));
  }
  CHECK(night.state().pans.empty());
  CHECK(night.all<Pressed>().empty());
  for (const StepEnded& ended : night.all<StepEnded>()) CHECK(ended.inferred);
  CHECK(assume(night.state(), night.now()).state == std::nullopt);
}

TEST_CASE("44: one press, and the list is what is known again; a station that presses is never guessed for") {
  Night night(friday(19, 40));
  const auto ten = night.send("10: 1e 2e 3k");
  REQUIRE(night.ask(Fire{ten, "starters", to_ms(friday(20, 10))}, "Mara"));
  night.until(friday(20, 2));
  REQUIRE(assume(night.state(), night.now()).state);
  const PanId emmer = night.pan(ten, "emmer").id;
  REQUIRE(night.done(emmer));
  const Assumed after = assume(night.state(), night.now());
  CHECK(after.quiet.count("garnish") == 0);
  CHECK_FALSE(after.state);
  // A cook who presses as they go is waited for, not guessed.
  while (night.now() < friday(20, 6)) {
    night.until(night.now() + minutes(1));
    (void)night.done(emmer);
    CHECK(quiet_stations(night.state(), night.now()).count("garnish") == 0);
  }
}

TEST_CASE("44: nothing is assumed of a course that is held, of a table that is up, or of a blocked plate") {
  for (const int which : {0, 1, 2}) {
    Night night(friday(19, 40));
    const auto ten = night.send("10: 1e 2e");
    REQUIRE(night.ask(Fire{ten, "starters", to_ms(friday(20, 10))}, "Mara"));
    if (which == 0) REQUIRE(night.ask(Hold{ten, "starters"}, "Mara"));
    if (which == 1) REQUIRE(night.ask(TableUp{ten}, "Mara"));
    if (which == 2) {
      REQUIRE(night.done(night.pan(ten, "emmer").id));
      for (const int position : {1, 2}) REQUIRE(night.ask(TellAllergy{ten, position, {"gluten"}}, "Wren"));
    }
    night.until(friday(20, 8));
    CHECK_FALSE(assume(night.state(), night.now()).state);
  }
}
