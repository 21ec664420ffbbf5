// Batches, readings and what the record keeps of them, on the demo restaurant's Friday.
#include <catch2/catch.hpp>
#include <functional>

#include "common/food/conduction.hpp"
#include "common/line/batches.hpp"
#include "common/line/ticket_line.hpp"
#include "tests/line/asked.hpp"

using namespace nappe;
using namespace nappe::line;
using tests::batch;
using tests::friday;
using tests::holds;
using tests::must;
using tests::Night;
using tests::of_batch;
using tests::of_place;
using tests::refusal;

namespace {

MakeBatch batch_of(const std::string& kind) {
  MakeBatch make;
  make.kind = kind;
  make.labelled = true;
  return make;
}

MakeBatch puree(std::optional<int> portions = std::nullopt) {
  MakeBatch make = batch_of("swede_puree");
  make.portions = portions;
  make.use_by_days = 3;
  make.kept_in = "walk-in";
  make.kept_c = 5;
  make.allergens = std::vector<std::string>{"milk"};
  make.lots = {{"swede 4711", {}}};
  return make;
}

MakeBatch emulsion() {
  MakeBatch make = batch_of("emulsion");
  make.station = "sauce";
  make.life_min = 120;
  make.portions = 16;
  make.kept_in = "water bath";
  make.kept_c = 52;
  make.allergens = std::vector<std::string>{"milk", "sulphites"};
  return make;
}

// Cooks a pan of this component to its plates.
void dress(Night& night, TicketId ticket, const std::string& component) {
  const PanId pan = night.pan(ticket, component).id;
  for (int presses = 0; presses < 40; ++presses) {
    const Pan* at = night.state().find_pan(pan);
    if (at == nullptr || at->finished) return;
    if (!night.done(pan, minutes(2))) return;
  }
}

void same_after_replay(const Night& night) {
  CHECK(fingerprint(tests::replay(night.log())) == fingerprint(night.state()));
}

}  // namespace

TEST_CASE("a batch knows who made it, from which lots, where it is and until when, and replay gives the same") {
  Night night(friday(9, 0));
  night.adopt("england", true);
  must(night, puree(24));
  const Batch& made = batch(night, "swede_puree-20261120");
  CHECK(made.by == "Tom");
  CHECK(made.name == "swede puree");
  CHECK(made.lots.front().what == "swede 4711");
  CHECK(made.kept_in == "walk-in");
  CHECK(made.portions == 24);
  CHECK(made.use_by == friday(0, 0) + std::chrono::hours(24 * 4));  // the end of the third day on
  must(night, puree());
  CHECK(night.state().record().find("swede_puree-20261120-2") != nullptr);
  CHECK(holds(refusal(night, puree(), ""), "needs a name"));
  same_after_replay(night);
}

TEST_CASE("an empty batch is not made, and a batch is not split into more than it holds") {
  Night night(friday(9, 0));
  CHECK(holds(refusal(night, puree(0)), "something in it"));
  must(night, puree(2));
  CHECK(holds(refusal(night, SplitBatch{"swede_puree-20261120", 3, {}}), "too little"));
  CHECK(holds(refusal(night, SplitBatch{"swede_puree-20261120", 1, {}}), "2 to 20"));
  must(night, SplitBatch{"swede_puree-20261120", 2, {}});
}

TEST_CASE("nothing says until when: the batch is refused and told what to give") {
  Night night(friday(9, 0));
  MakeBatch make = batch_of("stock");
  CHECK(holds(refusal(night, make), "give the component a life"));
  make.lots = {{"bones 12", to_ms(friday(18, 0))}};
  must(night, make);
  CHECK(batch(night, "stock-20261120").use_by == friday(18, 0));
  CHECK(batch(night, "stock-20261120").ends == "lot bones 12");
}

