// The line as cooks and the pass meet it: what presses prove, what is refused and in which words.
#include <catch2/catch.hpp>

#include "common/line/chain.hpp"
#include "tests/support/night.hpp"

using namespace nappe;
using namespace nappe::line;
using nappe::tests::friday;
using nappe::tests::Night;

namespace {

std::string refusal(const Status& status) { return status ? std::string("accepted") : status.error().detail; }

// Table 8, three emmer, fired for 20:02; its emmer pan.
struct Eight {
  Night night{friday(19, 47, 0)};
  TicketId ticket = night.send("8: 1e 2m 3e 4k 5e 6m / 1h 2h 3p 4h 5p 6u");
  PanId emmer = night.pan(ticket, "emmer").id;
  Eight() { REQUIRE(night.ask(Fire{ticket, "starters", to_ms(friday(20, 2))})); }
  const Pan& pan() { return *night.state().find_pan(emmer); }
};

}  // namespace

TEST_CASE("a ticket's portions are in pans by component, split by the cap as evenly as it goes") {
  Night night(friday(19, 0));
  const auto ticket = night.send("8: 1e 2e 3e 4e 5e 6m");
  std::vector<std::size_t> sizes;
  for (const auto& [id, pan] : night.state().pans)
    if (pan.component == "emmer") sizes.push_back(pan.portions.size());
  CHECK(sizes == std::vector<std::size_t>{2, 3});
  CHECK(night.pan(ticket, "mackerel").portions.size() == 1);
}

TEST_CASE("an allergy has a pan of its own") {
  Night night(friday(19, 0));
  night.send("5: 1e 2e!milk 3e");
  std::size_t pans = 0;
  for (const auto& [id, pan] : night.state().pans) {
    if (pan.component != "emmer") continue;
    ++pans;
    CHECK(pan.portions.size() == (pan.allergies.empty() ? 2U : 1U));
  }
  CHECK(pans == 2);
}

TEST_CASE("done ends the hand's step, dates what came before, and starts the wait behind it") {
  Eight t;
  t.night.until(friday(19, 48, 0));
  REQUIRE(t.night.done(t.emmer));
  CHECK(t.pan().runs.size() == 2);
  CHECK(t.pan().runs[0].started == friday(19, 47, 0));  // 45 + 5 * 3 s before the press
  CHECK(t.pan().runs[0].start_inferred);
  CHECK_FALSE(t.pan().runs[0].end_inferred);
  CHECK(t.pan().running() != nullptr);
  CHECK(t.pan().running()->started == friday(19, 48, 0));
  CHECK(t.pan().letter == "A");
}

TEST_CASE("ladles: one more counts, it's there ends the rounds and the cue is on record") {
  Eight t;
  REQUIRE(t.night.done(t.emmer, seconds(60)));
  for (int ladle = 1; ladle <= 5; ++ladle) REQUIRE(t.night.done(t.emmer, seconds(75)));
  CHECK(t.pan().place.round == 5);
  REQUIRE(t.night.ask(OneMore{t.emmer}));
  CHECK(t.pan().place.round == 6);
  t.night.until(t.night.now() + seconds(50));
  REQUIRE(t.night.ask(ItsThere{t.emmer}));
  const auto met = t.night.all<CueMet>();
  REQUIRE(met.size() == 1);
  CHECK(met[0].rounds == 6);
  CHECK_FALSE(met[0].inferred);
  CHECK(refusal(t.night.ask(OneMore{t.emmer})) == "emmer A is not in its rounds now");
}

TEST_CASE("a ninth ladle is nobody's fault: the food says when") {
  Eight t;
  REQUIRE(t.night.done(t.emmer, seconds(60)));
  for (int ladle = 1; ladle <= 9; ++ladle) {
    t.night.until(t.night.now() + seconds(75));
    CHECK(refusal(t.night.ask(OneMore{t.emmer})) == "accepted");
  }
  CHECK(t.pan().place.round == 9);
  REQUIRE(t.night.ask(ItsThere{t.emmer}));
  CHECK(t.night.all<CueMet>().back().rounds == 9);
}

TEST_CASE("tasting without IT'S THERE proves that it was there") {
  Eight t;
  REQUIRE(t.night.done(t.emmer, seconds(60)));
  for (int ladle = 1; ladle <= 7; ++ladle) REQUIRE(t.night.done(t.emmer, seconds(75)));
  t.night.until(t.night.now() + seconds(62));
  REQUIRE(t.night.ask(FinishStep{t.emmer, "taste", 0, false}));
  REQUIRE(t.night.all<CueMet>().size() == 1);
  CHECK(t.night.all<CueMet>()[0].rounds == 7);
  CHECK(t.night.all<CueMet>()[0].inferred);
}

