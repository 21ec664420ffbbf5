// The document of the pass: every table as threads that run in to one meet.

#include <fmt/format.h>

#include <algorithm>
#include <boost/describe/enum_to_string.hpp>

#include "common/wire/pass_screen.hpp"

namespace nappe::wire {
namespace {

using line::CourseState;
using nlohmann::json;

constexpr Duration gone_shown = minutes(3);  // a course that left can be brought back from the screen this long
constexpr Duration load_shown = minutes(60);
constexpr Duration load_slot = minutes(5);

// What stands of one plate.
struct PlateUp {
  bool complete = false;
  Instant since{};  ///< Complete: when its last component went on.
  Instant until{};  ///< Complete: when it must leave the pass.
};

PlateUp plate_up(const View& view, const line::PlateKey& key, Duration walk) {
  PlateUp up;
  const auto& pans = view.pans_of(key);
  if (pans.empty()) return up;
  up.until = Instant::max();
  for (const PanView* pan : pans) {
    if (!is_plated(*pan, key)) return {};
    const line::Portion* portion = pan->pan->portion_of(key);
    const Instant at = portion->plated ? *portion->plated : *pan->pan->finished;
    up.since = std::max(up.since, at);
    up.until = std::min(up.until, at + pan->component->keep - walk);
  }
  up.complete = true;
  return up;
}

class PassScreen {
 public:
  explicit PassScreen(const View& view) : view_(view) {}

  json build() {
    json screen;
    screen["service"] = service_of(view_);
    for (const char* const collection :
         {"stations", "tables", "standing", "short", "load", "off", "lend", "wanted", "alerts"}) {
      screen[collection] = json::object();
    }
    if (view_.state().kitchen == nullptr) return screen;
    add_stations(screen);
    for (const auto& [id, ticket] : view_.state().tickets) {
      if (!ticket.cancelled) add_ticket(ticket, screen);
    }
    for (const auto& [id, left] : view_.state().left) {
      const auto* dish = view_.state().kitchen->find_dish(id);
      screen["off"][id] = {{"name", dish == nullptr ? id : dish->name}, {"left", left}};
    }
    screen["lend"] = lend_json(view_);
    screen["wanted"] = wanted_json(view_);
    add_pass_alerts(view_, screen);
    return screen;
  }

 private:
  void add_stations(json& screen) const {
    int order = 0;
    for (const kitchen::Station& station : view_.state().kitchen->stations) {
      screen["stations"][station.id] = {{"name", station.name},
                                        {"order", order++},
                                        {"hands", hundredths(view_.state().hands_at(station.id))},
                                        {"people", people_of(view_, station)}};
      // Without hands there is no telling by how much it is late, nor how full it is.
      const bool nobody = nobody_at(view_, station);
      if (nobody) screen["short"][station.id] = {{"name", station.name}, {"nobody", true}};
      const auto found = view_.plan().stations.find(station.id);
      if (found == view_.plan().stations.end()) continue;
      if (nobody && found->second.nobody && !found->second.hurts_table.empty())
        screen["short"][station.id]["table"] = found->second.hurts_table;
      if (view_.state().hands_at(station.id) <= 0.0) continue;
      const plan::StationPlan& plan = found->second;
      if (plan.behind > Duration::zero()) {
        screen["short"][station.id] = {{"name", station.name},
                                       {"behind_ms", plan.behind.count()},
                                       {"from_ms", to_ms(plan.behind_from)},
                                       {"table", plan.hurts_table}};
      }
      add_load(plan, screen["load"]);
    }
  }

  void add_load(const plan::StationPlan& plan, json& load) const {
    for (const auto& [start_ms, share] : plan.load) {
      const Instant start = from_ms(start_ms);
      if (view_.reached(start + load_slot) || !view_.reached(start - load_shown) || hundredths(share) <= 0.0) continue;
      load[plan.station][std::to_string(start_ms)] = hundredths(share);
    }
  }