TEST_CASE("use-by is the earliest of life, opened packets, lots' dates and ten days in a vacuum") {
  struct Case {
    const char* what;
    std::function<void(MakeBatch&)> set;
    Instant use_by;
  };
  const Instant made = friday(9, 0);
  const Case cases[] = {
      {"life", [](MakeBatch& m) { m.life_min = 120; }, made + minutes(120)},
      {"lot",
       [&](MakeBatch& m) {
         m.use_by_days = 3, m.lots = {{"cream", to_ms(friday(20, 0))}};
       },
       friday(20, 0)},
      {"vacuum", [](MakeBatch& m) { m.use_by_days = 30, m.vacuum = true; }, made + minutes(10 * 24 * 60)},
      {"another control", [](MakeBatch& m) { m.use_by_days = 30, m.vacuum = true, m.other_control = true; },
       friday(0, 0) + minutes(31 * 24 * 60)},
  };
  for (const Case& one : cases) {
    CAPTURE(one.what);
    Night night(made);
    MakeBatch make = batch_of("thing");
    one.set(make);
    must(night, make);
    CHECK(batch(night, "thing-20261120").use_by == one.use_by);
  }
  Night night(made);
  must(night, puree());
  must(night, OpenBatch{"swede_puree-20261120", 24 * 60});
  CHECK(batch(night, "swede_puree-20261120").use_by == made + minutes(24 * 60));
  CHECK(batch(night, "swede_puree-20261120").ends == "opened");
}

TEST_CASE("a mixed batch takes the older date and the union of allergens and lots, and nothing is left of the others") {
  Night night(friday(9, 0));
  must(night, puree(10));
  night.until(friday(15, 0));
  MakeBatch second = puree(5);
  second.use_by_days = 1;
  second.allergens = std::vector<std::string>{"celery"};
  second.lots = {{"celeriac 9", {}}};
  must(night, second);
  must(night, MixBatches{{"swede_puree-20261120", "swede_puree-20261120-2"}, {}, {}}, "Ines");
  const Batch& mixed = batch(night, "swede_puree-20261120-3");
  CHECK(mixed.made == friday(9, 0));
  CHECK(mixed.use_by == friday(0, 0) + minutes(2 * 24 * 60));
  CHECK(mixed.allergens == std::vector<std::string>{"celery", "milk"});
  CHECK(mixed.lots.size() == 2);
  CHECK(mixed.portions == 15);
  CHECK_FALSE(mixed.labelled);  // it needs a new one
  CHECK(batch(night, "swede_puree-20261120").ended == "mixed into swede_puree-20261120-3");
  CHECK(holds(refusal(night, LabelBatch{"swede_puree-20261120", false}), "nothing is left"));
  same_after_replay(night);
}

TEST_CASE("a batch is called free from something only with clean first ticked and nothing in it that holds it") {
  Night night(friday(10, 0));
  MakeBatch make = batch_of("swede_no_butter");
  make.use_by_days = 3;
  make.free_from = std::vector<std::string>{"milk"};
  CHECK(holds(refusal(night, make), "clean first"));
  make.clean_first = true;
  make.allergens = std::vector<std::string>{"milk"};
  CHECK(holds(refusal(night, make), "it holds milk"));
  make.allergens = std::vector<std::string>{"haze"};
  CHECK(holds(refusal(night, make), "no allergen \"haze\""));
  make.allergens.reset();
  must(night, make);
  CHECK(batch(night, "swede_no_butter-20261120").free_from == std::vector<std::string>{"milk"});
}

TEST_CASE("a probe that failed its check decides about no food until it is checked again") {
  Night night(friday(11, 5));
  night.adopt("england", true);
  MakeBatch make = puree();
  make.grams = 7000;
  make.station = "garnish";
  must(night, make);
  must(night, StartChill{"swede_puree-20261120", 90, -5, "blue", {}});
  must(night, CheckProbe{"blue", Bath::iced, 4});
  night.until(friday(11, 45));
  const auto readings = night.all<ReadingTaken>().size();
  CHECK(refusal(night, of_batch("swede_puree-20261120", 5)) ==
        "probe blue failed its check at 2026-11-20 11:05: read it with another, or check this one again");
  CHECK(night.all<ReadingTaken>().size() == readings);
  must(night, CheckProbe{"blue", Bath::iced, 0.2});
  must(night, of_batch("swede_puree-20261120", 60));
}