TEST_CASE("a rest is not cut short until a named person says so twice, and it is recorded") {
  Eight t;
  REQUIRE(t.night.done(t.emmer, seconds(60)));
  for (int ladle = 1; ladle <= 7; ++ladle) REQUIRE(t.night.done(t.emmer, seconds(75)));
  t.night.until(t.night.now() + seconds(50));
  REQUIRE(t.night.ask(ItsThere{t.emmer}));
  REQUIRE(t.night.done(t.emmer, seconds(12)));  // taste; the rest of 90 s begins
  t.night.until(t.night.now() + seconds(55));
  const std::string before = fingerprint(t.night.state());
  const auto mount = [&](bool sure, const std::string& by) {
    return t.night.ask(FinishStep{t.emmer, "mount", 0, sure}, by);
  };
  CHECK(refusal(mount(false, "Ines")) ==
        "emmer A must rest another 0:35: say it again, with your name, to cut the rest short");
  CHECK(fingerprint(t.night.state()) == before);
  CHECK(refusal(mount(true, "")) == "cutting the rest of emmer A short needs a name");
  REQUIRE(mount(true, "Ines"));
  const auto words = t.night.all<WordGiven>();
  REQUIRE(words.size() == 1);
  CHECK(words[0].by == "Ines");
  CHECK(words[0].about == "rest cut short by 0:35");
}

TEST_CASE("a press that another hand has made already is refused in words that say when") {
  Eight t;
  t.night.until(friday(19, 48, 0));
  REQUIRE(t.night.done(t.emmer));
  t.night.until(friday(19, 48, 40));
  CHECK(refusal(t.night.ask(FinishStep{t.emmer, "toast", 0, false})) ==
        "toast of emmer A is done already, at 19:48:00");
}

TEST_CASE("a queued press keeps the time at which it was made") {
  Eight t;
  t.night.until(friday(19, 52, 0));
  REQUIRE(t.night.ask_dated(FinishStep{t.emmer, "toast", 0, false}, friday(19, 48, 3)));
  CHECK(t.pan().runs[0].ended == friday(19, 48, 3));
}

TEST_CASE("undo within three seconds puts the pan back where it stood; later it is refused") {
  Eight t;
  t.night.until(friday(19, 48, 0));
  const auto place = t.pan().place;
  REQUIRE(t.night.done(t.emmer));
  t.night.until(friday(19, 48, 3));
  REQUIRE(t.night.ask(Undo{"garnish"}));
  CHECK(t.pan().place == place);
  CHECK_FALSE(t.pan().begun());
  REQUIRE(t.night.done(t.emmer));
  t.night.until(friday(19, 48, 7));
  CHECK(refusal(t.night.ask(Undo{"garnish"})) == "there is no press of the last 3 seconds to take back");
}

TEST_CASE("undo in the middle of the rounds gives the wait back as it ran") {
  Eight t;
  REQUIRE(t.night.done(t.emmer, seconds(60)));
  REQUIRE(t.night.done(t.emmer, seconds(70)));
  REQUIRE(t.night.done(t.emmer, seconds(70)));
  const std::string runs_before = std::to_string(t.pan().runs.size());
  const Instant absorbing = t.pan().running()->started;
  REQUIRE(t.night.done(t.emmer, seconds(70)));
  REQUIRE(t.night.ask(Undo{"garnish"}));
  CHECK(std::to_string(t.pan().runs.size()) == runs_before);
  REQUIRE(t.pan().running() != nullptr);
  CHECK(t.pan().running()->started == absorbing);
  CHECK(t.pan().place.round == 2);
}

TEST_CASE("skipping a hand's step asks once") {
  Eight t;
  CHECK(refusal(t.night.ask(FinishStep{t.emmer, "ladle", 2, false})) ==
        "toast of emmer A comes first: press that, or say it again to skip it");
  t.night.until(friday(19, 55));
  REQUIRE(t.night.ask(FinishStep{t.emmer, "ladle", 2, true}));
  CHECK(t.pan().place.round == 2);
}

