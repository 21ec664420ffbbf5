#include "tests/wire/scene.hpp"

#include <algorithm>
#include <map>
#include <stdexcept>

namespace nappe::tests {
namespace {

using kitchen::Component;
using kitchen::Step;
using kitchen::StepKind;

Step step(const std::string& id, StepKind kind, std::int64_t fixed, std::int64_t each, const std::string& word = {}) {
  Step one;
  one.id = id;
  one.kind = kind;
  one.word = word.empty() ? id : word;
  one.takes = {seconds(fixed), seconds(each)};
  return one;
}

Component emmer() {
  Component c;
  c.id = c.name = "emmer";
  c.station = "garnish";
  c.cap = 4;
  c.keep = seconds(90);
  c.allergens = {"wheat", "milk", "celery"};
  c.without = {{"milk", "no curd, mount with leek oil"}};
  c.steps = {step("toast", StepKind::move, 45, 5), step("toasting", StepKind::wait, 30, 0),
             step("ladle", StepKind::move, 22, 2), step("absorb", StepKind::wait, 50, 0, "absorbing"),
             step("taste", StepKind::move, 12, 0), step("rest", StepKind::rest, 90, 0, "off the heat"),
             step("mount", StepKind::move, 30, 8), step("bowl", StepKind::plate, 0, 22, "into bowls")};
  c.steps[2].group = c.steps[3].group = 0;
  c.steps[4].cue = kitchen::Cue{"", "", "no chalk, still a bite", "burst and gluey", {}};
  c.steps[5].rest_max = seconds(180);
  c.steps[5].rest_past = "set: loosen with stock, 20 s";
  kitchen::Rounds rounds;
  rounds.first = 2;
  rounds.last = 3;
  rounds.min = 6;
  rounds.usual = 7;
  rounds.max = 9;
  rounds.word = "ladle";
  rounds.join_before = 3;
  rounds.cue = kitchen::Cue{"grains split at the tip", "the hiss thins", "", "", {}};
  c.groups = {rounds};
  return c;
}

Component mackerel() {
  Component c;
  c.id = c.name = "mackerel";
  c.station = "larder";
  c.cap = 6;
  c.keep = seconds(240);
  c.allergens = {"fish", "oats", "milk"};
  c.steps = {step("torch", StepKind::move, 0, 40), step("dress", StepKind::plate, 0, 65)};
  return c;
}

Component loin() {
  Component c;
  c.id = "loin";
  c.name = "hogget loin";
  c.station = "sauce";
  c.cap = 4;
  c.keep = seconds(120);
  c.allergens = {"celery"};
  c.steps = {step("sear", StepKind::move, 70, 15), step("colour", StepKind::wait, 120, 0, "colouring"),
             step("baste", StepKind::move, 30, 5), step("oven", StepKind::wait, 240, 0, "in the oven"),
             step("probe", StepKind::move, 15, 0), step("rest", StepKind::rest, 480, 0, "resting"),
             step("carve", StepKind::plate, 0, 30)};
  c.steps[4].cue = kitchen::Cue{"", "", "", "", 50.0};
  c.steps[5].rest_max = seconds(840);
  return c;
}

Component turnips() {
  Component c;
  c.id = c.name = "turnips";
  c.station = "garnish";
  c.cap = 6;
  c.keep = seconds(180);
  c.allergens = {"milk", "sulphites"};
  c.without = {{"milk", "glaze with oil"}, {"sulphites", "no verjus"}};
  c.vessel = "grill";
  c.steps = {step("char", StepKind::move, 15, 4), step("wait", StepKind::wait, 180, 0, "on the grill"),
             step("glaze", StepKind::move, 20, 3), step("plate", StepKind::plate, 0, 12, "to plates")};
  c.steps[2].how = "off the fire, shake";
  return c;
}

kitchen::Dish dish(const std::string& id, const std::string& letter, const std::string& name,
                   const std::string& course) {
  kitchen::Dish one;
  one.id = id;
  one.letter = letter;
  one.name = name;
  one.course = course;
  return one;
}

kitchen::Part part(const std::string& component, bool can_be_left_off) {
  kitchen::Part one;
  one.component = component;
  one.can_be_left_off = can_be_left_off;
  return one;
}

int step_index(const Component& component, const std::string& id) {
  for (std::size_t i = 0; i < component.steps.size(); ++i) {
    if (component.steps[i].id == id) return static_cast<int>(i);
  }
  throw std::logic_error("scene: no step " + id);
}

}  // namespace

kitchen::Kitchen scene_kitchen() {
  kitchen::Kitchen k;
  k.name = "Scene";
  k.version = "scene1";
  k.rooms = {{"room", "the room", seconds(15)}, {"garden", "the garden room", seconds(45)}};
  k.tables = {{"3", "room", 2}, {"6", "room", 2}, {"8", "room", 6}, {"10", "garden", 4}, {"12", "room", 4}};
  k.courses = {{"starters", "starters", {}}, {"mains", "mains", {}}};
  k.stations = {{"sauce", "sauce", {{"bashir", "Bashir", 1.0}}, {}},
                {"garnish", "garnish", {{"ines", "Ines", 1.0}, {"tom", "Tom", 1.0 / 1.35}}, {}},
                {"larder", "larder", {{"perrin", "Perrin", 1.0}}, {}}};
  k.components = {emmer(), mackerel(), loin(), turnips()};
  k.dishes = {dish("emmer", "e", "Ladled emmer", "starters"), dish("mackerel", "m", "Torched mackerel", "starters"),
              dish("hogget", "h", "Hogget loin", "mains")};
  k.dishes[0].parts = {part("emmer", false)};
  k.dishes[1].parts = {part("mackerel", false)};
  k.dishes[2].parts = {part("loin", false), part("turnips", true)};
  return k;
}

line::State open_service() {
  line::State state;
  const auto kitchen = std::make_shared<const kitchen::Kitchen>(scene_kitchen());
  state.service = line::ServiceState::open;
  state.name = "Friday";
  state.opened = at(-7200);
  state.now = state.opened;
  state.kitchens[kitchen->version] = kitchen;
  state.kitchen = kitchen;
  for (const auto& station : kitchen->stations) {
    for (const auto& person : station.people) state.hands[station.id].insert(person.id);
  }
  return state;
}

void happen(line::State& state, Instant when, const std::vector<line::Happening>& happenings) {
  for (const line::Happening& what : happenings) line::apply(state, {when, what});
}

line::TicketId send(line::State& state, Instant when, const line::Order& order) {
  const line::TicketId id{state.tickets_made + 1};
  happen(state, when, {line::TicketSent{id, state.kitchen->version, order}});
  const line::Ticket& ticket = *state.find_ticket(id);
  for (const line::CourseOrder& course : order.courses) {
    std::map<std::pair<std::string, std::vector<std::string>>, std::vector<line::PlateKey>> pans;
    for (const line::Wanted& wanted : course.plates) {
      for (const auto& part : state.kitchen->find_dish(wanted.dish)->parts) {
        if (std::count(wanted.left_off.begin(), wanted.left_off.end(), part.component) != 0) continue;
        pans[{part.component, ticket.allergies_of(wanted.position)}].push_back({id, course.course, wanted.position});
      }
    }
    for (const auto& [what, plates] : pans) {
      const line::PanId pan{state.pans_made + 1};
      happen(state, when,
             {line::PanOpened{pan, what.first, state.kitchen->find_component(what.first)->station,
                              state.kitchen->version, plates, what.second, false}});
    }
  }
  return id;
}

void fire(line::State& state, Instant when, line::TicketId ticket, const std::string& course, Instant meet) {
  happen(state, when, {line::CourseFired{ticket, course, to_ms(meet)}});
  for (const line::Pan* pan : state.pans_of(line::CourseKey{ticket, course})) {
    if (!pan->letter.empty()) continue;
    std::string letter = "A";
    const auto taken = [&](const auto& entry) {
      return entry.second.station == pan->station && entry.second.letter == letter;
    };
    while (std::any_of(state.pans.begin(), state.pans.end(), taken)) ++letter[0];
    happen(state, when, {line::LetterGiven{pan->id, letter}});
  }
}

void cook_until(line::State& state, line::PanId id, const std::string& step_id, int round, Instant when) {
  const Component& component = state.component_of(state.pans.at(id));
  const line::Place target{step_index(component, step_id), round};
  const int n = std::max(1, state.pans.at(id).portions_in());
  std::vector<line::Place> way;
  for (line::Place place = state.pans.at(id).place; place != target;) {
    way.push_back(place);
    const auto next = line::next_place(component, state.pans.at(id), place);
    if (!next) throw std::logic_error("scene: the pan is past that step");
    place = *next;
  }
  Instant start = when;
  for (const line::Place& place : way) start -= component.steps[static_cast<std::size_t>(place.step)].usual(n);
  for (const line::Place& place : way) {
    const Step& one = component.steps[static_cast<std::size_t>(place.step)];
    if (state.pans.at(id).running() == nullptr) {
      happen(state, start, {line::StepStarted{id, one.id, place.round, to_ms(start), false}});
    }
    start += one.usual(n);
    happen(state, start, {line::StepEnded{id, one.id, place.round, to_ms(start), false}});
  }
  happen(state, when, {line::StepStarted{id, step_id, round, to_ms(when), false}});
}

plan::Plan plain_plan(const line::State& state, Instant now) {
  plan::Plan plan;
  plan.made = now;
  for (const auto& [id, ticket] : state.tickets) {
    for (const line::Course& course : ticket.courses) {
      const line::CourseKey key{id, course.course};
      const auto pans = state.pans_of(key);
      if (pans.empty()) continue;
      plan::CoursePlan one;
      one.course = key;
      Instant soonest = now;
      for (const line::Pan* pan : pans) {
        if (pan->finished) continue;
        const Instant end = now + line::time_left(line::steps_ahead(state.component_of(*pan), *pan, now));
        if (one.pull == line::PanId{} || end > soonest) one.pull = pan->id;
        soonest = std::max(soonest, end);
      }
      one.meet = std::max(soonest, course.meet.value_or(soonest));
      one.drift = course.meet ? one.meet - *course.meet : Duration::zero();
      one.word = std::chrono::ceil<std::chrono::minutes>(one.meet);
      one.tentative = !course.meet;
      plan.courses[key] = one;
    }
  }
  for (const auto& [id, pan] : state.pans) {
    const auto ahead = line::steps_ahead(state.component_of(pan), pan, now);
    plan::PanPlan one;
    one.pan = id;
    one.forecast = pan.finished.value_or(now + line::time_left(ahead));
    one.ready = one.forecast;
    for (const line::Portion& portion : pan.portions) {
      const auto course = plan.courses.find(portion.plate.of_course());
      if (course == plan.courses.end()) continue;
      one.ready = std::max(one.ready, course->second.meet);
      one.pull = one.pull || course->second.pull == id;
    }
    const auto latest = line::latest_starts(ahead, one.ready);
    Instant soonest = now;
    for (std::size_t i = 0; i < ahead.size(); ++i) {
      one.slots.push_back(
          {ahead[i].step, ahead[i].round, latest[i], soonest, ahead[i].takes, ahead[i].running, ahead[i].by_hand});
      soonest += ahead[i].left;
    }
    plan.pans[id] = one;
  }
  for (const auto& station : state.kitchen->stations) plan.stations[station.id].station = station.id;
  return plan;
}

}  // namespace nappe::tests
