// Thousands of random nights: whatever people press, in whatever order, the line's promises hold.
#include <catch2/catch.hpp>

#include <algorithm>
#include <cstdlib>
#include <iostream>
#include <set>

#include "common/line/chain.hpp"
#include "common/wire/codec.hpp"
#include "tests/support/night.hpp"
#include "tests/support/random.hpp"
#include "tests/support/shrink.hpp"

using namespace nappe;
using namespace nappe::line;
using nappe::tests::friday;
using nappe::tests::Night;
using nappe::tests::Random;

namespace {

template <class Map>
auto any_key(Random& random, const Map& map) {
  auto it = map.begin();
  std::advance(it, random.between(0, std::ssize(map) - 1));
  return it->first;
}

struct Target {
  TicketId ticket{};
  std::string course;
  int position = 0;
};

// One random act, drawn from its own seed, so that leaving other acts out leaves it much as it was.
class Act {
 public:
  Act(Night& night, std::uint64_t seed) : night_(night), random_(seed) {}

  void run() {
    night_.until(night_.now() + seconds(random_.between(0, 40)));
    const auto dice = random_.between(0, 99);
    if (dice < 12) return send();
    if (dice < 20) return fire();
    if (dice < 62) return press();
    if (dice < 70) return gone();
    if (dice < 79) return pass_act();
    if (dice < 88) return table_act();
    if (dice < 95) return floor_act();
    batch_act();
  }

 private:
  void ask(Action action, const char* by = "Ines") {
    Instant pressed = night_.now();
    if (random_.chance(0.1)) pressed -= seconds(random_.between(0, 300));
    (void)night_.ask_dated(std::move(action), pressed, random_.chance(0.1) ? "" : by);
  }
  bool sure() { return random_.chance(0.3); }

  void send() {
    static const std::vector<std::string> allergies{"milk", "gluten", "fish", "nuts", "celery"};
    const auto& kitchen = *night_.state().kitchen;
    Order order;
    order.table = random_.pick(kitchen.tables).id;
    const int covers = static_cast<int>(random_.between(1, 6));
    if (random_.chance(0.3))
      order.guests.push_back({static_cast<int>(random_.between(1, covers)), {random_.pick(allergies)}});
    for (const auto& course : kitchen.courses) {
      CourseOrder plates{course.id, {}};
      for (int position = 1; position <= covers; ++position) {
        const auto& dish = random_.pick(kitchen.dishes);
        if (dish.course == course.id) plates.plates.push_back({position, dish.id, {}, ""});
      }
      if (!plates.plates.empty()) order.courses.push_back(plates);
    }
    ask(SendTicket{order}, "Wren");
  }

  std::optional<Target> target() {
    const auto& tickets = night_.state().tickets;
    if (tickets.empty()) return std::nullopt;
    const Ticket& ticket = tickets.at(any_key(random_, tickets));
    if (ticket.courses.empty()) return std::nullopt;
    const Course& course = random_.pick(ticket.courses);
    const int position = course.plates.empty() ? 1 : any_key(random_, course.plates);
    return Target{ticket.id, course.course, position};
  }

  void fire() {
    const auto t = target();
    if (!t) return;
    std::optional<std::int64_t> meet;
    if (random_.chance(0.3)) meet = to_ms(night_.now() + minutes(random_.between(-5, 30)));
    ask(Fire{t->ticket, t->course, meet, random_.chance(0.5)}, "Mara");
  }

  void press() {
    const auto& pans = night_.state().pans;
    if (pans.empty()) return;
    const PanId id = any_key(random_, pans);
    const Pan& pan = pans.at(id);
    const auto& component = night_.state().component_of(pan);
    const auto dice = random_.between(0, 99);
    if (dice < 60) {
      (void)night_.done(id);
    } else if (dice < 70) {
      ask(OneMore{id});
    } else if (dice < 80) {
      ask(ItsThere{id});
    } else {
      const auto& step = random_.pick(component.steps);
      const int round = step.group >= 0 ? static_cast<int>(random_.between(1, 9)) : 0;
      if (dice < 86) return ask(StartStep{id, step.id, round, sure()});
      if (dice < 94) return ask(FinishStep{id, step.id, round, sure()});
      if (!pan.portions.empty()) ask(PlatePortion{id, random_.pick(pan.portions).plate, sure()});
    }
  }