TEST_CASE("54: a two-minute rest that runs over is told to the second") {
  // Emmer rests 90 to 180 s; mounting three takes 54 s, and silence proves nothing before those have passed too.
  Eight t;
  REQUIRE(t.night.done(t.emmer, seconds(60)));
  for (int ladle = 1; ladle <= 7; ++ladle) REQUIRE(t.night.done(t.emmer, seconds(75)));
  t.night.until(t.night.now() + seconds(50));
  REQUIRE(t.night.ask(ItsThere{t.emmer}));
  REQUIRE(t.night.done(t.emmer, seconds(12)));
  const Instant rest = t.night.now();
  t.night.until(rest + minutes(10));
  std::vector<std::pair<Mark, Duration>> marks;
  for (const Marked& one : t.night.all<Marked>())
    if (one.step == "settle") marks.emplace_back(one.mark, from_ms(one.at_ms) - rest);
  CHECK(marks == std::vector<std::pair<Mark, Duration>>{{Mark::rest_min, seconds(90)}, {Mark::rest_max, seconds(180)}});
  const auto alerts = t.night.all<AlertRaised>();
  REQUIRE(alerts.size() == 1);
  CHECK(alerts[0].kind == AlertKind::rest_over);
  CHECK(alerts[0].station == "garnish");
  CHECK(from_ms(alerts[0].at_ms) - rest == seconds(180 + 54));
  const auto escalated = t.night.all<AlertEscalated>();
  REQUIRE(escalated.size() == 1);
  REQUIRE(t.night.done(t.emmer));
  CHECK(t.night.state().alerts.empty());
}

TEST_CASE("54, 55: a reduction that runs over is told to the second, and unanswered for 30 s it goes to the pass") {
  Night night(friday(19, 50));
  const auto ticket = night.send("5: - / 1h 2h");
  const PanId sauce = night.pan(ticket, "damson").id;
  REQUIRE(night.ask(Fire{ticket, "mains", to_ms(friday(20, 10))}));
  REQUIRE(night.done(sauce, seconds(21)));
  const Instant reducing = night.now();
  const auto& component = night.state().component_of(*night.state().find_pan(sauce));
  const auto& reduce = component.steps[1];
  REQUIRE(reduce.usual(2) == seconds(88));
  night.until(reducing + minutes(5));
  std::vector<std::pair<Mark, Duration>> marks;
  for (const Marked& one : night.all<Marked>()) marks.emplace_back(one.mark, from_ms(one.at_ms) - reducing);
  CHECK(marks == std::vector<std::pair<Mark, Duration>>{{Mark::usual, seconds(88)}, {Mark::most, reduce.longest(2)}});
  const auto alerts = night.all<AlertRaised>();
  REQUIRE(alerts.size() == 1);
  CHECK(from_ms(alerts[0].at_ms) - reducing == reduce.longest(2) + seconds(16));
  Instant escalated{};
  for (const Event& event : night.log())
    if (std::holds_alternative<AlertEscalated>(event.what)) escalated = event.at;
  CHECK(escalated - from_ms(alerts[0].at_ms) == seconds(30));
}

TEST_CASE("a finished component warns before its keep ends and says when its window has shut") {
  Night night(friday(19, 50));
  const auto ticket = night.send("2: 1m 2m");
  REQUIRE(night.ask(Fire{ticket, "starters", to_ms(friday(19, 54))}));
  const PanId pan = night.pan(ticket, "mackerel").id;
  REQUIRE(night.done(pan, seconds(80)));
  REQUIRE(night.done(pan, seconds(130)));
  const Instant finished = night.now();
  night.until(finished + minutes(6));
  std::vector<std::pair<Mark, Duration>> marks;
  for (const Marked& one : night.all<Marked>())
    if (one.step.empty()) marks.emplace_back(one.mark, from_ms(one.at_ms) - finished);
  CHECK(marks ==
        std::vector<std::pair<Mark, Duration>>{{Mark::keep_low, seconds(220)}, {Mark::keep_end, seconds(240)}});
  std::vector<AlertKind> kinds;
  for (const auto& [id, alert] : night.state().alerts) kinds.push_back(alert.kind);
  CHECK(kinds == std::vector<AlertKind>{AlertKind::window_shut});
  REQUIRE(night.ask(Gone{ticket, "starters", {}, false}));
  CHECK(night.state().alerts.empty());
}