  void add_ticket(const line::Ticket& ticket, json& screen) const {
    json courses = json::object();
    const kitchen::Kitchen& kitchen = view_.state().kitchen_of(ticket);
    const Duration walk = kitchen.walk_to(ticket.table);
    for (const line::Course& course : ticket.courses) {
      if (course.plates.empty()) continue;
      const bool left =
          course.state == CourseState::gone && course.gone_at && view_.reached(*course.gone_at + gone_shown);
      if (!left) courses[course.course] = course_json(kitchen, ticket, course, walk, screen["standing"]);
    }
    if (courses.empty()) return;
    const kitchen::Table* table = kitchen.find_table(ticket.table);
    const kitchen::Room* room = table == nullptr ? nullptr : kitchen.find_room(table->room);
    json out = {{"ticket", line::number(ticket.id)}, {"table", ticket.table},
                {"covers", ticket.covers()},         {"room", room == nullptr ? std::string() : room->name},
                {"walk_ms", walk.count()},           {"sent_ms", to_ms(ticket.sent)},
                {"courses", std::move(courses)}};
    if (!ticket.note.empty()) out["note"] = ticket.note;
    if (!ticket.joined.empty()) {
      auto tables = ticket.joined;
      tables.push_back(ticket.table);
      out["joined"] = joined_tables(std::move(tables));
    }
    if (ticket.order != line::TicketId{}) out["order"] = line::number(ticket.order);
    if (ticket.pause) out["pause"] = pause_json(*ticket.pause);
    if (ticket.pace != Duration::zero())
      out["pace_minutes"] = std::chrono::duration_cast<std::chrono::minutes>(ticket.pace).count();
    for (const auto& [position, allergies] : ticket.allergies) {
      if (!allergies.empty()) out["allergies"][std::to_string(position)] = allergy_names(allergies);
    }
    screen["tables"][std::to_string(line::number(ticket.id))] = std::move(out);
  }

  json course_json(const kitchen::Kitchen& kitchen, const line::Ticket& ticket, const line::Course& course,
                   Duration walk, json& standing) const {
    const line::CourseKey key{ticket.id, course.course};
    const auto& names = kitchen.courses;
    const auto named =
        std::find_if(names.begin(), names.end(), [&](const auto& name) { return name.id == course.course; });
    json out = {{"name", named == names.end() ? course.course : named->name},
                {"order", named - names.begin()},
                {"covers", course.plates.size()},
                {"state", boost::describe::enum_to_string(course.state, "")},
                {"threads", json::object()},
                {"plates", json::object()}};
    add_times(key, course, out);
    if (course.state != CourseState::gone) add_threads(key, course, out);
    add_plates(ticket, course, walk, out["plates"], standing);
    if (course.state == CourseState::fired || course.state == CourseState::held) {
      if (json carry = carry_json(view_, ticket, course, walk); !carry.is_null()) out["carry"] = std::move(carry);
      if (const auto latest = latest_meet(view_, key)) {
        out["latest_ms"] = to_ms(latest->at);
        out["latest_what"] = latest->what;
      }
    }
    return out;
  }

  void add_times(const line::CourseKey& key, const line::Course& course, json& out) const {
    const plan::CoursePlan* plan = view_.plan_of(key);
    switch (course.state) {
      case CourseState::waiting:
        if (plan != nullptr) out["could_ms"] = to_ms(plan->meet);
        if (course.clear) out["clear_ms"] = to_ms(*course.clear);
        if (course.clear_sd) out["clear_sd_ms"] = course.clear_sd->count();
        return;
      case CourseState::gone:
        if (course.gone_at) out["gone_ms"] = to_ms(*course.gone_at);
        out["spread_ms"] = course.spread.count();
        return;
      case CourseState::fired:
      case CourseState::held:
        if (course.meet) out["meet_ms"] = to_ms(*course.meet);
        if (plan == nullptr) return;
        out["expected_ms"] = to_ms(plan->meet);
        out["drift_ms"] = std::max(Duration::zero(), plan->drift).count();
        if (course.state == CourseState::fired) out["word_ms"] = to_ms(plan->word);
        return;
    }
  }

