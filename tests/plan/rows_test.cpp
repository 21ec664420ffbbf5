// What the plan owes the people who read it, one promise a test.
#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <map>
#include <random>

#include "common/line/chain.hpp"
#include "common/plan/alone.hpp"
#include "common/plan/outlook.hpp"
#include "common/plan/plan.hpp"
#include "common/plan/play_out.hpp"
#include "tests/support/night.hpp"

using namespace nappe;
using namespace nappe::line;
using nappe::tests::friday;
using nappe::tests::Night;

namespace {

kitchen::Kitchen without_allowance() {
  kitchen::Kitchen kitchen = tests::larkfold();
  kitchen.settings.finish_allowance = Duration::zero();
  return kitchen;
}

// Usual times of a pan's steps, by step.
std::map<std::string, Duration> times_of(const Night& night, TicketId ticket, const char* component) {
  const Pan& pan = night.pan(ticket, component);
  const auto& known = night.state().component_of(pan);
  std::map<std::string, Duration> times;
  for (const Ahead& one : steps_ahead(known, pan, night.now()))
    times[known.steps[static_cast<std::size_t>(one.step)].id] += one.takes;
  return times;
}

Instant first_start(const plan::Plan& plan, const Pan& pan) { return plan.pans.at(pan.id).slots.front().latest; }

}  // namespace

TEST_CASE(
    "2: the damson sauce for one and for four differs by 132 s of wait and 9 and 9 s of hands, the loin's rest by 0") {
  Night night(friday(19, 30));
  const auto one = night.send("9: - / 1h");
  const auto four = night.send("5: - / 1h 2h 3h 4h");
  const auto sauce_one = times_of(night, one, "damson");
  const auto sauce_four = times_of(night, four, "damson");
  REQUIRE(sauce_one.size() == sauce_four.size());
  Duration hands{};
  Duration waits{};
  const auto& component = *night.state().kitchen->find_component("damson");
  for (const auto& step : component.steps) {
    const Duration more = sauce_four.at(step.id) - sauce_one.at(step.id);
    if (step.by_hand())
      CHECK(more == seconds(9));
    else
      CHECK(more == seconds(132));
    (step.by_hand() ? hands : waits) += more;
  }
  CHECK(hands == seconds(18));
  CHECK(waits == seconds(132));
  const auto& loin = *night.state().kitchen->find_component("loin");
  for (const auto& step : loin.steps)
    if (step.kind == kitchen::StepKind::rest)
      CHECK(times_of(night, four, "loin").at(step.id) == times_of(night, one, "loin").at(step.id));
}

TEST_CASE(
    "31: a short finishing part is listed earlier by the queue at its station, and by the allowance for its own "
    "scatter") {
  // One cook at larder. The mackerel of table 2 is torched and dressed in 210 s; alone its latest start is the meet
  // less that.
  const auto start_with = [](const kitchen::Kitchen& kitchen, const std::vector<const char*>& others) {
    Night night(friday(19, 30), kitchen);
    const auto two = night.send("2: 1m 2m");
    REQUIRE(night.ask(Fire{two, "starters", to_ms(friday(19, 50))}));
    std::vector<TicketId> tickets;
    for (const char* line : others) {
      tickets.push_back(night.send(line));
      REQUIRE(night.ask(Fire{tickets.back(), "starters", to_ms(friday(19, 50))}));
    }
    const auto plan = plan::make_plan(night.state(), night.now(), nullptr);
    // Whoever of them is first at the larder: the queue before the meet is as long for both orders.
    Instant first = first_start(plan, night.pan(two, "mackerel"));
    for (const TicketId ticket : tickets) first = std::min(first, first_start(plan, night.pan(ticket, "mackerel")));
    return first;
  };
  const Instant alone = start_with(without_allowance(), {});
  CHECK(alone == friday(19, 46, 30));
  // Two more portions to finish for the same meet: 210 s of the same hands, so somebody is listed that much earlier
  // (or the two meets part by less than the keep).
  const Instant queued = start_with(without_allowance(), {"9: 1m 2m"});
  CHECK(queued <= alone - seconds(150));
  CHECK(queued >= alone - seconds(210));
  // The house's allowance: at most 30 s, as much as the chain scatters.
  const Instant allowed = start_with(tests::larkfold(), {});
  CHECK(allowed < alone);
  CHECK(allowed >= alone - seconds(30));
}