TEST_CASE("44, 47: gone proves every step before it; what has not been begun asks once") {
  Eight t;
  CHECK(refusal(t.night.ask(Gone{t.ticket, "starters", {}, false})).find("has not been begun") != std::string::npos);
  for (const auto& [id, pan] : std::map<PanId, Pan>(t.night.state().pans))
    if (pan.portions.front().plate.course == "starters") REQUIRE(t.night.done(id));
  t.night.until(friday(20, 3));
  REQUIRE(t.night.ask(Gone{t.ticket, "starters", {3}, false}));
  CHECK(t.night.state().find_plate({t.ticket, "starters", 3})->gone == std::nullopt);
  CHECK(t.night.state().find_plate({t.ticket, "starters", 1})->gone == friday(20, 3));
  t.night.until(friday(20, 4));
  REQUIRE(t.night.ask(Gone{t.ticket, "starters", {}, false}));
  const auto gone = t.night.all<CourseGone>();
  REQUIRE(gone.size() == 1);
  CHECK(gone[0].late_ms == 120000);
  CHECK(t.night.state().find_ticket(t.ticket)->find_course("starters")->state == CourseState::gone);
}

TEST_CASE("bring back makes the plate's pan live again") {
  Eight t;
  REQUIRE(t.night.ask(Gone{t.ticket, "starters", {}, true}, "Mara"));
  CHECK(t.night.state().pans_of(CourseKey{t.ticket, "starters"}).empty());
  REQUIRE(t.night.ask(BringBack{t.ticket, "starters", {1}}));
  CHECK(t.night.state().pans_of(PlateKey{t.ticket, "starters", 1}).size() == 1);
  CHECK(refusal(t.night.ask(BringBack{t.ticket, "starters", {1}})).find("nothing to bring back") != std::string::npos);
}

TEST_CASE("an allergy told late blocks what holds it, until a named person clears it") {
  Eight t;
  REQUIRE(t.night.done(t.emmer, seconds(60)));
  REQUIRE(t.night.ask(TellAllergy{t.ticket, 1, {"gluten"}}, "Wren"));
  CHECK(t.night.state().find_plate({t.ticket, "starters", 1})->blocked.count("emmer") == 1);
  CHECK(refusal(t.night.ask(Gone{t.ticket, "starters", {}, true}, "Mara")).find("position 1 of table 8 is blocked") ==
        0);
  CHECK(refusal(t.night.ask(ClearPlate{t.ticket, "starters", 1}, "")).find("needs the name") != std::string::npos);
  REQUIRE(t.night.ask(ChangePlate{t.ticket, "starters", {1, "leek", {}, ""}, true}, "Mara"));
  CHECK(t.night.pan(t.ticket, "leek").portions.size() >= 1);
  CHECK(t.night.state().find_plate({t.ticket, "starters", 1})->blocked.empty());
}

TEST_CASE("a component with two kinds of one group is blocked when it can be made without only one of them") {
  kitchen::Kitchen kitchen = tests::larkfold();
  for (auto& component : kitchen.components) {
    if (component.id != "mackerel") continue;
    component.allergens = {"oats", "rye", "fish"};
    component.without = {{"oats", "no oat cream"}};
  }
  Night night(friday(19, 0), kitchen);
  const auto two = night.send("2: 1m 2m");
  REQUIRE(night.ask(TellAllergy{two, 1, {"gluten"}}, "Wren"));
  CHECK(night.state().find_plate({two, "starters", 1})->blocked.at("mackerel") == "rye");
  CHECK(night.state().find_plate({two, "starters", 2})->blocked.empty());
}

TEST_CASE("an allergy known before the pan was begun does not block it when another is told") {
  Night night(friday(19, 0));
  const auto five = night.send("5: 1m 2e!milk");
  REQUIRE(night.ask(Fire{five, "starters", {}}));
  REQUIRE(night.done(night.pan(five, "emmer").id, seconds(60)));
  REQUIRE(night.ask(TellAllergy{five, 2, {"nuts"}}, "Wren"));
  CHECK(night.state().find_plate({five, "starters", 2})->blocked.empty());
  REQUIRE(night.ask(TellAllergy{five, 2, {"celery"}}, "Wren"));
  CHECK(night.state().find_plate({five, "starters", 2})->blocked.at("emmer") == "celery");
}