  // Of a course not fired only what was begun all the same (the long components).
  void add_threads(const line::CourseKey& key, const line::Course& course, json& out) const {
    for (const PanView* pan : view_.pans_of(key)) {
      if (course.state == CourseState::waiting && !pan->pan->begun()) continue;
      out["threads"][pan->key] = thread_json(*pan);
    }
    const plan::CoursePlan* plan = view_.plan_of(key);
    const PanView* pull = plan == nullptr ? nullptr : view_.find_pan(plan->pull);
    if (pull != nullptr && out["threads"].contains(pull->key)) out["pull"] = pull->key;
  }

  json thread_json(const PanView& pan) const {
    const line::Run* run = pan.pan->running();
    const bool resting = run != nullptr && pan.step(run->step).kind == kitchen::StepKind::rest;
    const Instant starts = pan.pan->begun()     ? pan.pan->runs.front().started
                           : pan.slots->empty() ? view_.now()
                                                : pan.slots->front().latest;
    json thread;
    thread["pan"] = line::number(pan.pan->id);
    thread["what"] = pan.component->name;
    thread["letter"] = pan.pan->letter;
    thread["station"] = pan.pan->station;
    thread["n"] = pan.n;
    thread["state"] = pan.pan->finished ? "ready" : resting ? "resting" : pan.pan->begun() ? "going" : "waiting";
    thread["from_ms"] = to_ms(starts);
    thread["to_ms"] = to_ms(expected_end(pan));
    if (!pan.pan->begun() && !view_.reached(starts)) thread["can_wait"] = true;
    if (cue_is_open(pan)) thread["cue_open"] = true;
    if (resting) {
      const StepTimes times = times_of(pan, *run);
      thread["rest"] = {{"min_ms", to_ms(times.usual)}, {"max_ms", to_ms(times.most)}};
    }
    if (pan.pan->finished) thread["until_ms"] = to_ms(keep_end(pan));
    if (pan.tables.find(',') != std::string::npos) thread["shared"] = pan.tables;
    if (std::string words = pan_words(view_, pan, {false, false, false}); !words.empty())
      thread["words"] = std::move(words);
    if (run != nullptr) {
      if (const auto over = over_of(view_, times_of(pan, *run)); !over.empty()) thread["over"] = over;
    }
    return thread;
  }

  // As planned, or later when it can no longer be that early.
  Instant expected_end(const PanView& pan) const {
    if (pan.pan->finished) return *pan.pan->finished;
    if (pan.planned != nullptr) return std::max(pan.planned->ready, pan.planned->forecast);
    return pan.slots->empty() ? view_.now() : pan.slots->back().latest + pan.slots->back().takes;
  }

  // Whether rounds are ahead whose number nobody can tell yet.
  static bool cue_is_open(const PanView& pan) {
    if (pan.pan->finished) return false;
    if (open_group(pan) >= 0) return true;
    const auto& groups = pan.component->groups;
    for (std::size_t g = 0; g < groups.size(); ++g) {
      if (groups[g].first >= pan.pan->place.step && pan.pan->rounds.count(static_cast<int>(g)) == 0) return true;
    }
    return false;
  }