TEST_CASE("32: with everything entered the forecast of every slot is the sum of its hand seconds within one") {
  Night night(friday(19, 30));
  for (const char* line : {"5: - / 1h 2h 3p 4u", "2: 1m 2m", "8: 1e 2m 3e 4k 5e 6m", "7: - / - / 1d 2d 3d 4r"}) {
    const auto ticket = night.send(line);
    for (const Course& course : night.state().find_ticket(ticket)->courses)
      if (!course.plates.empty()) REQUIRE(night.ask(Fire{ticket, course.course, {}}));
  }
  // Loins that are begun before their table is clear count as soon as they are on the list.
  const auto expected = night.send("11: - / 1h 2h 3h 4h");
  REQUIRE(night.ask(GuessClear{expected, "mains", to_ms(friday(19, 48))}));
  const auto plan = plan::make_plan(night.state(), night.now(), nullptr);
  REQUIRE(plan.pans.at(night.pan(expected, "loin").id).scheduled);
  const Instant end = night.now() + minutes(60);
  int slots = 0;
  for (const auto& [id, station] : plan.stations) {
    std::map<std::int64_t, double> seconds_in;
    for (const auto& [pan, planned] : plan.pans) {
      if (night.state().find_pan(pan)->station != id) continue;
      for (const plan::Slot& slot : planned.slots) {
        if (!slot.by_hand) continue;
        // Second by second, as a watch would count it.
        const Instant from = std::max(slot.latest, night.now());
        for (Duration at{}; at < slot.takes; at += Duration(100))
          if (from + at < end) seconds_in[to_ms(from + at) / 300000 * 300000] += 0.1;
      }
    }
    const double hands = night.state().hands_at(id);
    for (const auto& [start, share] : station.load) {
      CHECK(share * hands * 300 == Approx(seconds_in[start]).margin(1.0));
      ++slots;
    }
    for (const auto& [start, sum] : seconds_in)
      if (sum > 1) CHECK(station.load.count(start) == 1);
  }
  CHECK(slots > 8);
}

namespace {

// D20 by hand: all hand work of a station for fired courses in order of its due time, which is what the meets that were
// promised leave; `later`: by so much a course is put off by what other stations cook for it.
std::pair<double, std::string> behind_by_hand(const Night& night, const std::string& station,
                                              const std::map<TicketId, Duration>& later = {}) {
  struct Work {
    Instant due;
    double takes;
    std::string table;
  };
  std::vector<Work> work;
  for (const auto& [id, pan] : night.state().pans) {
    if (pan.station != station) continue;
    const PlateKey& plate = pan.portions.front().plate;
    const Ticket& ticket = *night.state().find_ticket(plate.ticket);
    const auto ahead = steps_ahead(night.state().component_of(pan), pan, night.now());
    Instant end = *ticket.find_course(plate.course)->meet;
    if (const auto put_off = later.find(ticket.id); put_off != later.end()) end += put_off->second;
    for (auto one = ahead.rbegin(); one != ahead.rend(); ++one) {
      if (one->by_hand) work.push_back({end, in_seconds(one->takes), ticket.table});
      end -= one->takes;
    }
  }
  std::stable_sort(work.begin(), work.end(), [](const Work& a, const Work& b) { return a.due < b.due; });
  double most = 0;
  double sum = 0;
  std::string table;
  for (const Work& one : work) {
    sum += one.takes;
    const double behind = sum / night.state().hands_at(station) - in_seconds(one.due - night.now());
    if (behind >= 10 && table.empty()) table = one.table;
    most = std::max(most, behind);
  }
  return {most >= 10 ? most : 0.0, table};
}

}  // namespace

