// What time alone makes happen.
#include <algorithm>
#include <limits>

#include "common/line/batches.hpp"
#include "common/line/chain.hpp"
#include "common/line/line.hpp"

namespace nappe::line {
namespace {

using kitchen::Component;
using kitchen::Step;
using kitchen::StepKind;

// Something that happens at `at`, unless something else happens first.
struct Due {
  Instant at{};
  Happening what;
};

// A plate may come back for a while: until then the cook may need the words again.
constexpr Duration words_kept = minutes(15);

// When nobody needs the words about this ticket's guests any more, as far as it alone goes; nothing: it is here.
std::optional<Instant> words_end(const Ticket& ticket, Instant now) {
  if (ticket.cancelled || ticket.merged != TicketId{}) return now;
  std::optional<Instant> last;
  for (const Course& course : ticket.courses) {
    if (course.plates.empty()) continue;
    if (course.state != CourseState::gone || !course.gone_at) return {};
    last = std::max(last.value_or(*course.gone_at), *course.gone_at);
  }
  return last ? *last + words_kept : now;
}

AlertKind kind_of(StepKind step) { return step == StepKind::rest ? AlertKind::rest_over : AlertKind::step_over; }

class Watch {
 public:
  explicit Watch(const State& state) : s_(state), next_alert_(state.alerts_made) {}

  std::vector<Due> collect() {
    for (RecordDue& due : watch_record(s_)) at(due.at, std::move(due.what));
    if (s_.service == ServiceState::closed) return std::move(due_);
    watch_batches();
    for (const auto& [id, alert] : s_.alerts) watch_alert(alert);
    for (const auto& [id, pan] : s_.pans) {
      if (pan.finished)
        watch_keep(pan);
      else if (const Run* run = pan.running())
        watch_run(pan, *run);
    }
    for (const auto& [id, ticket] : s_.tickets)
      if (!ticket.cancelled) watch_blocked(ticket);
    for (const auto& [id, ticket] : s_.tickets)
      if (ticket.words) watch_words(ticket);
    for (const auto& [dish, left] : s_.left)
      if (left == 0) watch_off(dish);
    std::stable_sort(due_.begin(), due_.end(), [](const Due& a, const Due& b) { return a.at < b.at; });
    return std::move(due_);
  }

 private:
  void at(Instant when, Happening what) { due_.push_back({when, std::move(what)}); }

  [[nodiscard]] bool raised(AlertKind kind, PanId pan, int step_round = -1, const std::string& step = {}) const {
    return std::any_of(s_.alerts.begin(), s_.alerts.end(), [&](const auto& entry) {
      const Alert& alert = entry.second;
      return alert.kind == kind && alert.pan == pan &&
             (step.empty() || (alert.step == step && alert.round == step_round));
    });
  }

  void watch_run(const Pan& pan, const Run& run) {
    const Component& component = s_.component_of(pan);
    const Step& step = component.steps[static_cast<std::size_t>(run.step)];
    const int n = std::max(1, pan.portions_in());
    const bool rest = step.kind == StepKind::rest;
    const auto mark = [&](Mark m, Duration after) {
      if (run.marks.count(m) == 0)
        at(run.started + after, Marked{pan.id, step.id, run.round, m, to_ms(run.started + after)});
    };
    mark(rest ? Mark::rest_min : Mark::usual, step.usual(n));
    const Duration longest = std::max(step.longest(n), step.usual(n));
    mark(rest ? Mark::rest_max : Mark::most, longest);
    // A press comes when the hand is done, so silence proves lateness only once the hand's own time has gone by as
    // well.
    const Instant alarm = run.started + longest + hand_after(component, pan, run);
    if (!raised(kind_of(step.kind), pan.id, run.round, step.id))
      at(alarm,
         AlertRaised{
             AlertId{next_alert_ + 1}, kind_of(step.kind), pan.station, pan.id, step.id, run.round, {}, to_ms(alarm)});
  }

  static Duration hand_after(const Component& component, const Pan& pan, const Run& run) {
    const int n = std::max(1, pan.portions_in());
    if (component.steps[static_cast<std::size_t>(run.step)].by_hand()) return Duration::zero();
    const auto next = next_place(component, pan, {run.step, run.round});
    if (!next) return Duration::zero();
    const Step& step = component.steps[static_cast<std::size_t>(next->step)];
    return step.by_hand() ? step.usual(n) : Duration::zero();
  }

  void watch_keep(const Pan& pan) {
    const Component& component = s_.component_of(pan);
    const Instant end = *pan.finished + component.keep;
    const Instant low = std::max(*pan.finished, end - s_.kitchen->settings.keep_warning);
    if (pan.marks.count(Mark::keep_low) == 0) at(low, Marked{pan.id, {}, 0, Mark::keep_low, to_ms(low)});
    if (pan.marks.count(Mark::keep_end) == 0) at(end, Marked{pan.id, {}, 0, Mark::keep_end, to_ms(end)});
    const bool shut = pan.marks.count(Mark::keep_end) != 0;
    if (pan.marks.count(Mark::keep_low) != 0 && !shut && !raised(AlertKind::keep_low, pan.id))
      raise(pan, AlertKind::keep_low, low);
    if (shut && !raised(AlertKind::window_shut, pan.id)) raise(pan, AlertKind::window_shut, end);
  }

  void raise(const Pan& pan, AlertKind kind, Instant when) {
    at(when, AlertRaised{AlertId{next_alert_ + 1}, kind, {}, pan.id, {}, 0, {}, to_ms(when)});
  }