TEST_CASE("40: a pan may be joined before its join point, not after, never across an allergy") {
  Night night(friday(20, 10));
  const auto ten = night.send("10: 1e 2e 3m 4k");
  const auto twelve = night.send("12: 1e 2e 3m 4k");
  const auto six = night.send("6: 1k 2e!milk");
  REQUIRE(night.ask(Fire{ten, "starters", to_ms(friday(20, 32))}));
  REQUIRE(night.ask(Fire{twelve, "starters", to_ms(friday(20, 36))}));
  REQUIRE(night.ask(Fire{six, "starters", to_ms(friday(20, 32))}));
  const PanId a = night.pan(ten, "emmer").id;
  const PanId b = night.pan(twelve, "emmer").id;
  const PanId c = night.pan(six, "emmer").id;
  CHECK(refusal(night.ask(JoinPans{c, a})) == "these two emmer cannot share a pan: an allergy keeps them apart");
  CHECK(refusal(night.ask(JoinPans{b, a})) ==
        "these two emmer cannot share a pan: the first table would wait 4:00 for the last, it keeps 1:30");
  REQUIRE(night.done(a, seconds(60)));
  REQUIRE(night.done(a, seconds(60)));
  REQUIRE(night.done(a, seconds(60)));
  REQUIRE(night.ask(MoveMeet{twelve, "starters", to_ms(friday(20, 32))}));
  SECTION("within two ladles") {
    REQUIRE(night.ask(JoinPans{b, a}));
    CHECK(night.state().find_pan(a)->portions_in() == 4);
    CHECK(night.state().find_pan(b) == nullptr);
  }
  SECTION("after the third") {
    REQUIRE(night.done(a, seconds(60)));
    CHECK(refusal(night.ask(JoinPans{b, a})).find("past the point where another portion may join") !=
          std::string::npos);
  }
}

TEST_CASE(
    "a course fired for nearly the same meet shares the pans that may be shared, and leaves them when it is held") {
  Night night(friday(20, 10));
  const auto ten = night.send("10: 1e 2e 3m 4k");
  const auto twelve = night.send("12: 1e 2e 3m 4k");
  REQUIRE(night.ask(Fire{ten, "starters", to_ms(friday(20, 32))}));
  REQUIRE(night.ask(Fire{twelve, "starters", to_ms(friday(20, 32, 40))}));
  const PanId pan = night.pan(ten, "emmer").id;
  CHECK(night.pan(twelve, "emmer").id == pan);
  CHECK(night.state().find_pan(pan)->portions.size() == 4);
  SECTION("held: its portions have a pan of their own again") {
    REQUIRE(night.ask(Hold{twelve, "starters"}));
    CHECK(night.pan(twelve, "emmer").id != pan);
    CHECK(night.pan(twelve, "emmer").portions.size() == 2);
  }
  SECTION("moved by a little: still one pan; by more than it keeps: two") {
    REQUIRE(night.ask(MoveMeet{twelve, "starters", to_ms(friday(20, 33, 20))}));
    CHECK(night.pan(twelve, "emmer").id == pan);
    REQUIRE(night.ask(MoveMeet{twelve, "starters", to_ms(friday(20, 36))}));
    CHECK(night.pan(twelve, "emmer").id != pan);
  }
  SECTION("a wrong course taken back") {
    REQUIRE(night.ask(Undo{"pass"}));
    CHECK(night.pan(twelve, "emmer").id != pan);
    CHECK(night.state().find_ticket(twelve)->find_course("starters")->state == CourseState::waiting);
  }
}

TEST_CASE("4: a meet that something begun cannot wait for is asked about first, and says what and till when") {
  Night night(friday(19, 30));
  const auto two = night.send("2: - / 1p");
  REQUIRE(night.ask(Fire{two, "mains", {}}));
  const PanId pollack = night.pan(two, "pollack").id;
  const Instant meet = *night.state().find_ticket(two)->find_course("mains")->meet;
  // Nothing begun: it may be put off as one likes.
  REQUIRE(night.ask(MoveMeet{two, "mains", to_ms(meet + minutes(20))}));
  REQUIRE(night.ask(MoveMeet{two, "mains", to_ms(meet)}));
  REQUIRE(night.done(pollack, seconds(33)));
  night.until(night.now() + seconds(150));
  REQUIRE(night.done(pollack, seconds(31)));  // turned
  // 150 s of rest at most, 15 to plate, and of the 75 that it keeps 15 are the walk.
  const Instant latest = night.now() + seconds(150 + 15 + 60);
  CHECK(latest_meet(night.state(), {two, "mains"}, night.now())->at == latest);
  REQUIRE(night.ask(MoveMeet{two, "mains", to_ms(latest)}));
  const Status asked = night.ask(MoveMeet{two, "mains", to_ms(latest + seconds(1))});
  REQUIRE_FALSE(asked);
  CHECK(asked.error().detail == "the pollack of the mains of table 2 cannot wait so long: nothing is thrown till " +
                                    clock_text(latest) + "; say it again to move the meet all the same");
  CHECK(*night.state().find_ticket(two)->find_course("mains")->meet == latest);
  REQUIRE(night.ask(MoveMeet{two, "mains", to_ms(latest + minutes(5)), true}));
  // Sooner is nobody's harm.
  REQUIRE(night.ask(MoveMeet{two, "mains", to_ms(latest + minutes(4))}));
}