  void gone() {
    const auto t = target();
    if (!t) return;
    std::vector<int> but;
    if (random_.chance(0.3)) but.push_back(t->position);
    std::optional<std::int64_t> went;
    if (random_.chance(0.2)) went = to_ms(night_.now() - seconds(random_.between(-10, 120)));
    ask(Gone{t->ticket, t->course, but, random_.chance(0.5), went}, "Mara");
  }

  void pass_act() {
    const auto t = target();
    if (!t) return;
    const auto dice = random_.between(0, 8);
    if (dice == 8) return ask(Borrow{t->ticket, t->course, t->position, {}, "cold", {}}, "Mara");
    if (dice == 0) return ask(Hold{t->ticket, t->course}, "Mara");
    if (dice == 1) return ask(Release{t->ticket, t->course, {}}, "Mara");
    if (dice == 2)
      return ask(MoveMeet{t->ticket, t->course, to_ms(night_.now() + minutes(random_.between(-1, 20)))}, "Mara");
    if (dice == 3) return ask(BringBack{t->ticket, t->course, {}}, "Mara");
    if (dice == 4) return ask(Refire{t->ticket, t->course, t->position, {}, "cold"}, "Mara");
    if (dice == 5) return ask(ClearPlate{t->ticket, t->course, t->position}, "Mara");
    const auto& pans = night_.state().pans;
    if (dice == 6 && !pans.empty()) return ask(JoinPans{any_key(random_, pans), any_key(random_, pans)});
    static const std::vector<std::string> stations{"garnish", "sauce", "fish", "larder", "pastry", "pass", "cellar"};
    ask(Undo{random_.pick(stations)});
  }

  void table_act() {
    const auto t = target();
    const auto other = target();
    if (!t) return;
    const auto dice = random_.between(0, 10);
    const auto to = static_cast<int>(random_.between(1, 7));
    if (dice == 10) {
      std::vector<TableBooking> sheet;
      for (int i = 0; i < 3; ++i)
        sheet.push_back({random_.pick(night_.state().kitchen->tables).id,
                         to_ms(night_.now() + minutes(random_.between(-60, 180))),
                         static_cast<int>(random_.between(1, 7))});
      return ask(TakeBookings{sheet}, "Wren");
    }
    if (dice == 0) return ask(Speech{t->ticket, static_cast<int>(random_.between(0, 20))}, "Wren");
    if (dice == 1) return ask(TableUp{t->ticket}, "Wren");
    if (dice == 2) return ask(TableBack{t->ticket}, "Wren");
    if (dice == 3) return ask(Pace{t->ticket, static_cast<int>(random_.between(-9, 9))}, "Wren");
    if (dice == 4) {
      std::optional<std::int64_t> clear;
      if (random_.chance(0.8)) clear = to_ms(night_.now() + minutes(random_.between(-8, 30)));
      return ask(GuessClear{t->ticket, t->course, clear}, "Wren");
    }
    if (dice == 5) return ask(MovePositions{t->ticket, {}, {{t->position, to}, {to, t->position}}}, "Wren");
    if (dice == 6) return ask(MovePositions{t->ticket, other->ticket, {{t->position, to}}}, "Wren");
    if (dice == 7) return ask(SplitTable{t->ticket, {t->position, to}, {}}, "Wren");
    if (dice == 8) return ask(MergeTables{t->ticket, other->ticket}, "Wren");
    ask(MoveTable{t->ticket, random_.pick(night_.state().kitchen->tables).id}, "Wren");
  }