TEST_CASE("a 40 mm tray that will miss 90 minutes is reported before half of that time has passed, and can be split") {
  Night night(friday(11, 5));
  night.adopt("england", true);
  MakeBatch make = puree();
  make.grams = 7000;
  make.station = "garnish";
  must(night, make);
  must(night, StartChill{"swede_puree-20261120", 90, -5, "blue", {}});
  night.until(friday(11, 25));
  must(night, of_batch("swede_puree-20261120", 72));
  const auto judged = night.all<ChillJudged>();
  REQUIRE(!judged.empty());
  CHECK(judged.back().verdict == "will miss");
  CHECK(holds(judged.back().says, "Split it"));
  CHECK(holds(judged.back().says, "Limit of Larkfold ("));
  CHECK(night.now() < friday(11, 5) + minutes(45));
  const auto alerts = night.all<AlertRaised>();
  REQUIRE(alerts.size() == 1);
  CHECK(alerts.front().kind == AlertKind::chill_late);
  CHECK(alerts.front().station == "garnish");

  must(night, SplitBatch{"swede_puree-20261120", 3, {}});
  CHECK(night.state().alerts.empty());  // the hand it wanted has done it
  const Batch& first = batch(night, "swede_puree-20261120-a");
  CHECK(first.grams == 2333);
  CHECK(batch(night, "swede_puree-20261120-b").grams.value() + batch(night, "swede_puree-20261120-c").grams.value() ==
        4667);
  CHECK_FALSE(first.labelled);
  // What is thinner cools faster: it makes it, and the clock has run since 11:05.
  night.until(friday(11, 55));
  must(night, of_batch("swede_puree-20261120-a", 20));
  night.until(friday(12, 20));
  must(night, of_batch("swede_puree-20261120-a", 7.5));
  CHECK(batch(night, "swede_puree-20261120-a").chilling->verdict == "made");
  // The other two were not read: at 12:35 nobody knows, and nothing may be made of them.
  night.until(friday(12, 36));
  CHECK(batch(night, "swede_puree-20261120-b").chilling->verdict == "gap");
  CHECK_FALSE(batch(night, "swede_puree-20261120-b").unfit().empty());
  CHECK(holds(refusal(night, KeepBatch{"swede_puree-20261120-b", Fate::keep}), "throw it"));
  same_after_replay(night);
}

TEST_CASE("a tray that is too warm after the limit is blocked and can only be thrown") {
  Night night(friday(11, 5));
  night.adopt("england");
  must(night, puree());
  must(night, StartChill{"swede_puree-20261120", 90, -5, "blue", {}});
  night.until(friday(12, 35));
  must(night, of_batch("swede_puree-20261120", 14));
  CHECK(holds(batch(night, "swede_puree-20261120").blocked, "outside the limit"));
  CHECK(holds(refusal(night, ReheatBatch{"swede_puree-20261120", 75, 30, "blue", false, {}}), "may not be used"));
  must(night, ThrowBatch{"swede_puree-20261120", "too slow", {}, {}});
  CHECK(batch(night, "swede_puree-20261120").ended == "thrown");
}

TEST_CASE(
    "reheating: 70 C for 119 s is refused, for 120 s accepted, 65 C for 10 min accepted, 81 C refused in Scotland") {
  struct Case {
    const char* rules;
    double celsius;
    int seconds;
    bool accepted;
  };
  // FSA table of equivalents of 70 C for 2 minutes; Food Hygiene (Scotland) Regulations 2006, sch. 4 para. 3: 82 C.
  const Case cases[] = {{"england", 70, 119, false}, {"england", 70, 120, true},   {"england", 65, 600, true},
                        {"england", 65, 599, false}, {"scotland", 81, 600, false}, {"scotland", 82, 0, true}};
  for (const Case& one : cases) {
    CAPTURE(one.rules, one.celsius, one.seconds);
    Night night(friday(17, 0));
    night.adopt(one.rules);
    must(night, puree());
    const ReheatBatch reheat{"swede_puree-20261120", one.celsius, one.seconds, "blue", false, {}};
    if (one.accepted) {
      must(night, reheat);
      CHECK(holds(night.all<BatchReheated>().front().says, "Within the limit of"));
    } else {
      const std::string why = refusal(night, reheat);
      CHECK(holds(why, "Outside the limit of"));
      CHECK(holds(why, "("));
    }
  }
}