TEST_CASE("24: what is left cannot be promised twice") {
  Night night(friday(19, 40));
  REQUIRE(night.ask(SetLeft{"pollack", 3}, "Mara"));
  night.send("1: - / 1p 2p");
  CHECK_THROWS_WITH(night.send("2: - / 1p 2p"), Catch::Contains("only 1"));
  night.send("2: - / 1p 2h");
  CHECK_THROWS_WITH(night.send("4: - / 1p 2h"), Catch::Contains("off"));
}

TEST_CASE("cancelling a ticket leaves no portion behind") {
  Eight t;
  REQUIRE(t.night.done(t.emmer, seconds(60)));
  REQUIRE(t.night.ask(CancelTicket{t.ticket, "left"}, "Wren"));
  CHECK(t.night.state().pans.empty());
  CHECK(refusal(t.night.ask(Fire{t.ticket, "mains", {}})).find("was cancelled") != std::string::npos);
}

TEST_CASE("fire, hold, release and a wrong course taken back") {
  Night night(friday(19, 40));
  const auto ticket = night.send("2: 1m 2m / 1h 2p");
  REQUIRE(night.ask(Fire{ticket, "starters", {}}));
  CHECK(night.state().find_ticket(ticket)->find_course("starters")->meet == friday(19, 43, 30));
  night.until(friday(19, 40, 15));
  REQUIRE(night.ask(Undo{"pass"}));
  CHECK(night.state().find_ticket(ticket)->find_course("starters")->state == CourseState::waiting);
  REQUIRE(night.ask(Fire{ticket, "starters", {}}));
  REQUIRE(night.ask(Hold{ticket, "starters"}));
  CHECK(refusal(night.ask(MoveMeet{ticket, "starters", to_ms(friday(19, 50))})) == "accepted");
  night.until(friday(19, 48));
  REQUIRE(night.ask(Release{ticket, "starters", {}}));
  CHECK(night.state().find_ticket(ticket)->find_course("starters")->meet == friday(19, 51, 30));
}

TEST_CASE("a refire cooks the named component again and moves the meet to when it can be there") {
  Night night(friday(20, 0));
  const auto ticket = night.send("5: - / 1h 2h");
  REQUIRE(night.ask(Fire{ticket, "mains", to_ms(friday(20, 20))}));
  REQUIRE(night.ask(Gone{ticket, "mains", {}, true}, "Mara"));
  night.until(friday(20, 4));
  REQUIRE(night.ask(Refire{ticket, "mains", 2, {"loin"}, "too pink"}, "Mara"));
  const PlateKey sent_back{ticket, "mains", 2};
  std::vector<const Pan*> loins;
  for (const Pan* pan : night.state().pans_of(sent_back))
    if (pan->component == "loin") loins.push_back(pan);
  REQUIRE(loins.size() == 1);
  const Pan& again = *loins.front();
  CHECK(again.refire);
  CHECK(again.portions.size() == 1);
  // One loin from nothing takes 16:45.
  CHECK(night.state().find_ticket(ticket)->find_course("mains")->meet == friday(20, 20, 45));
  CHECK(refusal(night.ask(Gone{ticket, "mains", {}, false})).find("has not been begun") != std::string::npos);
}

TEST_CASE("replaying the journal gives the same state") {
  Eight t;
  REQUIRE(t.night.done(t.emmer, seconds(60)));
  t.night.until(friday(20, 40));
  REQUIRE(t.night.ask(Gone{t.ticket, "starters", {}, true}, "Mara"));
  CHECK(fingerprint(tests::replay(t.night.log())) == fingerprint(t.night.state()));
}

TEST_CASE("before a service is open everything but opening one is refused") {
  const State nothing;
  Command command;
  command.action = CancelTicket{TicketId{1}, ""};
  const auto refused = decide(nothing, command, friday(18, 0));
  REQUIRE_FALSE(refused);
  CHECK(refused.error().detail == "no service is open: open one first");
  CHECK_FALSE(next_deadline(nothing));
}