TEST_CASE(
    "41, 42: behind is the most of work due before a moment less the time there is, with the first table it hurts; one "
    "hand less and it grows") {
  Night night(friday(19, 44));
  for (const char* line : {"5: 1e 2e 3e 4e", "11: 1e 2e 3e 4e", "12: 1k 2k 3k 4k", "10: 1k 2k 3k 4k"}) {
    const auto ticket = night.send(line);
    REQUIRE(night.ask(Fire{ticket, "starters", to_ms(friday(19, 58))}));
  }
  // Against what was promised, whatever the plan makes of it.
  plan::Planner planner;
  plan::Plan plan = planner.make(night.state(), night.now(), nullptr);
  const auto two = behind_by_hand(night, "garnish");
  CHECK(in_seconds(plan.stations.at("garnish").behind) == Approx(two.first).margin(0.01));
  CHECK(plan.stations.at("garnish").hurts_table == two.second);
  REQUIRE(night.ask(SetHands{"garnish", "ines", false}, "Mara"));
  plan = planner.make(night.state(), night.now(), &plan);
  const auto one = behind_by_hand(night, "garnish");
  CHECK(in_seconds(plan.stations.at("garnish").behind) == Approx(one.first).margin(0.01));
  CHECK(one.first > two.first + 60);
  CHECK(!plan.stations.at("garnish").hurts_table.empty());
  CHECK(plan.stations.at("garnish").hurts_table == one.second);
  // And it stays so when the plan has made room by putting tables off.
  plan = planner.make(night.state(), night.now(), &plan);
  CHECK(in_seconds(plan.stations.at("garnish").behind) == Approx(one.first).margin(0.01));
}

TEST_CASE("41: who has let a table's start go by is behind; who waits for them is not") {
  Night night(friday(19, 30));
  const auto two = night.send("2: - / 1p 2p");
  REQUIRE(night.ask(Fire{two, "mains", {}}));
  plan::Planner planner;
  plan::Plan plan = planner.make(night.state(), night.now(), nullptr);
  for (const auto& [id, station] : plan.stations) CHECK(station.behind == Duration::zero());
  // Fish begins as planned; nobody at garnish does anything.
  for (const char* component : {"pollack", "perry"}) {
    const PanId pan = night.pan(two, component).id;
    const plan::Slot& first = plan.pans.at(pan).slots.front();
    night.until(std::max(night.now(), first.latest));
    REQUIRE(night.done(pan, first.takes));
  }
  night.until(*night.state().find_ticket(two)->find_course("mains")->meet - seconds(20));
  plan = planner.make(night.state(), night.now(), &plan);
  CHECK(plan.courses.at({two, "mains"}).drift > minutes(2));
  CHECK(plan.stations.at("garnish").behind > minutes(2));
  CHECK(plan.stations.at("garnish").hurts_table == "2");
  CHECK(plan.stations.at("fish").behind == Duration::zero());
}

TEST_CASE("42: where nobody stands no figure is made up: the station and the first table that waits are named") {
  Night night(friday(19, 44));
  const auto five = night.send("5: 1e 2e 3m 4k");
  REQUIRE(night.ask(Fire{five, "starters", {}}));
  REQUIRE(night.ask(SetHands{"garnish", "tom", false}, "Mara"));
  REQUIRE(night.ask(SetHands{"garnish", "ines", false}, "Mara"));
  const auto plan = plan::make_plan(night.state(), night.now(), nullptr);
  const plan::StationPlan& garnish = plan.stations.at("garnish");
  CHECK(garnish.nobody);
  CHECK(garnish.behind == Duration::zero());
  CHECK(garnish.hurts_table == "5");
  CHECK_FALSE(plan.stations.at("pastry").nobody);  // nothing to do there
  CHECK_FALSE(plan.stations.at("larder").nobody);
}

TEST_CASE("14, 23: what firing a course promises is what the plan keeps: no table is born late") {
  // One pair of hands at larder, and twice what they can do.
  Night night(friday(19, 40));
  plan::Planner planner;
  plan::Plan plan = planner.make(night.state(), night.now(), nullptr);
  std::map<CourseKey, Instant> promised;
  for (const char* line : {"5: 1m 2m 3m 4m", "8: 1m 2m 3m 4m 5m 6m", "12: 1m 2m 3m 4m", "10: 1m 2m 3m 4m"}) {
    const CourseKey key{night.send(line), "starters"};
    plan = planner.make(night.state(), night.now(), &plan);
    const auto promise = planner.if_fired(night.state(), key, night.now(), &plan);
    REQUIRE(promise);
    // What the floor and the pass said of the waiting course is the same.
    CHECK(plan.courses.at(key).meet == promise->meet);
    CHECK(promise->kept);
    REQUIRE(night.ask(Fire{key.ticket, key.course, to_ms(promise->meet)}));
    plan = planner.make(night.state(), night.now(), &plan);
    for (const auto& [id, pan] : promise->plan.pans)
      for (std::size_t i = 0; i < pan.slots.size(); ++i) CHECK(plan.pans.at(id).slots[i].latest == pan.slots[i].latest);
    promised[key] = promise->meet;
    CAPTURE(line);
    CHECK(plan.courses.at(key).drift <= seconds(30));
    CHECK(plan.courses.at(key).word == promise->word);
    // Nor does it push those that were promised before it.
    for (const auto& [other, meet] : promised) CHECK(plan.courses.at(other).meet <= meet + seconds(60));
  }
}