TEST_CASE("a second reheating is refused with the first one's time and name, and the batch ends that day") {
  Night night(friday(17, 0));
  night.adopt("england", true);
  must(night, puree());
  must(night, ReheatBatch{"swede_puree-20261120", 75, 30, "blue", false, {}}, "Ines");
  CHECK(batch(night, "swede_puree-20261120").use_by == friday(0, 0) + minutes(24 * 60));
  night.until(friday(20, 0));
  const std::string why = refusal(night, ReheatBatch{"swede_puree-20261120", 75, 30, "blue", false, {}}, "Tom");
  CHECK(holds(why, "2026-11-20 17:00"));
  CHECK(holds(why, "Ines"));
  CHECK(holds(refusal(night, KeepBatch{"swede_puree-20261120", Fate::keep}), "same day"));
  // What is made from it is reheated too.
  MakeBatch soup = batch_of("soup");
  soup.use_by_days = 2;
  soup.made_from = {"swede_puree-20261120"};
  must(night, soup);
  CHECK(holds(refusal(night, ReheatBatch{"soup-20261120", 75, 30, "blue", false, {}}), "17:00 by Ines"));
}

TEST_CASE("the emulsion born 17:50 ends at 19:50 and its remaking is wanted before 19:35") {
  Night night(friday(17, 30));
  night.adopt("england", true);
  night.until(friday(17, 50));
  must(night, emulsion(), "Bashir");
  const Batch& first = batch(night, "emulsion-20261120");
  CHECK(first.use_by == friday(19, 50));
  // The counter that says so is the rule set's: below 63 C once, for less than two hours.
  CHECK(first.outside.since == friday(17, 50));
  const auto wanted = remakes(night.state());
  REQUIRE(wanted.size() == 1);
  CHECK(wanted.front().begin == friday(19, 35));
  night.until(friday(19, 34));
  CHECK(night.all<AlertRaised>().empty());
  night.until(friday(19, 35));
  REQUIRE(night.all<AlertRaised>().size() == 1);
  CHECK(night.all<AlertRaised>().front().station == "sauce");
  must(night, emulsion(), "Bashir");
  CHECK(night.state().alerts.empty());
  night.until(friday(19, 50));
  CHECK(batch(night, "emulsion-20261120").past);
  CHECK(holds(batch(night, "emulsion-20261120").unfit(), "past its use-by"));
  CHECK(batch(night, "emulsion-20261120-2").unfit().empty());
  same_after_replay(night);
}

TEST_CASE("the time outside is inherited by what is made from a batch") {
  Night night(friday(17, 50));
  night.adopt("england", true);
  must(night, emulsion());
  night.until(friday(18, 50));
  MakeBatch second = emulsion();
  second.kind = "dressing";
  second.life_min.reset();
  second.use_by_days = 1;
  second.made_from = {"emulsion-20261120"};
  must(night, second);
  CHECK(batch(night, "dressing-20261120").use_by == friday(19, 50));
}

TEST_CASE("portions count down as plates are dressed, each plate is traced, and a press taken back puts them back") {
  Night night(friday(18, 0));
  must(night, puree(2));
  const TicketId ticket = night.send("3: / 1h 2h");
  CHECK(portions_unpromised(night.state(), "swede") == 0);
  must(night, Fire{ticket, "mains", {}}, "Mara");
  dress(night, ticket, "swede");
  const auto drawn = night.all<BatchDrawn>();
  REQUIRE(drawn.size() == 2);
  CHECK(drawn.front().batch == "swede_puree-20261120");
  CHECK(drawn.front().table == "3");
  CHECK(drawn.front().dish == "hogget");
  CHECK(batch(night, "swede_puree-20261120").ended == "used up");
  must(night, Undo{"garnish"}, "Ines");
  CHECK(night.all<BatchReturned>().size() == 2);
  CHECK(batch(night, "swede_puree-20261120").portions == 2);
  CHECK(batch(night, "swede_puree-20261120").there());
  same_after_replay(night);
}

TEST_CASE("a ticket that asks for more than the batches hold is refused in words") {
  Night night(friday(18, 0));
  must(night, puree(1));
  const auto order = read_ticket_line("3: / 1h 2h", *night.state().kitchen);
  REQUIRE(order);
  CHECK(holds(refusal(night, SendTicket{*order}, "Wren"), "1 of swede are left"));
  must(night, CountBatch{"swede_puree-20261120", 2, {}});
  must(night, SendTicket{*order}, "Wren");
  CHECK(night.all<BatchCounted>().front().portions_before == 1);
}

