#include "tests/property/wire/random_evening.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <stdexcept>

#include "common/kitchen/load.hpp"
#include "common/line/chain.hpp"

namespace nappe::tests {

using namespace line;

std::string larkfold_document() {
  static const std::string document = [] {
    std::vector<kitchen::File> files;
    const std::filesystem::path root = std::filesystem::path(NAPPE_SOURCE_DIR) / "config" / "larkfold";
    for (const auto& entry : std::filesystem::recursive_directory_iterator(root)) {
      if (entry.path().extension() != ".json") continue;
      std::ifstream file(entry.path());
      files.push_back({entry.path().filename().string(), {std::istreambuf_iterator<char>(file), {}}});
    }
    std::sort(files.begin(), files.end(), [](const auto& a, const auto& b) { return a.path < b.path; });
    const auto loaded = kitchen::load_kitchen(files, {"england"});
    if (!loaded) throw std::runtime_error(kitchen::to_string(loaded.faults.front()));
    return kitchen::to_document(*loaded.value);
  }();
  return document;
}

RandomEvening::RandomEvening(std::uint64_t seed) : random_(seed), now_(from_ms(1795201200000)) {
  ask(OpenService{"Friday", larkfold_document()});
}

void RandomEvening::pass_time(Duration length) {
  const Instant until = now_ + length;
  // As the server does it: time is told at each deadline, not only at the end.
  while (true) {
    const auto deadline = next_deadline(state_);
    if (!deadline || *deadline > until) break;
    now_ = std::max(now_, *deadline);
    const auto events = elapse(state_, now_);
    if (events.empty()) break;
    for (const Event& event : events) apply(state_, event);
  }
  now_ = until;
}

bool RandomEvening::ask(Action action) {
  const Command command{"k" + std::to_string(++commands_), random_.chance(0.9) ? "ines" : "", now_, std::move(action)};
  const auto events = decide(state_, command, now_);
  if (!events) {
    ++refused_;
    return false;
  }
  for (const Event& event : *events) apply(state_, event);
  ++done_;
  return true;
}

void RandomEvening::step() {
  pass_time(Duration(random_.between(0, 25000)));
  const auto what = random_.between(0, 99);
  if (what < 12) {
    floor();
  } else if (what < 35) {
    pass();
  } else if (what < 95) {
    station();
  } else {
    answer_alert();
  }
}

Order RandomEvening::random_order() {
  static const std::vector<std::string> allergies{"milk", "gluten", "fish", "nuts", "celery", "sulphites"};
  static const std::vector<std::string> changes{"sauce beside", "well done", "no oil"};
  const kitchen::Kitchen& kitchen = *state_.kitchen;
  Order order;
  order.table = random_.pick(kitchen.tables).id;
  if (random_.chance(0.2)) order.note = "birthday";
  const auto covers = static_cast<int>(random_.between(1, 6));
  for (int position = 1; position <= covers; ++position) {
    if (random_.chance(0.12)) order.guests.push_back({position, {random_.pick(allergies)}});
  }
  for (const auto& course : kitchen.courses) {
    if (random_.chance(0.15)) continue;
    std::vector<const kitchen::Dish*> dishes;
    for (const auto& dish : kitchen.dishes) {
      if (dish.course == course.id) dishes.push_back(&dish);
    }
    CourseOrder wanted{course.id, {}};
    for (int position = 1; position <= covers; ++position) {
      const kitchen::Dish* dish = random_.pick(dishes);
      Wanted plate{position, dish->id, {}, random_.chance(0.1) ? random_.pick(changes) : ""};
      for (const auto& part : dish->parts) {
        if (part.can_be_left_off && random_.chance(0.15)) plate.left_off.push_back(part.component);
      }
      wanted.plates.push_back(plate);
    }
    order.courses.push_back(wanted);
  }
  return order;
}

void RandomEvening::floor() {
  static const std::vector<std::string> allergies{"milk", "gluten", "fish", "nuts"};
  const auto tickets = static_cast<std::int64_t>(state_.tickets_made);
  const TicketId ticket{static_cast<std::uint32_t>(random_.between(1, std::max<std::int64_t>(1, tickets)))};
  switch (random_.between(0, 9)) {
    case 0:
      ask(TellAllergy{ticket, static_cast<int>(random_.between(1, 6)), {random_.pick(allergies)}});
      return;
    case 1:
      ask(CancelTicket{ticket, "did not come"});
      return;
    case 2:
      ask(SetLeft{random_.pick(state_.kitchen->dishes).id, static_cast<int>(random_.between(0, 20))});
      return;
    case 3: {
      const auto& station = random_.pick(state_.kitchen->stations);
      if (!station.people.empty()) {
        ask(SetHands{station.id, random_.pick(station.people).id, random_.chance(0.6)});
      }
      return;
    }
    case 4: {
      const auto& dish = random_.pick(state_.kitchen->dishes);
      const Wanted plate{static_cast<int>(random_.between(1, 6)), random_.chance(0.8) ? dish.id : "", {}, ""};
      ask(ChangePlate{ticket, dish.course, plate, random_.chance(0.5)});
      return;
    }
    default:
      ask(SendTicket{random_order()});
  }
}

void RandomEvening::pass() {
  std::vector<CourseKey> keys;
  std::vector<CourseKey> waiting;
  for (const auto& [id, ticket] : state_.tickets) {
    for (const Course& course : ticket.courses) {
      if (ticket.cancelled) continue;
      keys.push_back({id, course.course});
      if (course.state == CourseState::waiting) waiting.push_back({id, course.course});
    }
  }
  if (keys.empty()) return;
  const CourseKey key = random_.pick(keys);
  // On a coarse grid, so that some courses meet together and may share pans.
  const std::int64_t grid = 600000;
  const auto meet = std::optional<std::int64_t>((to_ms(now_) / grid + random_.between(1, 4)) * grid);
  const auto position = static_cast<int>(random_.between(1, 6));
  if (random_.chance(0.05)) {
    const std::string& table = state_.find_ticket(key.ticket)->table;
    ask(TakeBookings{{{table, to_ms(now_) + random_.between(1500000, 3600000), 2}}});
    return;
  }
  switch (random_.between(0, 31)) {
    case 18:
      ask(MergeTables{key.ticket, random_.pick(keys).ticket});
      return;
    case 19:
      ask(GuessClear{key.ticket, key.course, to_ms(now_) + random_.between(0, 1800000)});
      return;
    case 20:
    case 21:
      borrow_where_one_can_lend();
      return;
    case 12:
      ask(Speech{key.ticket, 8});
      return;
    case 13:
      ask(random_.chance(0.5) ? Action(TableUp{key.ticket}) : Action(TableBack{key.ticket}));
      return;
    case 14:
      ask(Borrow{key.ticket, key.course, position, {}, "cold", {}});
      return;
    case 15:
      ask(SplitTable{key.ticket, {position}, {}});
      return;
    case 16:
      ask(MovePositions{key.ticket, {}, {{position, 1}, {1, position}}});
      return;
    case 17:
      ask(Pace{key.ticket, static_cast<int>(random_.between(-5, 5))});
      return;
    case 0:
      ask(Hold{key.ticket, key.course});
      return;
    case 1:
      ask(Release{key.ticket, key.course, random_.chance(0.5) ? meet : std::nullopt});
      return;
    case 2:
      ask(MoveMeet{key.ticket, key.course, *meet});
      return;
    case 3:
      ask(Refire{key.ticket, key.course, position, {}, "too pink"});
      return;
    case 4:
      ask(BringBack{key.ticket, key.course, {}});
      return;
    case 5:
      ask(ClearPlate{key.ticket, key.course, position});
      return;
    case 6:
    case 7:
      ask(Gone{key.ticket, key.course, random_.chance(0.4) ? std::vector<int>{position} : std::vector<int>{},
               random_.chance(0.5)});
      return;
    default:
      if (waiting.empty()) return;
      const CourseKey next = random_.pick(waiting);
      ask(Fire{next.ticket, next.course, random_.chance(0.7) ? meet : std::nullopt, random_.chance(0.5)});
  }
}

void RandomEvening::borrow_where_one_can_lend() {
  for (const auto& [id, ticket] : state_.tickets) {
    for (const Course& course : ticket.courses) {
      if (ticket.cancelled || course.state != CourseState::fired) continue;
      for (const auto& [position, plate] : course.plates) {
        for (const auto& part : state_.kitchen_of(ticket).find_dish(plate.wanted.dish)->parts) {
          if (!lender_of(state_, ticket, position, part.component, now_)) continue;
          const Borrow borrow{id, course.course, position, {part.component}, "dropped", {}};
          ask(borrow);
          return;
        }
      }
    }
  }
  // Nobody: so that somebody can, the next time.
  for (const auto& [id, pan] : state_.pans) {
    const PlateKey& plate = pan.portions.front().plate;
    if (!pan.begun() || pan.finished || !pan.allergies.empty()) continue;
    const MoveMeet later{plate.ticket, plate.course, to_ms(now_ + minutes(35))};
    ask(later);
    return;
  }
}

const Pan* RandomEvening::random_pan(bool begun_rather) {
  std::vector<const Pan*> pans;
  std::vector<const Pan*> begun;
  for (const auto& [id, pan] : state_.pans) {
    const Course* course =
        state_.find_ticket(pan.portions.front().plate.ticket)->find_course(pan.portions.front().plate.course);
    if (pan.finished || course->state == CourseState::waiting) continue;
    pans.push_back(&pan);
    if (pan.begun()) begun.push_back(&pan);
  }
  if (pans.empty()) return nullptr;
  return begun_rather && !begun.empty() ? random_.pick(begun) : random_.pick(pans);
}

void RandomEvening::station() {
  const Pan* pan = random_pan(random_.chance(0.8));
  if (pan == nullptr) return;
  const PanId id = pan->id;
  const auto& component = state_.component_of(*pan);
  const Place place = pan->place;
  const auto& step = component.steps[static_cast<std::size_t>(place.step)];
  switch (random_.between(0, 13)) {
    case 0:
      ask(Undo{pan->station});
      return;
    case 1:
      // The first that fits; when none does, one that is refused.
      for (const auto& [other, from] : state_.pans) {
        if (!may_join(state_, from, *pan)) continue;
        ask(JoinPans{other, id});
        return;
      }
      ask(JoinPans{random_pan(false)->id, id});
      return;
    case 2:
      ask(PlatePortion{id, pan->portions.front().plate, random_.chance(0.3)});
      return;
    case 3:
    case 4:
      ask(StartStep{id, step.id, place.round, random_.chance(0.2)});
      return;
    case 5:
      ask(ItsThere{id});
      return;
    case 6:
      ask(OneMore{id});
      return;
    default:
      break;
  }
  // The next step by hand is done.
  for (const Ahead& ahead : steps_ahead(component, *pan, now_)) {
    if (!ahead.by_hand) continue;
    ask(FinishStep{id, component.steps[static_cast<std::size_t>(ahead.step)].id, ahead.round, random_.chance(0.3)});
    return;
  }
}

void RandomEvening::answer_alert() {
  if (state_.alerts.empty()) return;
  const AlertId alert = state_.alerts.begin()->first;
  if (random_.chance(0.5)) {
    ask(Acknowledge{alert});
  } else {
    ask(Shelve{alert, to_ms(now_ + seconds(random_.between(10, 300)))});
  }
}

}  // namespace nappe::tests
