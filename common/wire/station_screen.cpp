// The document of one station: its hand list, what stands on the heat, who waits for whom.

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "common/line/batches.hpp"
#include "common/wire/screen_view.hpp"

namespace nappe::wire {
namespace {

using nlohmann::json;

constexpr Duration horizon = minutes(20);
constexpr Duration short_give = seconds(10);  // the next move takes the colour below this
constexpr Duration waits_from = minutes(5);   // a move this far off is not waiting for anybody yet

json cue_json(const kitchen::Cue& cue) {
  json out = json::object();
  if (!cue.look.empty()) out["look"] = cue.look;
  if (!cue.sound.empty()) out["sound"] = cue.sound;
  if (!cue.taste.empty()) out["taste"] = cue.taste;
  if (!cue.too_far.empty()) out["too_far"] = cue.too_far;
  if (cue.core_c) out["core_c"] = *cue.core_c;
  return out;
}

int first_by_hand(const kitchen::Component& component, int from, int to) {
  for (int step = from; step <= to; ++step) {
    if (component.steps[static_cast<std::size_t>(step)].by_hand()) return step;
  }
  return from;
}

// A cook hears of what has to be begun before the call this long ahead.
constexpr Duration early_notice = minutes(10);

// The plan wants it begun before its table is clear: what rests for long, and nothing else.
bool begins_before_call(const View& view, const PanView& pan) {
  if (pan.planned == nullptr || !pan.planned->scheduled || pan.planned->slots.empty()) return false;
  const Instant start = pan.planned->slots.front().latest;
  return std::any_of(pan.courses.begin(), pan.courses.end(), [&](const line::CourseKey& key) {
    const line::Course* course = view.find_course(key);
    return course != nullptr && course->state == line::CourseState::waiting && course->clear &&
           start < *course->clear && view.reached(start - early_notice);
  });
}

// Unbegun pans are on the list once a course of theirs is fired and not held; what rests for long also before that,
// from some minutes before the plan wants it begun.
bool on_list(const View& view, const PanView& pan) {
  if (pan.pan->begun()) return true;
  if (begins_before_call(view, pan)) return true;
  return std::any_of(pan.courses.begin(), pan.courses.end(), [&](const line::CourseKey& key) {
    const line::Course* course = view.find_course(key);
    return course != nullptr && course->state == line::CourseState::fired;
  });
}

// Nobody pressed what brought the pan here; something later proved it.
bool is_guess(const line::Pan& pan) {
  if (pan.runs.empty()) return false;
  const line::Run& last = pan.runs.back();
  return last.ended ? last.end_inferred : last.start_inferred;
}

class StationScreen {
 public:
  StationScreen(const View& view, const kitchen::Station& station) : view_(view), station_(station) {}

  json build() {
    json screen;
    screen["service"] = service_of(view_);
    screen["station"] = {{"id", station_.id}, {"name", station_.name}};
    screen["hands"] = people_of(view_, station_);
    for (const char* const collection : {"list", "heat", "standing", "waits", "alerts"})
      screen[collection] = json::object();
    for (const PanView* pan : view_.pans_at(station_.id)) {
      if (pan->pan->finished) {
        add_standing(*pan, screen["standing"]);
        continue;
      }
      const line::Run* run = pan->pan->running();
      if (run != nullptr && !pan->step(run->step).by_hand()) add_heat(*pan, *run, screen["heat"]);
      if (on_list(view_, *pan)) add_moves(*pan, screen["list"]);
    }
    add_remakes(screen["list"]);
    add_behind(screen);
    add_waits(screen["waits"]);
    add_undo(screen);
    std::vector<const line::Alert*> alerts;
    for (const auto& [id, alert] : view_.state().alerts) {
      if (alert.station != station_.id || !still_so(view_, alert)) continue;
      alerts.push_back(&alert);
      screen["alerts"][fmt::format("a{}", line::number(id))] = alert_json(view_, alert, false);
    }
    if (!next_.key.empty()) screen["next"] = next_.key;
    const std::string colour = next_is_short() ? "next" : coloured_alert(view_, alerts);
    if (!colour.empty()) screen["colour"] = colour;
    return screen;
  }

