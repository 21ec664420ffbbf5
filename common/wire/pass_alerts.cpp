// What the pass is alarmed about: each cause once, what follows from it beside it, and many at once in one sentence.

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <tuple>

#include "common/wire/pass_screen.hpp"

namespace nappe::wire {
namespace {

using line::Alert;
using line::AlertKind;
using nlohmann::json;

/// So many at once are not read one by one: EEMUA publication 191 has fewer than ten in the ten minutes after an upset
/// as manageable.
constexpr std::size_t many_at_once = 10;
constexpr Duration worth_saying = seconds(30);

bool is_cause(AlertKind kind) { return kind == AlertKind::step_over || kind == AlertKind::rest_over; }
/// What concerns a guest's health or a batch's is never folded into a sentence.
bool can_be_summed(AlertKind kind) {
  return is_cause(kind) || kind == AlertKind::keep_low || kind == AlertKind::window_shut || kind == AlertKind::sold_out;
}
bool can_follow(AlertKind kind) { return kind == AlertKind::keep_low || kind == AlertKind::window_shut; }

std::string key_of(const Alert& alert) { return fmt::format("a{}", line::number(alert.id)); }

bool shelved(const View& view, const Alert& alert) {
  return alert.shelved_until && !view.reached(*alert.shelved_until);
}

/// The overrun that keeps what this alert is about standing: of a pan that the same course still waits for. The one
/// that has been known longest; null: there is none.
const Alert* cause_of(const View& view, const Alert& alert) {
  if (!can_follow(alert.kind)) return nullptr;
  const PanView* stands = view.find_pan(alert.pan);
  if (stands == nullptr) return nullptr;
  for (const auto& [id, other] : view.state().alerts) {
    if (!is_cause(other.kind) || shelved(view, other) || !still_so(view, other)) continue;
    const PanView* late = view.find_pan(other.pan);
    if (late == nullptr || late == stands || late->pan->finished) continue;
    const auto& courses = stands->courses;
    const bool together = std::any_of(late->courses.begin(), late->courses.end(), [&](const line::CourseKey& course) {
      return std::find(courses.begin(), courses.end(), course) != courses.end();
    });
    if (together) return &other;
  }
  return nullptr;
}

/// "all tables +4 from 20:25": what the courses being cooked are late by, in the middle of them, from the first meet
/// on. Empty when it is not most of them.
std::string drift_sentence(const View& view, const json& tables) {
  std::vector<std::pair<std::int64_t, std::int64_t>> late;  // drift, meet
  std::size_t cooking = 0;
  for (const json& table : tables) {
    for (const json& course : table.at("courses")) {
      if (course.at("state") != "fired" && course.at("state") != "held") continue;
      ++cooking;
      const std::int64_t drift = course.value("drift_ms", std::int64_t{0});
      if (Duration(drift) >= worth_saying) late.emplace_back(drift, course.value("meet_ms", std::int64_t{0}));
    }
  }
  if (late.empty() || 2 * late.size() < cooking) return {};
  std::sort(late.begin(), late.end());
  const std::int64_t usual = std::max<std::int64_t>(1, (late[late.size() / 2].first + 30'000) / 60'000);
  const auto first =
      std::min_element(late.begin(), late.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  const std::string who = late.size() == cooking ? "all tables" : fmt::format("{} of {} courses", late.size(), cooking);
  return fmt::format("{} +{} from {}", who, usual, view.clock(from_ms(first->second)).substr(0, 5));
}

/// Whose hands most of them want: "garnish"; empty: nobody's in particular.
std::string most_wanted(const View& view, const std::vector<const Alert*>& alerts) {
  std::map<std::string, int> by_station;
  for (const Alert* alert : alerts) {
    const PanView* pan = view.find_pan(alert->pan);
    const std::string station = !alert->station.empty() ? alert->station : pan != nullptr ? pan->pan->station : "";
    if (!station.empty()) ++by_station[station];
  }
  const auto most = std::max_element(by_station.begin(), by_station.end(),
                                     [](const auto& a, const auto& b) { return a.second < b.second; });
  return most == by_station.end() ? std::string() : view.station_name(most->first);
}

/// Alerts with what is folded into them.
class PassAlerts {
 public:
  PassAlerts(const View& view, json& screen) : view_(view), screen_(screen) {}

  void add() {
    gather();
    const auto all = countable();
    if (all.size() >= many_at_once) {
      add_many(all);
    } else {
      for (const Alert* alert : shown_) add_one(*alert);
    }
    if (const std::string colour = coloured_alert(view_, shown_); !colour.empty()) screen_["colour"] = colour;
  }

 private:
  using Alerts = std::vector<const Alert*>;

  void gather() {
    std::map<line::AlertId, Alerts> by_cause;
    for (const auto& [id, alert] : view_.state().alerts) {
      if (!still_so(view_, alert)) continue;
      const Alert* cause = shelved(view_, alert) ? nullptr : cause_of(view_, alert);
      if (cause != nullptr) {
        by_cause[cause->id].push_back(&alert);
      } else if (alert.station.empty() || alert.escalated) {
        shown_.push_back(&alert);
      }
    }
    for (const auto& [id, followers] : by_cause) add_group(view_.state().alerts.at(id), followers);
    std::sort(shown_.begin(), shown_.end(), [](const Alert* a, const Alert* b) { return a->id < b->id; });
  }

  /// The cause speaks for what follows from it. When its station has answered it, what is left is the pass's own
  /// decision about what stands: then the first of those speaks.
  void add_group(const Alert& cause, const Alerts& followers) {
    std::erase(shown_, &cause);
    Alerts rest = followers;
    const Alert* head = &cause;
    if (cause.answered) {
      const auto open = std::find_if(rest.begin(), rest.end(), [](const Alert* one) { return !one->answered; });
      head = open == rest.end() ? rest.front() : *open;
      std::erase(rest, head);
      rest.push_back(&cause);
    }
    shown_.push_back(head);
    rest_[head->id] = std::move(rest);
  }

  /// Those that may go into one sentence.
  [[nodiscard]] Alerts countable() const {
    Alerts all;
    for (const Alert* alert : shown_) {
      if (can_be_summed(alert->kind) && !shelved(view_, *alert)) all.push_back(alert);
    }
    return all;
  }

  void add_one(const Alert& alert) {
    json one = alert_json(view_, alert, true);
    const auto found = rest_.find(alert.id);
    if (found != rest_.end()) {
      for (const Alert* other : found->second) one["also"][key_of(*other)] = says(*other);
      const PanView* late = view_.find_pan(alert.pan);
      if (is_cause(alert.kind) && late != nullptr) {
        one["do"] = fmt::format("{}; or send without {}", one.at("do").get<std::string>(), late->component->name);
      }
    }
    screen_["alerts"][key_of(alert)] = std::move(one);
  }

  void add_many(const Alerts& all) {
    const Alert* carrier = all.front();  // the one known longest: answering it answers the sentence
    json one = alert_json(view_, *carrier, true);
    const std::string drift = drift_sentence(view_, screen_.at("tables"));
    const std::string station = most_wanted(view_, all);
    one["says"] = drift.empty() ? fmt::format("{} things have run over", all.size()) : drift;
    one["do"] = station.empty() ? "tell the floor" : fmt::format("tell the floor; then {} first", station);
    for (const Alert* alert : all) one["also"][key_of(*alert)] = says(*alert);
    std::erase_if(shown_, [&](const Alert* alert) {
      return alert != carrier && std::find(all.begin(), all.end(), alert) != all.end();
    });
    for (const Alert* alert : shown_) {
      if (alert != carrier) add_one(*alert);
    }
    screen_["alerts"][key_of(*carrier)] = std::move(one);
  }

  [[nodiscard]] std::string says(const Alert& alert) const {
    return alert_json(view_, alert, true).at("says").get<std::string>();
  }

  const View& view_;
  json& screen_;
  Alerts shown_;
  std::map<line::AlertId, Alerts> rest_;  ///< What is folded into one that is shown.
};

}  // namespace

void add_pass_alerts(const View& view, json& screen) { PassAlerts(view, screen).add(); }

}  // namespace nappe::wire