TEST_CASE("14, 28: nobody who was promised a meet pays for a table that is fired or moved after it") {
  Night night(friday(19, 40));
  plan::Planner planner;
  plan::Plan plan = planner.make(night.state(), night.now(), nullptr);
  std::map<CourseKey, Instant> promised;
  const auto all_kept = [&] {
    for (const auto& [key, meet] : promised) {
      CAPTURE(night.state().find_ticket(key.ticket)->table, clock_text(meet), clock_text(plan.courses.at(key).meet));
      CHECK(plan.courses.at(key).meet <= meet + seconds(90));
    }
  };
  CourseKey last;
  for (const auto& [line, course] :
       {std::pair{"8: 1e 2e 3e 4k 5k 6k / 1h 2p 3p 4u 5u 6h", "starters"}, std::pair{"5: - / 1u 2u 3u 4u", "mains"},
        std::pair{"9: - / 1h 2h", "mains"}, std::pair{"11: - / 1h 2p 3p 4h", "mains"},
        std::pair{"13: - / 1h 2h 3h 4h", "mains"}}) {
    last = {night.send(line), course};
    plan = planner.make(night.state(), night.now(), &plan);
    const auto promise = planner.if_fired(night.state(), last, night.now(), &plan);
    REQUIRE(promise);
    REQUIRE(night.ask(Fire{last.ticket, course, to_ms(promise->meet)}));
    promised[last] = promise->meet;
    plan = planner.make(night.state(), night.now(), &plan);
    all_kept();
  }
  const Instant later = promised.at(last) + minutes(5);
  REQUIRE(night.ask(MoveMeet{last.ticket, last.course, to_ms(later)}));
  promised[last] = later;
  plan = planner.make(night.state(), night.now(), &plan);
  all_kept();
}

TEST_CASE("40: a table that can share pans with another is told their time, not the end of the queue") {
  Night night(friday(19, 40));
  plan::Planner planner;
  plan::Plan plan = planner.make(night.state(), night.now(), nullptr);
  const auto five = night.send("5: - / 1h 2h 3p 4u");
  REQUIRE(night.ask(Fire{five, "mains", to_ms(friday(20, 0)), true}));
  Instant latest{};
  for (const char* line : {"12: 1e 2e 3m 4k", "8: 1e 2e 3e 4m 5m 6k!gluten", "11: 1e 2e 3k 4m", "3: 1e 2k"}) {
    const CourseKey key{night.send(line), "starters"};
    plan = planner.make(night.state(), night.now(), &plan);
    const auto promise = planner.if_fired(night.state(), key, night.now(), &plan);
    REQUIRE(promise);
    if (night.state().find_ticket(key.ticket)->table == "3") {
      CHECK(promise->meet <= latest);
      REQUIRE(night.ask(Fire{key.ticket, key.course, to_ms(promise->meet)}));
      CHECK(night.pan(key.ticket, "emmer").portions.size() > 1);  // in another table's pan
      break;
    }
    latest = std::max(latest, promise->meet);
    REQUIRE(night.ask(Fire{key.ticket, key.course, to_ms(promise->meet)}));
    plan = planner.make(night.state(), night.now(), &plan);
  }
}