 private:
  // The move that may begin and has the smallest latest start.
  struct Next {
    std::string key;
    Instant at{};
    bool doing = false;
    Instant most{};
  };

  void add_moves(const PanView& pan, json& list) {
    const line::Run* run = pan.pan->running();
    bool first = true;  // of this pan's moves
    bool behind_rest = run != nullptr && pan.step(run->step).kind == kitchen::StepKind::rest;
    for (const plan::Slot& slot : *pan.slots) {
      if (!slot.by_hand) continue;
      if (!slot.running && !view_.reached(slot.latest - horizon)) {
        first = false;
        continue;
      }
      const std::string key = fmt::format("{}.{}.{}", pan.key, pan.step(slot.step).id, slot.round);
      json item = move_json(pan, slot, first);
      Next next{key, slot.latest, slot.running && run != nullptr, {}};
      bool may_begin = next.doing;
      if (next.doing) {
        next.most = add_doing(pan, *run, item);
      } else {
        may_begin = first && (run == nullptr || view_.reached(hand_wanted(pan, *run))) && nothing_before(pan, slot);
        item["state"] = may_begin ? "ready" : "coming";
      }
      if (first && behind_rest) {
        const StepTimes times = times_of(pan, *run);
        item["rest"] = {
            {"from_ms", to_ms(times.started)}, {"min_ms", to_ms(times.usual)}, {"max_ms", to_ms(times.most)}};
      }
      if (may_begin && (next_.key.empty() || next.at < next_.at || (next.at == next_.at && next.key < next_.key))) {
        next_ = next;
      }
      list[key] = std::move(item);
      first = false;
    }
  }

  // A batch that dies in service is made again by the station that made it: a move of its hands like any other, with no
  // pan. It never takes the large word: it is done with `batch made`, not with the bar.
  void add_remakes(json& list) const {
    for (const line::Remake& remake : line::remakes(view_.state())) {
      if (remake.batch->station != station_.id || !view_.reached(remake.begin - horizon)) continue;
      list["b." + remake.batch->id] = {
          {"pan", 0},
          {"letter", ""},
          {"vessel", ""},
          {"step", "make"},
          {"round", 0},
          {"move", "make"},
          {"what", remake.batch->name},
          {"n", remake.batch->portions.value_or(0)},
          {"tables", ""},
          {"at_ms", to_ms(remake.begin)},
          {"soonest_ms", to_ms(remake.begin)},
          {"takes_ms", remake.takes.count()},
          {"how", fmt::format("what is there ends at {}", view_.clock(remake.batch->use_by))},
          {"batch", remake.batch->kind},
          {"state", view_.reached(remake.begin) ? "ready" : "coming"}};
    }
  }

  // Whether all that stands before this slot is the wait that runs.
  static bool nothing_before(const PanView& pan, const plan::Slot& slot) {
    for (const plan::Slot& before : *pan.slots) {
      if (&before == &slot) return true;
      if (before.by_hand || (!before.running && pan.pan->running() == nullptr)) return false;
    }
    return true;
  }

  json move_json(const PanView& pan, const plan::Slot& slot, bool first) const {
    const kitchen::Step& step = pan.step(slot.step);
    const bool plating = step.kind == kitchen::StepKind::plate;
    json item;
    item["pan"] = line::number(pan.pan->id);
    item["letter"] = pan.pan->letter;
    item["vessel"] = pan.component->vessel;
    item["step"] = step.id;
    item["round"] = slot.round;
    item["move"] = step.word;
    item["what"] = pan.component->name;
    item["n"] = plating ? to_plate(pan) : pan.n;
    item["tables"] = pan.tables;
    item["at_ms"] = to_ms(slot.latest);
    item["soonest_ms"] = to_ms(slot.soonest);
    item["takes_ms"] = slot.takes.count();
    const bool clean = slot.round <= 1 && !later_begun(pan, slot) &&
                       slot.step == first_by_hand(*pan.component, 0, static_cast<int>(pan.component->steps.size()) - 1);
    if (std::string words = pan_words(view_, pan, {clean, plating, true}); !words.empty()) {
      item["words"] = std::move(words);
      item["allergy"] = true;
    }
    if (std::string change = pan_change(view_, pan); !change.empty()) item["change"] = std::move(change);
    if (!step.how.empty()) item["how"] = step.how;
    if (plating) item["plate"] = true;
    if (first && is_guess(*pan.pan)) item["guess"] = true;
    add_cue_and_rounds(pan, slot, first, item);
    return item;
  }