TEST_CASE("no label, no use: the plate is dressed and the gap stays in the record") {
  Night night(friday(18, 0));
  must(night, puree());
  must(night, LabelBatch{"swede_puree-20261120", false}, "Dov");
  const TicketId ticket = night.send("3: / 1h");
  must(night, Fire{ticket, "mains", {}}, "Mara");
  dress(night, ticket, "swede");
  CHECK(night.all<BatchDrawn>().empty());
  REQUIRE(night.all<DrawnUntraced>().size() == 1);
  CHECK(holds(night.all<DrawnUntraced>().front().why, "it has no label"));
}

TEST_CASE("a guest without milk is served from the batch that was made without it") {
  Night night(friday(18, 0));
  must(night, puree(9));
  MakeBatch make = batch_of("swede_no_butter");
  make.use_by_days = 3;
  make.portions = 3;
  make.free_from = std::vector<std::string>{"milk"};
  make.clean_first = true;
  must(night, make);
  const TicketId ticket = night.send("3: / 1h 2h!milk");
  must(night, Fire{ticket, "mains", {}}, "Mara");
  while (batch(night, "swede_no_butter-20261120").portions == 3 || batch(night, "swede_puree-20261120").portions == 9) {
    const std::size_t before = night.log().size();
    for (const auto& [id, pan] : std::map(night.state().pans))
      if (pan.component == "swede") (void)night.done(id, minutes(2));
    REQUIRE(night.log().size() > before);
  }
  CHECK(batch(night, "swede_no_butter-20261120").portions == 2);
  CHECK(batch(night, "swede_puree-20261120").portions == 8);
}

TEST_CASE("one high reading of a fridge is a door, three are a fault, and the clock runs from the last good one") {
  Night night(friday(12, 0));
  night.adopt("england");
  must(night, puree());
  must(night, of_place("walk-in", 4.1), "Dov");
  night.until(friday(13, 0));
  must(night, of_place("walk-in", 9.4), "Dov");
  CHECK(night.all<PlaceJudged>().empty());
  must(night, of_place("walk-in", 4.5), "Dov");  // the door was shut
  night.until(friday(14, 0));
  for (int i = 0; i < 3; ++i) {
    CHECK(night.all<PlaceJudged>().empty());
    must(night, of_place("walk-in", 9.4), "Dov");
    night.until(night.now() + minutes(10));
  }
  REQUIRE(night.all<PlaceJudged>().size() == 1);
  const PlaceJudged fault = night.all<PlaceJudged>().front();
  CHECK(fault.fault);
  CHECK(fault.since_ms == to_ms(friday(13, 0)));
  CHECK(holds(fault.says, "swede_puree-20261120"));
  CHECK(batch(night, "swede_puree-20261120").outside.since == friday(13, 0));
  must(night, of_place("walk-in", 5), "Dov");
  CHECK_FALSE(night.all<PlaceJudged>().back().fault);
  CHECK(food::outside_for(batch(night, "swede_puree-20261120").outside, friday(20, 0)) == minutes(90));
  same_after_replay(night);
}

TEST_CASE(
    "a probe is good from -1 to +1 in ice and from 99 to 101 in boiling water; a failed check lists its readings") {
  struct Case {
    Bath bath;
    double celsius;
    bool passed;
  };
  const Case cases[] = {{Bath::iced, -1, true},       {Bath::iced, 1, true},        {Bath::iced, -1.1, false},
                        {Bath::iced, 1.1, false},     {Bath::boiling, 99, true},    {Bath::boiling, 101, true},
                        {Bath::boiling, 98.9, false}, {Bath::boiling, 101.1, false}};
  for (const Case& one : cases) {
    CAPTURE(one.celsius);
    Night night(friday(9, 0));
    must(night, CheckProbe{"blue", one.bath, one.celsius});
    CHECK(night.all<ProbeChecked>().front().passed == one.passed);
  }
  Night night(friday(9, 0));
  must(night, puree());
  must(night, of_batch("swede_puree-20261120", 4));
  night.until(friday(10, 0));
  must(night, CheckProbe{"blue", Bath::iced, 0.2});
  night.until(friday(11, 0));
  must(night, of_batch("swede_puree-20261120", 4));
  must(night, of_place("walk-in", 4));
  TakeReading other = of_batch("swede_puree-20261120", 4);
  other.probe = "red";
  must(night, other);
  must(night, CheckProbe{"blue", Bath::boiling, 97});
  CHECK(night.all<ProbeChecked>().back().doubtful == std::vector<int>{2, 3});
}

