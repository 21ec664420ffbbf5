#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "client/alert.hpp"
#include "client/model.hpp"
#include "client/words.hpp"

namespace nappe::client {
namespace {

using Json = nlohmann::json;

constexpr std::int64_t notice_ms = 6000;
constexpr std::int64_t refused_ms = 10000;
constexpr Duration back_time = minutes(3);  // So long a course that left can still be brought back from the list.

const CourseLine* chosen_course(PassModel& model, Instant now) {
  const auto courses = in_order(model, now);
  if (courses.empty()) return nullptr;
  for (const CourseLine* course : courses) {
    if (course->key == model.chosen) return course;
  }
  model.chosen = courses.front()->key;
  model.staying.clear();
  return courses.front();
}

std::string name_of(const CourseLine& course) { return course.table + " " + course.name; }

Ask ask_for(const CourseLine& course, const char* action, Json body, const std::string& says) {
  body["ticket"] = course.ticket;
  body["course"] = course.course;
  return {Json{{action, std::move(body)}}.dump(), name_of(course) + ": " + says, course.key, false};
}

void choose(PassModel& model, int by, Instant now) {
  const auto courses = in_order(model, now);
  if (courses.empty()) return;
  const auto found = std::find_if(courses.begin(), courses.end(),
                                  [&](const CourseLine* course) { return course->key == model.chosen; });
  int at = found == courses.end() ? 0 : static_cast<int>(found - courses.begin()) + by;
  at = std::clamp(at, 0, static_cast<int>(courses.size()) - 1);
  model.chosen = courses[static_cast<std::size_t>(at)]->key;
  model.staying.clear();
}

std::vector<Ask> move_meet(PassModel& model, const CourseLine& course, Duration by, Times now) {
  const auto asked = model.moved.find(course.key);
  const std::optional<Instant> from = asked != model.moved.end() ? std::optional(asked->second) : course.meet;
  if (!from) {
    model.notice = {name_of(course) + " has no meet yet: fire it first", now.steady_ms + notice_ms, true};
    return {};
  }
  const Instant to = *from + by;
  model.moved[course.key] = to;
  const Duration offset = model.screen->service.utc_offset;
  return {ask_for(course, "move_meet", {{"meet_ms", to_ms(to)}}, "meets " + clock_text(to, offset))};
}

std::vector<Ask> gone(PassModel& model, const CourseLine& course) {
  Json but = Json::array();
  std::string says = "gone";
  for (const int position : model.staying) {
    but.push_back(position);
    says += fmt::format("{} {}", but.size() == 1 ? ", all but" : ",", position);
  }
  model.staying.clear();
  return {ask_for(course, "gone", {{"but", but}}, says)};
}

std::vector<Ask> bring_back(PassModel& model, const CourseLine& course) {
  const Json positions(std::vector<int>(model.staying.begin(), model.staying.end()));
  model.staying.clear();
  return {ask_for(course, "bring_back", {{"positions", positions}}, "back at the pass")};
}

std::vector<Ask> mark(PassModel& model, const CourseLine& course, Key pressed, Times now) {
  const int position = static_cast<int>(pressed.letter - U'0');
  const bool there = std::any_of(course.plates.begin(), course.plates.end(),
                                 [&](const PlateLine& plate) { return plate.position == position; });
  if (!there) {
    model.notice = {fmt::format("{} has no position {}", name_of(course), position), now.steady_ms + notice_ms, true};
  } else if (model.staying.erase(position) == 0) {
    model.staying.insert(position);
  }
  return {};
}

constexpr int pace_minutes = 5;

Ask ask_table(const CourseLine& course, const char* action, Json body, const std::string& says) {
  body["ticket"] = course.ticket;
  return {Json{{action, std::move(body)}}.dump(), "table " + course.table + ": " + says, course.key, false};
}

std::vector<Ask> table_up(const CourseLine& course) {
  if (!course.pause.empty())
    return {ask_table(course, "table_back", Json::object(), course.pause == "up" ? "sits again" : "speech over")};
  return {ask_table(course, "table_up", Json::object(), "up")};
}

std::vector<Ask> pace(const CourseLine& course, int by) {
  return {ask_table(course, "pace", {{"minutes", by}}, by > 0 ? "slower" : "faster")};
}

// The one marked plate; a sentence when it is not one.
const PlateLine* marked_plate(PassModel& model, const CourseLine& course, Times now) {
  if (model.staying.size() == 1)
    for (const PlateLine& plate : course.plates)
      if (plate.position == *model.staying.begin()) return &plate;
  model.notice = {"mark one position of " + name_of(course) + " first: 1 to 9", now.steady_ms + notice_ms, true};
  return nullptr;
}

std::vector<Ask> clear_plate(PassModel& model, const CourseLine& course, Times now) {
  const PlateLine* plate = marked_plate(model, course, now);
  if (plate == nullptr) return {};
  model.staying.clear();
  return {ask_for(course, "clear_plate", {{"position", plate->position}},
                  fmt::format("position {} cleared", plate->position))};
}

// Again, with another table's portion where somebody can lend one and nobody said new.
std::vector<Ask> cook_again(PassModel& model, const CourseLine& course, const std::string& reason, Times now) {
  const PlateLine* plate = marked_plate(model, course, now);
  if (plate == nullptr) return {};
  const bool lent = !model.again.fresh && !lenders(model, now.kitchen).empty();
  Json body{{"position", plate->position}, {"reason", reason}};
  std::string what;
  for (const auto& [id, name] : plate->parts) {
    if (model.again.parts.count(id) == 0) continue;
    body["components"].push_back(id);
    what += (what.empty() ? "the " : " and ") + name;
  }
  model.staying.clear();
  model.again = {};
  return {ask_for(course, lent ? "borrow" : "refire", std::move(body),
                  fmt::format("position {} again{}{}, {}{}", plate->position, what.empty() ? "" : ", ", what, reason,
                              lent ? ", borrowed" : ""))};
}

// The marked positions of a course on a ticket of their own.
std::vector<Ask> split_off(PassModel& model, const CourseLine& course, Times now) {
  if (model.staying.empty()) {
    model.notice = {"mark the positions of " + name_of(course) + " that are split off first: 1 to 9",
                    now.steady_ms + notice_ms, true};
    return {};
  }
  const std::vector<int> positions(model.staying.begin(), model.staying.end());
  model.staying.clear();
  return {ask_table(course, "split_table", {{"positions", positions}},
                    fmt::format("{} split off", fmt::join(positions, ", ")))};
}

// While it is said what is cooked again: a letter means a part, n new instead of borrowed.
bool choose_part(PassModel& model, Key pressed, Times now) {
  if (model.over != Over::reasons) return false;
  if (pressed.letter == U'n' && (model.again.fresh || !lenders(model, now.kitchen).empty())) {
    model.again.fresh = !model.again.fresh;
    return true;
  }
  for (const PartChoice& part : parts_again(model)) {
    if (part.letter != pressed.letter) continue;
    if (model.again.parts.erase(part.id) == 0) model.again.parts.insert(part.id);
    return true;
  }
  return false;
}

// A number answers what lies over the screen.
std::vector<Ask> choose_over(PassModel& model, const CourseLine& course, Key pressed, Times now) {
  const Over over = model.over;
  if (over == Over::reasons && static_cast<std::size_t>(pressed.letter - U'1') >= reasons_again().size()) return {};
  model.over = Over::nothing;
  const auto choice = static_cast<std::size_t>(pressed.letter - U'1');
  if (over == Over::speech && choice < speech_minutes().size()) {
    const int lasts = speech_minutes()[choice];
    return {ask_table(course, "speech", {{"minutes", lasts}}, fmt::format("speech, {} min", lasts))};
  }
  if (over == Over::reasons && choice < reasons_again().size())
    return cook_again(model, course, reasons_again()[choice], now);
  return {};
}

std::vector<Ask> insist(PassModel& model) {
  if (!model.refused) return {};
  Ask ask = *model.refused;
  model.refused.reset();
  Json action = Json::parse(ask.action);
  action.begin().value()["sure"] = true;
  ask.action = action.dump();
  return {ask};
}

std::vector<Ask> press_course(PassModel& model, Act act, Key pressed, Times now) {
  const CourseLine* course = chosen_course(model, now.kitchen);
  if (course == nullptr) return {};
  switch (act) {
    case Act::fire:
      return {ask_for(*course, "fire", Json::object(), "fired")};
    case Act::hold:
      if (course->state == "held") return {ask_for(*course, "release", Json::object(), "released")};
      return {ask_for(*course, "hold", Json::object(), "held")};
    case Act::later:
      return move_meet(model, *course, minutes(1), now);
    case Act::sooner:
      return move_meet(model, *course, minutes(-1), now);
    case Act::gone:
      return gone(model, *course);
    case Act::bring_back:
      return bring_back(model, *course);
    case Act::digit:
      if (model.over == Over::speech || model.over == Over::reasons) return choose_over(model, *course, pressed, now);
      return mark(model, *course, pressed, now);
    case Act::speech:
      model.over = Over::speech;
      return {};
    case Act::carry:
      model.over = Over::carry;
      return {};
    case Act::cook_again:
      model.again = {};
      if (marked_plate(model, *course, now) != nullptr) model.over = Over::reasons;
      return {};
    case Act::split:
      return split_off(model, *course, now);
    case Act::clear:
      return clear_plate(model, *course, now);
    case Act::table_up:
      return table_up(*course);
    case Act::slower:
      return pace(*course, pace_minutes);
    case Act::faster:
      return pace(*course, -pace_minutes);
    default:
      return {};
  }
}

int rank_of(const CourseLine& course) {
  if (course.state == "fired" || course.state == "held") return 0;
  return course.state == "waiting" ? 1 : 2;
}

Instant when_of(const CourseLine& course) {
  if (course.state == "gone") return course.gone.value_or(Instant::max());
  if (course.state == "waiting") return course.could.value_or(Instant::max());
  return course.expected.value_or(course.meet.value_or(Instant::max()));
}

}  // namespace

const std::vector<int>& speech_minutes() {
  static const std::vector<int> minutes{5, 10, 15, 20};
  return minutes;
}

const std::vector<std::string>& reasons_again() {
  static const std::vector<std::string> reasons{"too pink", "cold", "wrong", "hair", "dropped"};
  return reasons;
}

std::vector<PartChoice> parts_again(const PassModel& model) {
  std::vector<PartChoice> out;
  const CourseLine* course = model.screen ? model.screen->find(model.chosen) : nullptr;
  if (course == nullptr || model.staying.size() != 1) return out;
  for (const PlateLine& plate : course->plates) {
    if (plate.position != *model.staying.begin() || plate.parts.size() < 2) continue;
    char32_t letter = U'a';
    for (const auto& [id, name] : plate.parts) {
      if (letter == U'n') ++letter;  // n means new
      out.push_back({letter++, id, name});
    }
  }
  return out;
}

std::vector<const LendLine*> lenders(const PassModel& model, Instant now) {
  std::vector<const LendLine*> out;
  const CourseLine* course = model.screen ? model.screen->find(model.chosen) : nullptr;
  if (course == nullptr || model.staying.size() != 1) return out;
  for (const PlateLine& plate : course->plates) {
    // Nobody lends across an allergy.
    if (plate.position != *model.staying.begin() || !plate.words.empty()) continue;
    for (const LendLine& lend : model.screen->lend) {
      if (lend.ticket == course->ticket || lend.until <= now) continue;
      const bool had = std::any_of(plate.parts.begin(), plate.parts.end(),
                                   [&](const auto& part) { return part.first == lend.component; });
      const auto& wanted = model.again.parts;
      if (had && (wanted.empty() || wanted.count(lend.component) != 0)) out.push_back(&lend);
    }
  }
  return out;
}

bool can_insist(const std::string& problem) { return problem.find("say it again") != std::string::npos; }

std::vector<const CourseLine*> in_order(const PassModel& model, Instant now) {
  std::vector<const CourseLine*> out;
  if (!model.screen) return out;
  for (const CourseLine& course : model.screen->courses) {
    if (course.state == "gone" && (!course.gone || now - *course.gone > back_time)) continue;
    // Of a table's courses not fired only the first: the others cannot be decided yet.
    const bool later =
        course.state == "waiting" &&
        std::any_of(model.screen->courses.begin(), model.screen->courses.end(), [&](const CourseLine& o) {
          return o.ticket == course.ticket && o.state == "waiting" && o.order < course.order;
        });
    if (!later) out.push_back(&course);
  }
  std::stable_sort(out.begin(), out.end(), [](const CourseLine* a, const CourseLine* b) {
    if (rank_of(*a) != rank_of(*b)) return rank_of(*a) < rank_of(*b);
    const Instant first = when_of(*a), second = when_of(*b);
    if (rank_of(*a) == 2) return first > second;
    return first != second ? first < second : a->key < b->key;
  });
  return out;
}

std::vector<Ask> press(PassModel& model, Key pressed, Times now) {
  passed(model, now);
  const Act act = act_of(pass_keys(), pressed);
  if (choose_part(model, pressed, now)) return {};
  if (model.over == Over::help && pressed.letter == U' ') {
    ++model.page;
    return {};
  }
  const bool asks = model.over == Over::speech || model.over == Over::reasons;
  if (model.over != Over::nothing && act != Act::quit && !(asks && act == Act::digit)) {
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
    case Act::back:
      model.staying.clear();
      return {};
    case Act::choose_up:
      choose(model, -1, now.kitchen);
      return {};
    case Act::choose_down:
      choose(model, 1, now.kitchen);
      return {};
    case Act::insist:
      return insist(model);
    case Act::answer:
      return model.screen ? answer_alert(model.screen->alerts, now.kitchen) : std::vector<Ask>{};
    case Act::shelve:
      return model.screen ? shelve_alert(model.screen->alerts, now) : std::vector<Ask>{};
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
    case Act::digit:
      return press_course(model, act, pressed, now);
    case Act::done:
    case Act::one_more:
    case Act::its_there:
    case Act::hands:
    case Act::none:
      return {};
  }
  return {};
}

void answered(PassModel& model, const Ask& ask, const std::string& problem, bool may_insist, Times now) {
  model.moved.erase(ask.item);
  if (problem.empty()) {
    model.notice = {ask.says, now.steady_ms + notice_ms, false};
    return;
  }
  const bool insistable = may_insist && ask.action.find("\"sure\"") == std::string::npos && can_insist(problem);
  if (insistable) model.refused = ask;
  model.notice = {problem, now.steady_ms + refused_ms, true, insistable};
}

void received(PassModel& model, PassScreen screen) { model.screen = std::move(screen); }

void passed(PassModel& model, Times now) {
  if (!model.notice.text.empty() && now.steady_ms > model.notice.until_ms) {
    if (model.notice.refused) model.refused.reset();
    model.notice = {};
  }
  if (model.screen) chosen_course(model, now.kitchen);
}

}  // namespace nappe::client