TEST_CASE("42: taking one hand away re-cuts the list at once, and putting it back gives the old plan") {
  Night night(friday(19, 47));
  for (const char* line : {"5: 1e 2e 3e 4e", "8: 1e 2k 3k 4k 5k 6e"}) {
    const auto ticket = night.send(line);
    REQUIRE(night.ask(Fire{ticket, "starters", {}}));
  }
  plan::Planner planner;
  const auto before = planner.make(night.state(), night.now(), nullptr);
  const auto last_meet = [](const plan::Plan& plan) {
    Instant last{};
    for (const auto& [key, course] : plan.courses) last = std::max(last, course.meet);
    return last;
  };
  REQUIRE(night.ask(SetHands{"garnish", "ines", false}, "Mara"));
  const auto alone = planner.make(night.state(), night.now(), nullptr);
  CHECK(last_meet(alone) > last_meet(before));
  REQUIRE(night.ask(SetHands{"garnish", "ines", true}, "Mara"));
  const auto again = planner.make(night.state(), night.now(), nullptr);
  for (const auto& [id, pan] : before.pans)
    for (std::size_t i = 0; i < pan.slots.size(); ++i) CHECK(again.pans.at(id).slots[i].latest == pan.slots[i].latest);
  // Also for those who were shown the plan in between: nobody keeps the times of the hour when hands were short.
  const auto shown = planner.make(night.state(), night.now(), &alone);
  for (const auto& [key, course] : before.courses) CHECK(shown.courses.at(key).meet <= course.meet + seconds(30));
}

// --- the word

namespace {

// One dish of one move and nothing else: what the word must be is in the tables of the normal distribution.
kitchen::Kitchen one_move(double scatter) {
  kitchen::Kitchen kitchen = without_allowance();
  auto& mackerel = *std::find_if(kitchen.components.begin(), kitchen.components.end(),
                                 [](const auto& one) { return one.id == "mackerel"; });
  mackerel.steps.erase(mackerel.steps.begin(), mackerel.steps.end() - 1);
  mackerel.steps.front().takes = {minutes(10), Duration::zero()};
  mackerel.steps.front().scatter = scatter;
  mackerel.join_before_step.reset();
  return kitchen;
}

}  // namespace

TEST_CASE("the word by playing the plan out is the log-normal's quantile where one move is all there is") {
  // Median 10 min, sigma 0.18: below 11.6 min with 0.8, 12.6 with 0.9, 13.4 with 0.95 (10 exp(0.18 z); z = 0.8416,
  // 1.2816, 1.6449).
  Night night(friday(19, 30), one_move(0.18));
  const auto two = night.send("2: 1m");
  REQUIRE(night.ask(Fire{two, "starters", {}}));
  const auto plan = plan::make_plan(night.state(), night.now(), nullptr);
  const CourseKey key{two, "starters"};
  for (const auto& [chance, minutes_wanted] : {std::pair{0.8, 11.63}, std::pair{0.9, 12.59}, std::pair{0.95, 13.44}}) {
    const auto played = plan::play_out(night.state(), plan, {key}, chance, 4000);
    REQUIRE(played.count(key) == 1);
    CHECK(in_seconds(played.at(key) - night.now()) / 60 == Approx(minutes_wanted).epsilon(0.015));
  }
  // What people are told is whole minutes, never before the meet, and the same again.
  const auto& course = plan.courses.at(key);
  CHECK(to_ms(course.word) % 60000 == 0);
  CHECK(course.word >= course.meet);
  // 11.63 min; of 200 plays the quantile scatters by some seconds.
  CHECK(course.word >= friday(19, 42));
  CHECK(course.word <= friday(19, 43));
  CHECK(plan::make_plan(night.state(), night.now(), nullptr).courses.at(key).word == course.word);
}