  void raise_for(AlertKind kind, const std::string& batch, const std::string& station, Instant when) {
    const bool known = std::any_of(s_.alerts.begin(), s_.alerts.end(), [&](const auto& entry) {
      return entry.second.kind == kind && entry.second.batch == batch;
    });
    if (known) return;
    AlertRaised alert{AlertId{next_alert_ + 1}, kind, station, {}, {}, 0, {}, to_ms(when), batch};
    if (s_.kitchen->find_station(station) == nullptr) alert.station.clear();
    at(when, std::move(alert));
  }

  void watch_batches() {
    for (const auto& [id, batch] : s_.record().batches)
      if (chill_late(batch)) raise_for(AlertKind::chill_late, id, batch.station, s_.now);
    for (const Remake& remake : remakes(s_))
      raise_for(AlertKind::batch_ends, remake.batch->id, remake.batch->station, std::max(remake.begin, s_.now));
    for (const auto& [id, place] : s_.record().places)
      if (place.fault) raise_for(AlertKind::place_warm, id, {}, s_.now);
  }

  static bool chill_late(const Batch& batch) {
    return batch.there() && batch.chilling && batch.chilling->verdict == food::word(food::ChillState::will_miss);
  }

  void watch_blocked(const Ticket& ticket) {
    for (const Course& course : ticket.courses)
      for (const auto& [position, plate] : course.plates) {
        const PlateKey key{ticket.id, course.course, position};
        const bool known = std::any_of(s_.alerts.begin(), s_.alerts.end(), [&](const auto& entry) {
          return entry.second.kind == AlertKind::allergy && entry.second.plate == key;
        });
        if (!plate.blocked.empty() && !plate.gone && !known)
          at(s_.now, AlertRaised{AlertId{next_alert_ + 1}, AlertKind::allergy, {}, {}, {}, 0, key, to_ms(s_.now)});
      }
  }

  void watch_words(const Ticket& ticket) {
    const auto end = words_end(ticket, s_.now);
    const bool elsewhere = std::any_of(s_.tickets.begin(), s_.tickets.end(), [&](const auto& entry) {
      return entry.second.words_from.count(ticket.id) != 0 && !words_end(entry.second, s_.now);
    });
    if (end && !elsewhere) at(std::max(*end, s_.now), WordsDropped{ticket.id});
  }

  // The pass is told once, as long as it stays off.
  void watch_off(const std::string& dish) {
    if (!raised(AlertKind::sold_out, PanId{}, 0, dish))
      at(s_.now, AlertRaised{AlertId{next_alert_ + 1}, AlertKind::sold_out, {}, {}, dish, 0, {}, to_ms(s_.now)});
  }

  // Whether what the alert was raised for is still so.
  [[nodiscard]] bool holds(const Alert& alert) const {
    switch (alert.kind) {
      case AlertKind::step_over:
      case AlertKind::rest_over: {
        const Pan* pan = s_.find_pan(alert.pan);
        const Run* run = pan == nullptr ? nullptr : pan->running();
        if (run == nullptr || run->round != alert.round) return false;
        return s_.component_of(*pan).steps[static_cast<std::size_t>(run->step)].id == alert.step;
      }
      case AlertKind::keep_low: {
        const Pan* pan = s_.find_pan(alert.pan);
        return pan != nullptr && pan->finished && pan->marks.count(Mark::keep_end) == 0;
      }
      case AlertKind::window_shut: {
        const Pan* pan = s_.find_pan(alert.pan);
        return pan != nullptr && pan->finished;
      }
      case AlertKind::allergy: {
        const Plate* plate = s_.find_plate(alert.plate);
        const Ticket* ticket = s_.find_ticket(alert.plate.ticket);
        return plate != nullptr && !ticket->cancelled && !plate->gone && !plate->blocked.empty();
      }
      case AlertKind::sold_out: {
        const auto left = s_.left.find(alert.step);
        return left != s_.left.end() && left->second == 0;
      }
      case AlertKind::chill_late: {
        const Batch* batch = s_.record().find(alert.batch.value_or(""));
        return batch != nullptr && chill_late(*batch);
      }
      case AlertKind::batch_ends: {
        const auto still = remakes(s_);
        return std::any_of(still.begin(), still.end(),
                           [&](const Remake& remake) { return remake.batch->id == alert.batch; });
      }
      case AlertKind::place_warm: {
        const auto place = s_.record().places.find(alert.batch.value_or(""));
        return place != s_.record().places.end() && place->second.fault;
      }
    }
    return false;
  }

  void watch_alert(const Alert& alert) {
    if (!holds(alert)) {
      at(s_.now, AlertCleared{alert.id, "done"});
      return;
    }
    if (alert.shelved_until) {
      at(*alert.shelved_until, AlertUnshelved{alert.id});
      return;
    }
    if (!alert.station.empty() && !alert.answered && !alert.escalated)
      at(alert.raised + s_.kitchen->settings.unanswered, AlertEscalated{alert.id});
  }

  const State& s_;
  std::uint32_t next_alert_;
  std::vector<Due> due_;
};

}  // namespace

std::vector<Event> elapse(const State& state, Instant now) {
  std::vector<Event> events;
  std::uint32_t alerts = state.alerts_made;
  for (Due& due : Watch(state).collect()) {
    if (due.at > now) break;
    // Numbered in the order in which they come true.
    if (auto* raised = std::get_if<AlertRaised>(&due.what)) raised->alert = AlertId{++alerts};
    events.push_back({std::max(due.at, state.now), std::move(due.what)});
  }
  return events;
}

std::optional<Instant> next_deadline(const State& state) {
  const auto due = Watch(state).collect();
  if (due.empty()) return std::nullopt;
  return due.front().at;
}

}  // namespace nappe::line
