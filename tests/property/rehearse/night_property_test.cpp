// Random nights in random kitchens: whatever the cooks do must be possible. NAPPE_SEEDS sets how many, SEED one.
#include <fmt/format.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cstdlib>
#include <functional>
#include <map>
#include <utility>

#include "tests/rehearse/larkfold_night.hpp"
#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::rehearse;
using tests::Random;

namespace {

kitchen::Step random_step(Random& random, kitchen::StepKind kind, int number) {
  kitchen::Step step;
  step.id = fmt::format("s{}", number);
  step.word = step.id;
  step.kind = kind;
  step.takes = {seconds(random.between(1, 60)), seconds(random.between(0, 10))};
  step.scatter = random.unit() * 0.5;
  if (kind == kitchen::StepKind::rest) step.rest_max = step.takes.of(10) + seconds(random.between(0, 300));
  if (kind == kitchen::StepKind::move && random.chance(0.2)) step.pause = seconds(random.between(1, 90));
  if (random.chance(0.4)) step.uses.push_back({"kit", 1, 0});
  return step;
}

kitchen::Component random_component(Random& random, int number, int stations) {
  kitchen::Component component;
  component.id = fmt::format("c{}", number);
  component.name = component.id;
  component.station = fmt::format("st{}", random.between(1, stations));
  component.cap = static_cast<int>(random.between(1, 4));
  component.keep = seconds(random.between(20, 400));
  const int steps = static_cast<int>(random.between(0, 5));
  for (int s = 0; s < steps; ++s) {
    const auto roll = random.between(0, 5);
    const bool free = s > 0;  // A pan begins with hands.
    const auto kind = free && roll == 0   ? kitchen::StepKind::rest
                      : free && roll <= 2 ? kitchen::StepKind::wait
                                          : kitchen::StepKind::move;
    component.steps.push_back(random_step(random, kind, s));
  }
  // Rounds of a move and a wait, as a ladle and its absorbing.
  if (!component.steps.empty() && random.chance(0.5)) {
    kitchen::Rounds rounds;
    rounds.first = static_cast<int>(component.steps.size());
    rounds.last = rounds.first + 1;
    rounds.min = 1;
    rounds.usual = static_cast<int>(random.between(1, 4));
    rounds.max = 6;
    rounds.word = "ladle";
    for (int n = 1; n <= 6; ++n) rounds.seen[n] = n <= 4 ? 0.2 : 0.1;
    for (const auto kind : {kitchen::StepKind::move, kitchen::StepKind::wait}) {
      auto step = random_step(random, kind, static_cast<int>(component.steps.size()));
      step.group = 0;
      component.steps.push_back(step);
    }
    component.groups.push_back(rounds);
    component.steps.push_back(random_step(random, kitchen::StepKind::move, static_cast<int>(component.steps.size())));
  }
  component.steps.push_back(random_step(random, kitchen::StepKind::plate, static_cast<int>(component.steps.size())));
  for (auto& step : component.steps)
    for (auto& use : step.uses) use.equipment += "_" + component.station;
  return component;
}

kitchen::Kitchen random_kitchen(Random& random) {
  kitchen::Kitchen house;
  house.name = "random";
  house.rules = "none";
  house.settings.finish_allowance = seconds(random.between(0, 60));
  house.rooms.push_back({"room", "room", seconds(random.between(0, 60))});
  for (int t = 1; t <= 4; ++t) house.tables.push_back({fmt::format("{}", t), "room", 6});
  house.courses = {{"first", "first", {}}, {"second", "second", {}}};
  const int stations = static_cast<int>(random.between(1, 3));
  for (int s = 1; s <= stations; ++s) {
    kitchen::Station station{fmt::format("st{}", s), fmt::format("Station {}", s), {}, {}};
    const auto people = random.between(1, 3);
    for (int p = 0; p < people; ++p)
      station.people.push_back({fmt::format("p{}{}", s, p), fmt::format("P{}{}", s, p), 0.5 + random.unit() / 2});
    station.equipment.push_back({"kit_" + station.id, "kit", static_cast<int>(random.between(1, 4))});
    house.stations.push_back(station);
  }
  const int components = static_cast<int>(random.between(2, 6));
  for (int c = 0; c < components; ++c) house.components.push_back(random_component(random, c, stations));
  for (int d = 0; d < 4; ++d) {
    kitchen::Dish dish;
    dish.id = fmt::format("d{}", d);
    dish.letter = std::string(1, static_cast<char>('a' + d));
    dish.name = dish.id;
    dish.course = d < 2 ? "first" : "second";
    const int first = static_cast<int>(random.between(0, components - 1));
    dish.parts.push_back({fmt::format("c{}", first), false, ""});
    if (random.chance(0.6)) dish.parts.push_back({fmt::format("c{}", (first + 1) % components), false, ""});
    house.dishes.push_back(dish);
  }
  return house;
}

kitchen::BookingSheet random_sheet(Random& random) {
  kitchen::BookingSheet sheet;
  const auto parties = random.between(1, 5);
  for (int b = 0; b < parties; ++b) {
    kitchen::Booking booking;
    booking.id = fmt::format("b{}", b);
    booking.at = std::chrono::hours(18) + minutes(random.between(0, 90));
    booking.table = fmt::format("{}", random.between(1, 4));
    booking.covers = static_cast<int>(random.between(1, 3));
    sheet.bookings.push_back(booking);
  }
  return sheet;
}

Manner random_manner(Random& random) {
  Manner manner;
  manner.rule = random.pick(std::vector<Rule>{Rule::at_fire, Rule::fixed, Rule::alone, Rule::planner});
  manner.order = random.chance(0.5) ? HandOrder::latest_start : HandOrder::table_time;
  manner.bias = 0.5 + random.unit();
  manner.scatter = random.unit() * 2;
  manner.early_slack_min = seconds(random.between(0, 400));
  return manner;
}

// Nobody makes two moves at once: at no instant more moves run at a station than it has people.
std::string check_hands(const Stage& stage, const NightResult& night) {
  for (std::size_t s = 0; s < stage.kitchen->stations.size(); ++s) {
    std::vector<std::pair<Instant, int>> changes;
    for (const MoveTrace& move : night.moves) {
      if (move.station != static_cast<int>(s)) continue;
      changes.emplace_back(move.start, 1);
      changes.emplace_back(move.end, -1);
    }
    std::sort(changes.begin(), changes.end());  // At one instant the ends come first.
    int busy = 0;
    for (const auto& [at, change] : changes) {
      busy += change;
      if (busy > static_cast<int>(stage.kitchen->stations[s].people.size())) return "more moves than hands";
    }
  }
  return {};
}

// A pan's moves follow each other; its rests are kept; its rounds are within what the dish allows.
std::string check_pans(const Stage& stage, const NightResult& night) {
  std::map<line::PanId, std::vector<MoveTrace>> pans;
  for (const MoveTrace& move : night.moves) pans[move.pan].push_back(move);
  for (const auto& [id, moves] : pans) {
    const auto& component = stage.kitchen->components[static_cast<std::size_t>(moves.front().component)];
    for (std::size_t i = 1; i < moves.size(); ++i) {
      const MoveTrace& before = moves[i - 1];
      const MoveTrace& move = moves[i];
      if (move.start < before.end) return component.id + ": two moves of a pan at once";
      if (move.start < move.wanted) return component.id + ": a move before it was wanted";
      if (std::pair{move.round == 0 ? move.step : -1, 0} < std::pair{before.round == 0 ? before.step : -1, 0} &&
          move.round == 0)
        return component.id + ": a move out of order";
      if (move.round > 0 && before.round > 0 && move.round != before.round + 1 && move.round != before.round)
        return component.id + ": a round was left out";
      for (int step = before.step + 1; step < move.step; ++step) {
        const auto& rest = component.steps[static_cast<std::size_t>(step)];
        if (rest.kind == kitchen::StepKind::rest && move.start - before.end < rest.takes.of(1))
          return component.id + ": a rest was cut short";
      }
    }
    if (moves.back().step != static_cast<int>(component.steps.size()) - 1) return component.id + ": never plated";
  }
  return {};
}

// No equipment holds more than it has places: a move's while it lasts, a single wait's until the next move.
std::string check_kit(const Stage& stage, const NightResult& night) {
  std::map<std::string, std::vector<std::pair<Instant, int>>> changes;
  std::map<line::PanId, const MoveTrace*> last;
  const auto take = [&](const kitchen::Step& step, Instant from, Instant to) {
    for (const kitchen::Use& use : step.uses) {
      changes[use.equipment].emplace_back(from, use.fixed);
      changes[use.equipment].emplace_back(to, -use.fixed);
    }
  };
  for (const MoveTrace& move : night.moves) {
    const auto& steps = stage.kitchen->components[static_cast<std::size_t>(move.component)].steps;
    take(steps[static_cast<std::size_t>(move.step)], move.start, move.end);
    const MoveTrace* before = std::exchange(last[move.pan], &move);
    if (before != nullptr && (move.step == before->step + 2 || move.step == before->step))
      take(steps[static_cast<std::size_t>(before->step) + 1], before->end, move.start);
  }
  for (const auto& station : stage.kitchen->stations)
    for (const auto& equipment : station.equipment) {
      auto& all = changes[equipment.id];
      std::sort(all.begin(), all.end());
      int used = 0;
      for (const auto& [at, change] : all) used += change;
      if (used != 0) return equipment.id + ": the count does not end at nothing";
      for (const auto& [at, change] : all)
        if ((used += change) > equipment.places) return equipment.id + ": more in it than it has places";
    }
  return {};
}

std::string check_courses(const Stage& stage, const NightResult& night) {
  Instant last{};
  for (const MoveTrace& move : night.moves) last = std::max(last, move.end);
  Instant gone{};
  for (const CourseTrace& course : night.courses) {
    if (course.gone < course.fired) return "a course went before it was fired";
    gone = std::max(gone, course.gone);
  }
  if (gone != last) return "the last course did not go with the last move";
  int pans = 0;
  for (const ComponentNight& component : night.components) {
    if (component.past > component.pans || component.standing < Duration::zero()) return "a component's tally is wrong";
    pans += component.pans;
  }
  std::map<line::PanId, int> seen;
  for (const MoveTrace& move : night.moves) ++seen[move.pan];
  // A pan shared by several tables stands once for each of them.
  if (pans < static_cast<int>(seen.size())) return "pans were lost";
  for (std::size_t s = 0; s < night.stations.size(); ++s)
    for (const double load : night.stations[s].load)
      if (load < 0 || load > 1 + 1e-9) return stage.kitchen->stations[s].id + ": load beyond its hands";
  return {};
}

std::string check_night(const Stage& stage, const Manner& manner, std::uint64_t seed) {
  const NightResult night = play_night(stage, manner, seed, 0, true);
  if (night.refused != 0) return fmt::format("the line refused {} commands", night.refused);
  if (night.unfinished) return "the night was not finished";
  for (const std::string& wrong :
       {check_hands(stage, night), check_pans(stage, night), check_kit(stage, night), check_courses(stage, night)})
    if (!wrong.empty()) return wrong;
  const NightResult again = play_night(stage, manner, seed, 0, true);
  for (std::size_t i = 0; i < night.moves.size(); ++i)
    if (night.moves[i].end != again.moves[i].end) return "the same seed gave another night";
  return {};
}

void for_seeds(int many, const std::function<std::string(std::uint64_t)>& check) {
  const char* one = std::getenv("SEED");
  const char* seeds = std::getenv("NAPPE_SEEDS");
  const std::uint64_t first = one != nullptr ? std::strtoull(one, nullptr, 10) : 1;
  const int count = one != nullptr ? 1 : seeds != nullptr ? std::atoi(seeds) : many;
  for (std::uint64_t seed = first; seed < first + static_cast<std::uint64_t>(count); ++seed) {
    const std::string wrong = check(seed);
    if (!wrong.empty()) FAIL("SEED=" << seed << ": " << wrong);
  }
  SUCCEED();
}

}  // namespace