TEST_CASE("the word by playing the plan out follows the slowest component: what begins later has no reserve for it") {
  // Larder: five minutes that scatter, then five that do not. Sauce: four minutes that scatter, begun to end with them.
  kitchen::Kitchen kitchen = one_move(0);
  const auto component = [&](const char* id) -> kitchen::Component& {
    return *std::find_if(kitchen.components.begin(), kitchen.components.end(),
                         [&](const auto& one) { return one.id == id; });
  };
  auto& mackerel = component("mackerel");
  mackerel.steps.front().takes = {minutes(5), Duration::zero()};
  mackerel.steps.insert(mackerel.steps.begin(), mackerel.steps.front());
  mackerel.steps.front().id = "first";
  mackerel.steps.front().kind = kitchen::StepKind::move;
  mackerel.steps.front().scatter = 0.18;
  auto& emulsion = component("emulsion");
  emulsion.steps.erase(emulsion.steps.begin(), emulsion.steps.end() - 1);
  emulsion.steps.front().takes = {minutes(4), Duration::zero()};
  emulsion.steps.front().scatter = 0.18;
  for (auto& dish : kitchen.dishes) {
    if (dish.id != "mackerel") continue;
    kitchen::Part sauce = dish.parts.front();
    sauce.component = "emulsion";
    dish.parts = {dish.parts.front(), sauce};
    dish.parts.front().component = "mackerel";
  }
  Night night(friday(19, 30), kitchen);
  const auto two = night.send("2: 1m");
  REQUIRE(night.ask(Fire{two, "starters", {}}));
  const auto plan = plan::make_plan(night.state(), night.now(), nullptr);
  const CourseKey key{two, "starters"};
  REQUIRE(plan.courses.at(key).meet == friday(19, 40));
  REQUIRE(first_start(plan, night.pan(two, "emulsion")) == friday(19, 36));
  // By the standard library's own draws: late by what the first move was late by, and the sauce's own lateness on top.
  std::mt19937_64 random(7);
  std::lognormal_distribution<double> five(std::log(300.0), 0.18);
  std::lognormal_distribution<double> four(std::log(240.0), 0.18);
  std::vector<double> ends;
  for (int i = 0; i < 200000; ++i) {
    const double first = five(random);
    ends.push_back(std::max(first + 300, 360 + std::max(0.0, first - 300) + four(random)));
  }
  std::sort(ends.begin(), ends.end());
  for (const double chance : {0.5, 0.8, 0.95}) {
    const auto played = plan::play_out(night.state(), plan, {key}, chance, 4000);
    const double wanted = ends[static_cast<std::size_t>(chance * static_cast<double>(ends.size()))];
    CHECK(in_seconds(played.at(key) - night.now()) == Approx(wanted).epsilon(0.01));
  }
}

TEST_CASE("the word by playing the plan out counts rounds as the house counted them") {
  // Emmer: 6, 7, 8, 9 ladles with .20, .45, .25, .10. Without any scatter the 80 % point is eight ladles: one more than
  // the plan's seven.
  kitchen::Kitchen exact = without_allowance();
  for (auto& component : exact.components)
    for (auto& step : component.steps) step.scatter = 0;
  Night night(friday(19, 30), exact);
  const auto two = night.send("2: 1e");
  REQUIRE(night.ask(Fire{two, "starters", {}}));
  const auto plan = plan::make_plan(night.state(), night.now(), nullptr);
  const CourseKey key{two, "starters"};
  const auto at = [&](double chance) {
    return in_seconds(plan::play_out(night.state(), plan, {key}, chance, 4000).at(key) - night.now());
  };
  const double usual = in_seconds(plan.pans.at(night.pan(two, "emmer").id).ready - night.now());
  // Two pairs of hands, of which the commis is slower: which of them ladles is not known.
  const double ladle = 24 * 2 / night.state().hands_at("garnish") + 50;
  CHECK(at(0.5) == Approx(usual).margin(5));
  CHECK(at(0.97) - at(0.8) == Approx(ladle).margin(0.1));
  CHECK(at(0.8) - at(0.5) == Approx(ladle).margin(5));
  // Six are one less, and the rest takes up what is early: it is mounted when the plan wants it.
  CHECK(at(0.5) - at(0.1) == Approx(0).margin(0.1));
}

TEST_CASE("a word once given stands while nothing happens to its course") {
  Night night(friday(19, 30));
  const auto eight = night.send("8: 1e 2m 3e 4k 5e 6m");
  REQUIRE(night.ask(Fire{eight, "starters", {}}));
  plan::Planner planner;
  auto plan = planner.make(night.state(), night.now(), nullptr);
  const Instant word = plan.courses.at({eight, "starters"}).word;
  CHECK(word >= plan.courses.at({eight, "starters"}).meet);
  for (int i = 0; i < 5; ++i) {
    night.until(night.now() + seconds(7));
    plan = planner.make(night.state(), night.now(), &plan);
    CHECK(plan.courses.at({eight, "starters"}).word == word);
  }
}
