#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "client/alert.hpp"
#include "client/model.hpp"

namespace nappe::client {
namespace {

using Json = nlohmann::json;

constexpr std::int64_t undo_ms = 3000;    // The same bar again within 3 s, by the clock of who presses.
constexpr std::int64_t notice_ms = 6000;  // Long enough to look up from a pan.
constexpr std::int64_t refused_ms = 10000;
constexpr std::int64_t choice_ms = 15000;

std::string name_of(const Item& item) {
  return fmt::format("{} {}{}{}", item.move, item.what, item.letter.empty() ? "" : " ", item.letter);
}

Ask ask_for(const Item& item, const char* action, Json body, const char* verb = nullptr) {
  Ask ask;
  ask.action = Json{{action, std::move(body)}}.dump();
  ask.says = verb == nullptr ? name_of(item) : fmt::format("{} {}: {}", item.what, item.letter, verb);
  ask.item = item.key;
  return ask;
}

Ask finish(const Item& item) {
  return ask_for(item, "finish_step", {{"pan", item.pan}, {"step", item.step}, {"round", item.round}});
}

std::vector<Ask> take_back(StationModel& model, Times now) {
  Ask ask;
  ask.action = Json{{"undo", {{"station", model.station}}}}.dump();
  ask.says = model.last->says;
  ask.item = model.last->item;
  ask.undo = true;
  // A demo's kitchen runs faster than the hand: three seconds of the hand are dated as three of the kitchen. By an
  // ordinary clock the two are the same.
  ask.at = model.last->at + Duration(now.steady_ms - model.last->steady_ms);
  model.pressed.erase(model.last->item);
  model.notice = {"not done: " + model.last->says, now.steady_ms + notice_ms, false};
  model.last.reset();
  return {ask};
}

std::vector<Ask> pressed_on(StationModel& model, Ask ask, Key key, Times now) {
  model.pressed.insert(ask.item);
  model.last = LastPress{key, ask.item, ask.says, now.kitchen, now.steady_ms};
  model.chosen.clear();
  model.refused.reset();
  model.notice = {};
  return {std::move(ask)};
}

bool takes_back(const StationModel& model, Key key, Times now) {
  if (!model.last || !(model.last->key == key) || !model.chosen.empty()) return false;
  return now.steady_ms <= model.last->steady_ms + undo_ms;
}

// A round itself, not the step behind the rounds (which also carries them, while one more is still possible).
bool in_rounds(const Item& item) { return item.rounds && item.round > 0; }

std::vector<Ask> press_done(StationModel& model, Key key, Times now) {
  if (takes_back(model, key, now)) return take_back(model, now);
  const Item* item = in_hand(model);
  if (item == nullptr) return {};
  if (item->pan == 0) {  // a batch to be made again: its maker gives it a name and a label
    model.notice = {"when it is made: nappe batch made, with your name", now.steady_ms + notice_ms, true};
    return {};
  }
  if (in_rounds(*item)) return pressed_on(model, ask_for(*item, "one_more", {{"pan", item->pan}}), key, now);
  return pressed_on(model, finish(*item), key, now);
}

// The rounds meant: those in the big letters, else the only ones on the list.
const Item* rounds_meant(StationModel& model, Times now) {
  const Item* item = in_hand(model);
  if (item != nullptr && item->rounds) return item;
  const Item* only = nullptr;
  for (const Item& other : model.screen->list) {
    if (!other.rounds || model.pressed.count(other.key) != 0) continue;
    if (only != nullptr) {
      model.notice = {"more than one pan is in its rounds: choose it with the arrows first", now.steady_ms + notice_ms,
                      true};
      return nullptr;
    }
    only = &other;
  }
  if (only == nullptr) model.notice = {"no pan is in its rounds", now.steady_ms + notice_ms, true};
  return only;
}

std::vector<Ask> press_rounds(StationModel& model, Key key, bool there, Times now) {
  if (takes_back(model, key, now)) return take_back(model, now);
  if (!model.screen) return {};
  const Item* item = rounds_meant(model, now);
  if (item == nullptr) return {};
  return pressed_on(model,
                    there ? ask_for(*item, "its_there", {{"pan", item->pan}}, "it's there")
                          : ask_for(*item, "one_more", {{"pan", item->pan}}),
                    key, now);
}

void choose(StationModel& model, int by, Times now) {
  if (!model.screen || model.screen->list.empty()) return;
  const auto& list = model.screen->list;
  const Item* item = in_hand(model);
  int at = item == nullptr ? 0 : static_cast<int>(item - list.data());
  at = std::clamp(at + by, 0, static_cast<int>(list.size()) - 1);
  model.chosen = list[static_cast<std::size_t>(at)].key;
  model.chosen_until_ms = now.steady_ms + choice_ms;
}

std::vector<Ask> toggle_person(StationModel& model, Key key) {
  if (model.over != Over::hands || !model.screen) return {};
  const auto index = static_cast<std::size_t>(key.letter - U'1');
  if (key.letter < U'1' || index >= model.screen->hands.size()) return {};
  const Person& person = model.screen->hands[index];
  Ask ask;
  ask.action =
      Json{{"set_hands", {{"station", model.station}, {"person", person.id}, {"present", !person.present}}}}.dump();
  ask.says = person.name + (person.present ? " away" : " here");
  model.over = Over::nothing;
  return {ask};
}

std::vector<Ask> insist(StationModel& model, Times now) {
  if (!model.refused) return {};
  Ask ask = *model.refused;
  model.refused.reset();
  Json action = Json::parse(ask.action);
  action.begin().value()["sure"] = true;
  ask.action = action.dump();
  model.pressed.insert(ask.item);
  model.notice = {"said again: " + ask.says, now.steady_ms + notice_ms, false};
  return {ask};
}

}  // namespace

const Item* in_hand(const StationModel& model) {
  if (!model.screen) return nullptr;
  if (const Item* chosen = model.screen->find(model.chosen)) return chosen;
  const Item* next = model.screen->find(model.screen->next);
  if (next != nullptr && model.pressed.count(next->key) == 0) return next;
  // What the line named has been pressed and not answered yet: go on to the next one that may begin.
  for (const Item& item : model.screen->list) {
    if (model.pressed.count(item.key) == 0 && !model.pressed.empty()) return &item;
  }
  return nullptr;
}

std::vector<Ask> press(StationModel& model, Key key, Times now) {
  passed(model, now);
  const Act act = act_of(station_keys(), key);
  if (model.over == Over::help && act != Act::quit) {
    if (key.letter == U' ')
      ++model.page;
    else
      model.over = Over::nothing;
    return {};
  }
  switch (act) {
    case Act::quit:
      model.quit = true;
      return {};
    case Act::help:
      model.over = Over::help;
      model.page = 0;
      return {};
    case Act::hands:
      model.over = model.over == Over::hands ? Over::nothing : Over::hands;
      return {};
    case Act::back:
      model.over = Over::nothing;
      model.chosen.clear();
      return {};
    case Act::done:
      return press_done(model, key, now);
    case Act::one_more:
      return press_rounds(model, key, false, now);
    case Act::its_there:
      return press_rounds(model, key, true, now);
    case Act::insist:
      return insist(model, now);
    case Act::answer:
      return model.screen ? answer_alert(model.screen->alerts, now.kitchen) : std::vector<Ask>{};
    case Act::shelve:
      return model.screen ? shelve_alert(model.screen->alerts, now) : std::vector<Ask>{};
    case Act::choose_up:
      choose(model, -1, now);
      return {};
    case Act::choose_down:
      choose(model, 1, now);
      return {};
    case Act::digit:
      return toggle_person(model, key);
    case Act::fire:
    case Act::hold:
    case Act::later:
    case Act::sooner:
    case Act::gone:
    case Act::bring_back:
    case Act::speech:
    case Act::table_up:
    case Act::slower:
    case Act::faster:
    case Act::cook_again:
    case Act::clear:
    case Act::carry:
    case Act::split:
    case Act::none:
      return {};
  }
  return {};
}

void answered(StationModel& model, const Ask& ask, const std::string& problem, bool may_insist, Times now) {
  model.pressed.erase(ask.item);
  if (problem.empty()) return;
  if (model.last && model.last->item == ask.item) model.last.reset();
  const bool insistable = may_insist && !ask.undo && ask.action.find("\"sure\"") == std::string::npos &&
                          ask.action.find("finish_step") != std::string::npos;
  if (insistable) model.refused = ask;
  model.notice = {problem, now.steady_ms + refused_ms, true, insistable};
}

void received(StationModel& model, StationScreen screen) {
  model.screen = std::move(screen);
  if (model.screen->find(model.chosen) == nullptr) model.chosen.clear();
}

void passed(StationModel& model, Times now) {
  if (!model.notice.text.empty() && now.steady_ms > model.notice.until_ms) {
    if (model.notice.refused) model.refused.reset();
    model.notice = {};
  }
  if (!model.chosen.empty() && now.steady_ms > model.chosen_until_ms) model.chosen.clear();
  if (model.last && now.steady_ms > model.last->steady_ms + undo_ms) model.last.reset();
}

}  // namespace nappe::client