TEST_CASE("nights in random kitchens are possible") {
  for_seeds(100, [](std::uint64_t seed) -> std::string {
    Random random(seed);
    const auto kitchen = random_kitchen(random);
    const auto stage = make_stage(kitchen, random_sheet(random), {});
    if (!stage) return stage.error().detail;
    return check_night(*stage, random_manner(random), seed);
  });
}

TEST_CASE("random variants of Larkfold are possible") {
  const auto kitchen = tests::larkfold();
  const auto saturday = tests::larkfold_saturday(kitchen);
  for_seeds(10, [&](std::uint64_t seed) -> std::string {
    Random random(seed);
    Variant variant;
    if (random.chance(0.5)) variant.hands["garnish"] = static_cast<int>(random.between(1, 4));
    if (random.chance(0.5)) variant.without.push_back(random.pick(kitchen.dishes).id);
    if (random.chance(0.5)) variant.fewer_rounds["emmer"] = static_cast<int>(random.between(0, 5));
    const auto sheet = fit_covers(saturday, kitchen, static_cast<int>(random.between(10, 60)));
    if (!sheet) return sheet.error().detail;
    const auto stage = make_stage(kitchen, *sheet, variant);
    if (!stage) return stage.error().detail;
    return check_night(*stage, random_manner(random), seed);
  });
}