  void floor_act() {
    static const std::vector<std::string> allergies{"milk", "gluten", "fish", "walnut", "celery", "haze"};
    const auto& kitchen = *night_.state().kitchen;
    const auto dice = random_.between(0, 6);
    const auto t = target();
    if (dice == 6 && t) {
      Order order;
      order.table = night_.state().find_ticket(t->ticket)->table;
      if (random_.chance(0.3)) order.guests.push_back({t->position, {random_.pick(allergies)}});
      for (const auto& course : kitchen.courses) {
        const auto& dish = random_.pick(kitchen.dishes);
        if (dish.course == course.id) order.courses.push_back({course.id, {{t->position, dish.id, {}, ""}}});
      }
      return ask(ChangeTicket{t->ticket, order, sure()}, "Wren");
    }
    if (dice == 0 && t) return ask(TellAllergy{t->ticket, t->position, {random_.pick(allergies)}}, "Wren");
    if (dice == 1 && t) {
      const std::string dish = random_.chance(0.2) ? "" : random_.pick(kitchen.dishes).id;
      return ask(ChangePlate{t->ticket, t->course, {t->position, dish, {}, ""}, sure()}, "Wren");
    }
    if (dice == 2 && t && random_.chance(0.3)) return ask(CancelTicket{t->ticket, "left"}, "Wren");
    const auto& alerts = night_.state().alerts;
    if (dice == 3 && !alerts.empty()) {
      const AlertId id = any_key(random_, alerts);
      if (random_.chance(0.5)) return ask(Acknowledge{id});
      return ask(Shelve{id, to_ms(night_.now() + seconds(random_.between(-5, 400)))});
    }
    if (dice == 4) {
      const auto& station = random_.pick(kitchen.stations);
      if (station.people.empty()) return;
      return ask(SetHands{station.id, random_.pick(station.people).id, random_.chance(0.5)});
    }
    std::optional<int> left;
    if (random_.chance(0.5)) left = static_cast<int>(random_.between(0, 6));
    ask(SetLeft{random_.pick(kitchen.dishes).id, left}, "Mara");
  }

  std::string any_batch() {
    const auto& batches = night_.state().record().batches;
    return batches.empty() ? std::string("none") : any_key(random_, batches);
  }

  void make_batch() {
    static const std::vector<std::string> kinds{"swede_puree", "swede_no_butter", "emulsion_1", "emulsion_2",
                                                "potatoes"};
    MakeBatch make;
    make.kind = random_.pick(kinds);
    make.labelled = random_.chance(0.8);
    make.station = "sauce";
    if (random_.chance(0.7)) make.portions = static_cast<int>(random_.between(0, 9));
    if (random_.chance(0.5)) make.grams = static_cast<int>(random_.between(0, 900));
    if (random_.chance(0.3)) make.life_min = static_cast<int>(random_.between(0, 30));
    if (random_.chance(0.9)) make.use_by_days = static_cast<int>(random_.between(0, 2));
    if (random_.chance(0.8)) make.kept_c = random_.chance(0.3) ? 52 : 4;
    make.kept_in = random_.chance(0.5) ? "walk-in" : "bath";
    if (random_.chance(0.2)) make.made_from = {any_batch()};
    if (random_.chance(0.2)) make.allergens = std::vector<std::string>{"milk"};
    ask(make);
  }

  void batch_act() {
    const auto dice = random_.between(0, 18);
    const double celsius = static_cast<double>(random_.between(-10, 950)) / 10;
    if (dice < 5) return make_batch();
    if (dice == 5) return ask(SplitBatch{any_batch(), static_cast<int>(random_.between(1, 4)), {}});
    if (dice == 6) return ask(MixBatches{{any_batch(), any_batch()}, {}, {}});
    if (dice == 7) return ask(StartChill{any_batch(), celsius, -5, "blue", {}});
    if (dice == 8) return ask(TakeReading{any_batch(), {}, "blue", celsius, {}});
    if (dice == 9) return ask(TakeReading{{}, "walk-in", "red", celsius, {}});
    if (dice == 10) return ask(ReheatBatch{any_batch(), celsius, 120, "blue", false, {}});
    if (dice == 11) return ask(ThrowBatch{any_batch(), "dropped", {}, {}});
    if (dice == 12) return ask(LabelBatch{any_batch(), random_.chance(0.5)});
    if (dice == 13) return ask(CheckProbe{"blue", Bath::iced, random_.chance(0.5) ? 0.0 : 3.0});
    if (dice == 14) return ask(CountBatch{any_batch(), static_cast<int>(random_.between(0, 5)), {}});
    if (dice == 15) return ask(TellPower{random_.chance(0.5), {}});
    if (dice == 16) return ask(RecookBatch{any_batch(), celsius, 30, "blue"});
    if (dice == 17) {
      TakeReading sure{any_batch(), {}, "blue", celsius, {}};
      sure.sure = true;
      return ask(sure);
    }
    ask(KeepBatch{any_batch(), Fate::keep});
  }