  // Whether the pan has begun anything but this step: then it is too late to take a clean one.
  static bool later_begun(const PanView& pan, const plan::Slot& slot) {
    return pan.pan->begun() && !(slot.running && pan.pan->runs.size() == 1);
  }

  int to_plate(const PanView& pan) const {
    int n = 0;
    for (const line::Portion& portion : pan.pan->portions) {
      const line::Plate* plate = view_.state().find_plate(portion.plate);
      if (!portion.plated && plate != nullptr && !plate->gone) ++n;
    }
    return n;
  }

  // ONE MORE and IT'S THERE belong to the first move of a round; and, when the usual number is reached and the cue has
  // not come, to the move behind the rounds.
  void add_cue_and_rounds(const PanView& pan, const plan::Slot& slot, bool first, json& item) const {
    const kitchen::Step& step = pan.step(slot.step);
    const int open = first ? open_group(pan) : -1;
    int group = step.group >= 0 ? step.group : open;
    if (group >= 0 && step.group >= 0) {
      const kitchen::Rounds& rounds = pan.component->groups[static_cast<std::size_t>(group)];
      if (slot.step != first_by_hand(*pan.component, rounds.first, rounds.last)) group = -1;
    }
    const kitchen::Rounds* rounds = group < 0 ? nullptr : &pan.component->groups[static_cast<std::size_t>(group)];
    const kitchen::Cue* cue = step.cue ? &*step.cue : rounds != nullptr && rounds->cue ? &*rounds->cue : nullptr;
    if (cue != nullptr) {
      if (json signs = cue_json(*cue); !signs.empty()) item["cue"] = std::move(signs);
    }
    if (rounds == nullptr) return;
    const bool can_end = open == group && rounds_begun(pan, group) >= std::max(1, rounds->min);
    json& out = item["rounds"];
    out["usual"] = rounds->usual;
    out["min"] = rounds->min;
    out["max"] = rounds->max;
    out["word"] = rounds->word;
    out["can_end"] = can_end;
  }

  Instant add_doing(const PanView& pan, const line::Run& run, json& item) const {
    const StepTimes times = times_of(pan, run);
    item["state"] = "doing";
    item["started_ms"] = to_ms(times.started);
    item["usual_ms"] = to_ms(times.usual);
    item["most_ms"] = to_ms(times.most);
    if (const auto over = over_of(view_, times); !over.empty()) item["over"] = over;
    return times.most;
  }

  // A move under way takes the colour when it has taken too long: its give is spent by being done.
  [[nodiscard]] bool next_is_short() const {
    if (next_.key.empty()) return false;
    return view_.reached(next_.doing ? next_.most : next_.at - short_give + Duration(1));
  }

  void add_heat(const PanView& pan, const line::Run& run, json& heat) const {
    const kitchen::Step& step = pan.step(run.step);
    const StepTimes times = times_of(pan, run);
    const kitchen::Step* then = next_by_hand(pan);
    json& on = heat[pan.key];
    on = {{"pan", line::number(pan.pan->id)},
          {"letter", pan.pan->letter},
          {"what", pan.component->name},
          {"n", pan.n},
          {"tables", pan.tables},
          {"doing", step.word},
          {"kind", step.kind == kitchen::StepKind::rest ? "rest" : "wait"},
          {"from_ms", to_ms(times.started)},
          {"next_ms", to_ms(hand_wanted(pan, run))},
          {"then", then == nullptr ? std::string() : then->word},
          {"max_ms", to_ms(times.most)}};
    if (const auto over = over_of(view_, times); !over.empty()) on["over"] = over;
  }