  void add_plates(const line::Ticket& ticket, const line::Course& course, Duration walk, json& plates,
                  json& standing) const {
    int up = 0;
    int alone = 0;
    int here = 0;
    std::optional<Instant> until;
    std::vector<std::string> missing;
    const auto miss = [&](const std::string& text) {
      if (!text.empty() && std::find(missing.begin(), missing.end(), text) == missing.end()) missing.push_back(text);
    };
    for (const auto& [position, plate] : course.plates) {
      const line::PlateKey key{ticket.id, course.course, position};
      const auto* dish = view_.state().kitchen_of(ticket).find_dish(plate.wanted.dish);
      json& out = plates[std::to_string(position)];
      out["dish"] = plate.wanted.dish;
      out["name"] = dish == nullptr ? plate.wanted.dish : dish->name;
      if (std::string change = plate_change(view_, ticket, plate); !change.empty()) out["change"] = std::move(change);
      for (const auto& [component, table] : plate.borrowed)
        out["borrowed"][component] = fmt::format("{} from table {}", component_name(ticket, component), table);
      for (const auto& [component, table] : plate.lent)
        out["lent"][component] = fmt::format("{} lent to table {}", component_name(ticket, component), table);
      if (course.state != CourseState::waiting) add_parts(ticket, plate, out);
      if (plate.gone) {
        out["state"] = "gone";
        out["since_ms"] = to_ms(*plate.gone);
        continue;
      }
      ++here;
      if (std::string words = no_words(ticket.allergies_of(position)); !words.empty()) out["words"] = std::move(words);
      if (!plate.blocked.empty()) {
        out["state"] = "blocked";
        for (const auto& [component, allergen] : plate.blocked)
          out["blocked"][component] = fmt::format("{} holds {}", component_name(ticket, component), allergen);
        miss(fmt::format("position {} blocked", position));
        continue;
      }
      const PlateUp plate_is = plate_up(view_, key, walk);
      out["state"] = plate_is.complete ? "standing" : "cooking";
      if (plate_is.complete) {
        ++up;
        if (!ticket.allergies_of(position).empty()) ++alone;
        out["since_ms"] = to_ms(plate_is.since);
        out["until_ms"] = to_ms(plate_is.until);
        until = std::min(until.value_or(plate_is.until), plate_is.until);
      } else if (course.state != CourseState::waiting) {
        for (const PanView* pan : view_.pans_of(key)) {
          if (!is_plated(*pan, key)) {
            miss(fmt::format("{} ({})", pan->component->name, view_.station_name(pan->pan->station)));
          }
        }
        if (std::string texts = missing_of(view_, key); !texts.empty()) out["missing"] = std::move(texts);
      }
    }
    if (up == 0) return;
    json& row = standing[fmt::format("{}-{}", line::number(ticket.id), course.course)];
    row = {{"ticket", line::number(ticket.id)},
           {"table", ticket.table},
           {"course", course.course},
           {"up", up},
           {"of", here},
           {"hands", hands_to_carry(up, alone)},
           {"walk_ms", walk.count()}};
    if (until) row["until_ms"] = to_ms(*until);
    // Waiting for the rest would cost what stands.
    const plan::CoursePlan* plan = view_.plan_of({ticket.id, course.course});
    if (until && up < here && plan != nullptr && plan->meet > *until) row["send_now"] = true;
    if (!missing.empty()) row["missing"] = fmt::format("{}", fmt::join(missing, ", "));
  }

  // What can be cooked again alone.
  void add_parts(const line::Ticket& ticket, const line::Plate& plate, json& out) const {
    const auto* dish = view_.state().kitchen_of(ticket).find_dish(plate.wanted.dish);
    if (dish == nullptr || dish->parts.size() < 2) return;
    for (const auto& part : dish->parts) {
      const auto& off = plate.wanted.left_off;
      if (std::find(off.begin(), off.end(), part.component) == off.end())
        out["parts"][part.component] = component_name(ticket, part.component);
    }
  }

  std::string component_name(const line::Ticket& ticket, const std::string& id) const {
    const auto* component = view_.state().kitchen_of(ticket).find_component(id);
    return component == nullptr ? id : component->name;
  }

  const View& view_;
};

}  // namespace

json pass_screen(const View& view) { return PassScreen(view).build(); }

}  // namespace nappe::wire