  Night& night_;
  Random random_;
};

// What is left of a batch is never less than nothing, and nothing is left of one that has ended.
std::optional<std::string> batches_are_sound(const Record& record) {
  for (const auto& [id, batch] : record.batches) {
    if (batch.portions.value_or(0) < 0 || batch.grams.value_or(0) < 0) return id + " has less than nothing left";
    if (batch.there() && batch.portions == 0) return id + " has nothing left and is there";
    if (batch.outside.spent < Duration::zero()) return id + " was outside for less than no time";
    if (batch.free_from.empty()) continue;
    for (const std::string& name : batch.free_from)
      if (std::count(batch.allergens.begin(), batch.allergens.end(), name) != 0)
        return id + " is called free from " + name;
  }
  return std::nullopt;
}

std::string at(const PlateKey& key) {
  return "ticket " + std::to_string(number(key.ticket)) + " " + key.course + " " + std::to_string(key.position);
}

// Every component of every plate that is still to leave is in exactly one pan, and no pan holds anything else.
std::optional<std::string> portions_are_those_ordered(const State& state) {
  std::map<std::pair<PlateKey, std::string>, int> held;
  for (const auto* pans : {&state.pans, &state.past})
    for (const auto& [id, pan] : *pans)
      for (const Portion& portion : pan.portions) ++held[{portion.plate, pan.component}];
  for (const auto& [id, ticket] : state.tickets) {
    for (const Course& course : ticket.courses)
      for (const auto& [position, plate] : course.plates) {
        if (ticket.cancelled && !plate.gone) continue;
        const PlateKey key{id, course.course, position};
        for (const auto& part : state.kitchen_of(ticket).find_dish(plate.wanted.dish)->parts) {
          const auto& off = plate.wanted.left_off;
          const int wanted = std::find(off.begin(), off.end(), part.component) == off.end() ? 1 : 0;
          const auto found = held.find({key, part.component});
          const int got = found == held.end() ? 0 : found->second;
          if (got != wanted) return at(key) + ": " + std::to_string(got) + " portions of " + part.component;
          if (found != held.end()) held.erase(found);
        }
      }
  }
  if (!held.empty()) return "a pan holds " + held.begin()->first.second + " for " + at(held.begin()->first.first);
  return std::nullopt;
}

// A course has gone when all of its plates have, and not before; nobody sits on a ticket that was merged.
std::optional<std::string> courses_are_sound(const State& state) {
  for (const auto& [id, ticket] : state.tickets) {
    if (ticket.merged != TicketId{})
      for (const Course& course : ticket.courses)
        if (!course.plates.empty()) return "ticket " + std::to_string(number(id)) + " has plates and sits elsewhere";
    for (const Course& course : ticket.courses) {
      if (course.plates.empty() || ticket.cancelled) continue;
      const bool all = std::all_of(course.plates.begin(), course.plates.end(),
                                   [](const auto& entry) { return entry.second.gone.has_value(); });
      if (all != (course.state == CourseState::gone))
        return "ticket " + std::to_string(number(id)) + " " + course.course +
               (all ? ": all has gone and nobody said so" : ": gone, and a plate is here");
    }
  }
  return std::nullopt;
}

std::optional<std::string> pans_are_sound(const State& state) {
  std::set<std::pair<std::string, std::string>> letters;
  for (const auto& [id, pan] : state.pans) {
    const std::string name = pan.component + " " + std::to_string(number(id));
    if (pan.portions.empty()) return name + " is kept for nobody";
    const auto& component = state.component_of(pan);
    // A plate brought back may bring a pan whose letter was given away; it is finished, nobody works on it.
    if (!pan.letter.empty() && !pan.finished && !letters.insert({pan.station + component.vessel, pan.letter}).second)
      return name + " has a letter that another has";
    std::set<std::pair<int, int>> seen;
    Instant last{};
    for (std::size_t i = 0; i < pan.runs.size(); ++i) {
      const Run& run = pan.runs[i];
      if (!seen.insert({run.step, run.round}).second) return name + " does a step twice";
      if (run.started < last) return name + " begins a step before the one before it ended";
      if (!run.ended && i + 1 != pan.runs.size()) return name + " has a step open in the middle";
      if (run.ended && *run.ended < run.started) return name + " ends a step before it begins";
      last = run.ended.value_or(run.started);
    }
    if (pan.finished && pan.running() != nullptr) return name + " is finished and runs";
    for (const Portion& portion : pan.portions) {
      const Ticket* ticket = state.find_ticket(portion.plate.ticket);
      if (!pan.begun() && ticket->allergies_of(portion.plate.position) != pan.allergies)
        return name + " is not begun and has other allergies than its guest";
    }
  }
  return std::nullopt;
}

std::optional<std::string> plates_left_complete(const State& state) {
  for (const auto* pans : {&state.pans, &state.past})
    for (const auto& [id, pan] : *pans)
      for (const Portion& portion : pan.portions) {
        const Plate* plate = state.find_plate(portion.plate);
        if (plate != nullptr && plate->gone && !portion.plated)
          return at(portion.plate) + " left without " + pan.component;
        if (plate != nullptr && plate->gone && !plate->blocked.empty())
          return at(portion.plate) + " left while blocked";
      }
  return std::nullopt;
}

// A rest ends short only with a named word on record for it.
std::optional<std::string> rests_are_kept(const Night& night) {
  std::set<std::pair<PanId, std::string>> words;
  for (const WordGiven& word : night.all<WordGiven>()) {
    if (word.by.empty()) return "a word was given by nobody";
    words.insert({word.pan, word.step});
  }
  const State& state = night.state();
  for (const auto* pans : {&state.pans, &state.past})
    for (const auto& [id, pan] : *pans) {
      const auto& component = state.component_of(pan);
      for (const Run& run : pan.runs) {
        const auto& step = component.steps[static_cast<std::size_t>(run.step)];
        if (step.kind != kitchen::StepKind::rest || !run.ended) continue;
        if (*run.ended - run.started < step.usual(pan.portions_in()) && words.count({id, step.id}) == 0)
          return pan.component + " " + std::to_string(number(id)) + ": its rest was cut short and nobody said so";
      }
    }
  return std::nullopt;
}

std::optional<std::string> play(const std::vector<std::uint64_t>& acts) {
  Night night(friday(18, 15));
  night.adopt(acts.size() % 2 == 0 ? "england" : "scotland");
  // What happened, for the night that failed.
  const struct Tell {
    const Night& night;
    ~Tell() {
      if (std::getenv("NAPPE_TELL") == nullptr) return;
      for (const Event& event : night.log())
        if (!std::holds_alternative<ServiceOpened>(event.what))
          std::cerr << clock_text(event.at) << " " << wire::event_name(event) << " " << wire::event_body(event) << "\n";
    }
  } tell{night};
  try {
    for (const std::uint64_t seed : acts) {
      Act(night, seed).run();
      if (auto wrong = portions_are_those_ordered(night.state())) return wrong;
      if (auto wrong = courses_are_sound(night.state())) return wrong;
      if (auto wrong = pans_are_sound(night.state())) return wrong;
      if (auto wrong = plates_left_complete(night.state())) return wrong;
      if (auto wrong = batches_are_sound(night.state().record())) return wrong;
      const auto next = next_deadline(night.state());
      if (next && *next <= night.now()) return "time has something to say that was not heard";
    }
    if (auto wrong = rests_are_kept(night)) return wrong;
    if (fingerprint(tests::replay(night.log())) != fingerprint(night.state())) return "replay gives another state";
  } catch (const std::exception& error) {
    return std::string("thrown: ") + error.what();
  }
  return std::nullopt;
}

}  // namespace

TEST_CASE("one night by its acts", "[.]") {
  std::vector<std::uint64_t> acts;
  for (std::uint64_t act = 0; std::cin >> act;) acts.push_back(act);
  const auto wrong = play(acts);
  INFO(wrong.value_or(""));
  CHECK_FALSE(wrong);
}

TEST_CASE("random nights keep the line's promises") {
  const char* given = std::getenv("NAPPE_SEEDS");
  const int nights = given == nullptr ? 150 : std::atoi(given);
  for (int seed = 1; seed <= nights; ++seed) {
    Random random(static_cast<std::uint64_t>(seed));
    std::vector<std::uint64_t> acts;
    for (int i = 0; i < 250; ++i) acts.push_back(random.next());
    const auto wrong = play(acts);
    if (!wrong) continue;
    const auto fewest = tests::shrink<std::uint64_t>(acts, play);
    std::cerr << "SEED=" << seed << ": " << *play(fewest) << " after " << fewest.size() << " acts:";
    for (const auto act : fewest) std::cerr << " " << act;
    std::cerr << "\n";
    FAIL("seed " << seed << ": " << *wrong);
  }
}