  void add_standing(const PanView& pan, json& standing) const {
    int n = 0;
    for (const line::Portion& portion : pan.pan->portions) {
      const line::Plate* plate = view_.state().find_plate(portion.plate);
      if (plate != nullptr && !plate->gone) ++n;
    }
    if (n == 0) return;
    standing[pan.key] = {{"what", pan.component->name},
                         {"n", n},
                         {"tables", pan.tables},
                         {"since_ms", to_ms(*pan.pan->finished)},
                         {"until_ms", to_ms(keep_end(pan))}};
  }

  void add_behind(json& screen) const {
    screen["behind"] = {{"ms", 0}};
    if (nobody_at(view_, station_)) screen["behind"]["nobody"] = true;
    if (view_.state().hands_at(station_.id) <= 0.0) return;
    const auto found = view_.plan().stations.find(station_.id);
    if (found == view_.plan().stations.end() || found->second.behind <= Duration::zero()) return;
    const plan::StationPlan& plan = found->second;
    screen["behind"]["ms"] = plan.behind.count();
    screen["behind"]["from_ms"] = to_ms(plan.behind_from);
    if (!plan.hurts_table.empty()) screen["behind"]["table"] = plan.hurts_table;
  }

  // Finished, or at a point where it stands still until another is ready. Before either is begun nobody waits.
  bool waits_now(const PanView& pan, const PanView& pull) const {
    if (pan.pan->finished) return true;
    if (!pan.pan->begun() && !pull.pan->begun()) return false;
    if (pan.pan->running() != nullptr || pan.slots->empty()) return false;
    return view_.reached(pan.slots->front().latest - waits_from) && !view_.reached(pan.slots->front().latest);
  }

  // The pan that sets the time of a fired course, while it is not finished.
  const PanView* pull_of(const line::CourseKey& key) const {
    const line::Course* course = view_.find_course(key);
    const plan::CoursePlan* plan = view_.plan_of(key);
    if (course == nullptr || course->state != line::CourseState::fired || plan == nullptr) return nullptr;
    const PanView* pull = view_.find_pan(plan->pull);
    return pull == nullptr || pull->pan->finished ? nullptr : pull;
  }

  void add_waits(json& waits) const {
    std::set<std::string> for_us;
    for (const PanView* pan : view_.pans_at(station_.id)) {
      for (const line::CourseKey& course : pan->courses) {
        const PanView* pull = pull_of(course);
        if (pull == nullptr) continue;
        if (pull == pan) {
          for (const PanView* other : view_.pans_of(course)) {
            const std::string& who = other->pan->station;
            if (who == station_.id || !waits_now(*other, *pull) || !for_us.insert(who).second) continue;
            waits[who] = fmt::format("{} waits for {}", view_.station_name(who), pull->name());
          }
        } else if (pull->pan->station != station_.id && waits_now(*pan, *pull) && !waits.contains(pull->pan->station)) {
          waits[pull->pan->station] =
              fmt::format("{} waits for {} ({})", station_.name, pull->name(), view_.station_name(pull->pan->station));
        }
      }
    }
  }

  void add_undo(json& screen) const {
    const auto found = view_.state().presses.find(station_.id);
    if (found == view_.state().presses.end()) return;
    const line::Press& press = found->second;
    const Instant until = press.at + view_.state().kitchen->settings.undo;
    const PanView* pan = view_.find_pan(press.pan);
    if (pan == nullptr || view_.reached(until)) return;
    const kitchen::Step* step = pan->component->find_step(press.step);
    screen["undo"] = {{"what", fmt::format("{} {}", step == nullptr ? press.step : step->word, pan->name())},
                      {"until_ms", to_ms(until)}};
  }

  const View& view_;
  const kitchen::Station& station_;
  Next next_;
};

}  // namespace

json station_screen(const View& view, const kitchen::Station& station) { return StationScreen(view, station).build(); }

}  // namespace nappe::wire