TEST_CASE("a reading entered later says so, a correction stands beside its reading") {
  Night night(friday(12, 0));
  night.adopt("england");
  must(night, puree());
  night.until(friday(13, 0));
  TakeReading late = of_batch("swede_puree-20261120", 4.2);
  late.taken_ms = to_ms(friday(12, 30));
  must(night, late);
  CHECK(night.all<ReadingTaken>().front().entered_later);
  CHECK(night.all<ReadingTaken>().front().taken_ms == to_ms(friday(12, 30)));
  late.taken_ms = to_ms(friday(14, 0));
  CHECK(holds(refusal(night, late), "has not come yet"));
  must(night, CorrectReading{1, 2.4, "read off the wrong tray"}, "Dov");
  CHECK(night.state().record().readings.at(1).celsius == 4.2);
  CHECK(night.state().record().readings.at(1).corrected_c == 2.4);
  CHECK(holds(refusal(night, CorrectReading{9, 2, "x"}), "no reading 9"));
}

TEST_CASE(
    "the night does not close before every batch has keep, cool or throw with a name; what misses a reading goes") {
  Night night(friday(12, 0));
  night.adopt("england", true);
  must(night, puree());
  must(night, emulsion());
  night.until(friday(23, 0));
  const std::string open = refusal(night, CloseService{false}, "Dov");
  CHECK(holds(open, "emulsion-20261120, swede_puree-20261120"));
  CHECK(holds(refusal(night, CloseService{true}, "Dov"), "keep, cool or throw"));
  CHECK(holds(refusal(night, KeepBatch{"swede_puree-20261120", Fate::keep}, ""), "needs a name"));
  CHECK(holds(refusal(night, KeepBatch{"swede_puree-20261120", Fate::keep}, "Dov"), "no reading within its limits"));
  must(night, of_place("walk-in", 4), "Dov");
  must(night, KeepBatch{"swede_puree-20261120", Fate::keep}, "Dov");
  CHECK(holds(refusal(night, KeepBatch{"emulsion-20261120", Fate::keep}, "Dov"), "past its use-by"));
  must(night, ThrowBatch{"emulsion-20261120", "two hours", {}, {}}, "Dov");
  must(night, WriteHandover{"the walk-in door sticks"}, "Dov");
  must(night, CloseService{false}, "Dov");
  // The record outlives the night: the puree is there in the morning, the emulsion is not.
  must(night, LabelBatch{"swede_puree-20261120", false}, "Perrin");
  night.until(friday(33, 0));
  must(night, OpenService{"Saturday", kitchen::to_document(tests::larkfold())}, "Perrin");
  CHECK(night.state().record().find("emulsion-20261120") == nullptr);
  CHECK(batch(night, "swede_puree-20261120").there());
  CHECK_FALSE(batch(night, "swede_puree-20261120").fate);
  same_after_replay(night);
}

TEST_CASE("a handover says what is different from standard and stays unread until another answers it by name") {
  Night night(friday(22, 0));
  night.adopt("england", true);
  must(night, puree());
  must(night, LabelBatch{"swede_puree-20261120", false});
  must(night, CheckProbe{"blue", Bath::iced, 3});
  must(night, WriteHandover{"two loins short"}, "Dov");
  const HandoverWritten written = night.all<HandoverWritten>().front();
  REQUIRE(written.different.size() == 2);
  CHECK(written.different[0] == "swede_puree-20261120 in walk-in: no label");
  CHECK(holds(written.different[1], "probe blue: failed its check"));
  CHECK(holds(refusal(night, AnswerHandover{1}, "Dov"), "whoever comes next"));
  must(night, AnswerHandover{1}, "Perrin");
  CHECK(night.state().record().handovers.empty());
  CHECK(holds(refusal(night, AnswerHandover{1}, "Perrin"), "answered already"));
  CHECK(holds(refusal(night, AnswerHandover{7}, "Perrin"), "no handover 7"));
}
