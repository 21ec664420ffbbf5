#include "common/line/quiet.hpp"

#include <algorithm>

#include "common/line/line.hpp"
#include "common/line/press.hpp"

namespace nappe::line {
namespace {

using kitchen::StepKind;

constexpr Duration silent_after = minutes(10);

// A step of a pan as its promised meet would have it: no earlier than what comes before allows, no later than it must.
struct Due {
  Place place;
  Instant start{};
  Instant end{};
  bool by_hand = false;
  bool plating = false;
};

// The promised meet a pan cooks for, the earliest; nothing while no course of it is fired, or something of it is
// blocked.
std::optional<Instant> meet_of(const State& state, const Pan& pan) {
  std::optional<Instant> meet;
  for (const Portion& portion : pan.portions) {
    const Ticket* ticket = state.find_ticket(portion.plate.ticket);
    const Course* course = ticket == nullptr ? nullptr : ticket->find_course(portion.plate.course);
    const Plate* plate = state.find_plate(portion.plate);
    if (course == nullptr || plate == nullptr || !plate->blocked.empty()) return std::nullopt;
    if (course->state != CourseState::fired || !course->meet || ticket->pause) continue;
    meet = std::min(meet.value_or(*course->meet), *course->meet);
  }
  return meet;
}

std::vector<Due> due_steps(const State& state, const Pan& pan, Instant now) {
  std::vector<Due> out;
  const auto meet = meet_of(state, pan);
  if (pan.finished || !meet) return out;
  const auto& component = state.component_of(pan);
  const auto ahead = steps_ahead(component, pan, now);
  const auto latest = latest_starts(ahead, *meet);
  Instant free_from = pan.runs.empty() ? Instant::min() : pan.runs.back().ended.value_or(pan.runs.back().started);
  for (std::size_t i = 0; i < ahead.size(); ++i) {
    const Run* run = ahead[i].running ? pan.running() : nullptr;
    // A wait begins when what is before it ends; a hand comes when it must, unless it is held up.
    Instant start = run != nullptr ? run->started : ahead[i].by_hand ? std::max(latest[i], free_from) : free_from;
    if (start == Instant::min()) start = latest[i];
    const kitchen::Step& step = component.steps[static_cast<std::size_t>(ahead[i].step)];
    out.push_back({{ahead[i].step, ahead[i].round},
                   start,
                   start + ahead[i].takes,
                   ahead[i].by_hand,
                   step.kind == StepKind::plate});
    free_from = out.back().end;
  }
  return out;
}

// What was pressed last at each station, by the runs that somebody really pressed; what something else proved.
struct Heard {
  Instant opened{};
  std::map<std::string, Instant> pressed;
  std::map<std::string, Instant> proved;

  [[nodiscard]] Instant last(const std::string& station) const {
    const auto found = pressed.find(station);
    return found == pressed.end() ? opened : found->second;
  }
};

Heard hear(const State& state) {
  Heard heard;
  heard.opened = state.opened;
  const auto later = [](std::map<std::string, Instant>& into, const std::string& station, Instant at) {
    const auto [entry, fresh] = into.try_emplace(station, at);
    if (!fresh) entry->second = std::max(entry->second, at);
  };
  for (const auto* pans : {&state.pans, &state.past})
    for (const auto& [id, pan] : *pans)
      for (const Run& run : pan.runs) {
        if (!run.start_inferred) later(heard.pressed, pan.station, run.started);
        if (run.ended && !run.end_inferred) later(heard.pressed, pan.station, *run.ended);
        if (run.ended && run.end_inferred) later(heard.proved, pan.station, *run.ended);
      }
  for (const auto& [station, press] : state.presses) later(heard.pressed, station, press.at);
  return heard;
}

// The instant from which a station counts as quiet, if that is known or foreseen.
std::map<std::string, Instant> quiet_from(const State& state, const Heard& heard, Instant now) {
  std::map<std::string, Instant> from;
  const auto overdue = [&](const std::string& station, Instant ended) {
    if (ended <= heard.last(station)) return;
    const Instant at = ended + quiet_after;
    const auto [entry, fresh] = from.try_emplace(station, at);
    if (!fresh) entry->second = std::min(entry->second, at);
  };
  for (const auto& [station, at] : heard.proved) overdue(station, at);
  for (const auto& [id, pan] : state.pans)
    for (const Due& due : due_steps(state, pan, now))
      if (due.by_hand && !due.plating) overdue(pan.station, due.end);
  return from;
}

// Of those, the ones that are quiet now, with when they last pressed.
std::map<std::string, Instant> quiet_now(const std::map<std::string, Instant>& from, const Heard& heard, Instant now) {
  std::map<std::string, Instant> quiet;
  for (const auto& [station, at] : from)
    if (at <= now) quiet[station] = heard.last(station);
  return quiet;
}

void sooner(std::optional<Instant>& at, Instant when, Instant now) {
  if (when > now) at = std::min(at.value_or(when), when);
}

// Brings a copy of the pan to where it should stand now. Nothing when it stands there, or cannot be brought.
std::vector<Happening> bring_forward(const State& state, const Pan& pan, const std::vector<Due>& due, Instant now) {
  const Due* ended = nullptr;
  const Due* running = nullptr;
  for (const Due& one : due) {
    if (one.plating || one.start > now) break;
    if (!one.by_hand) continue;
    if (one.end <= now)
      ended = &one;
    else
      running = &one;
  }
  if (ended == nullptr && running == nullptr) return {};
  PanScript script(state, pan);
  const auto hand = [](Instant at) { return Hand{"", at, false, true}; };
  if (ended != nullptr)
    if (const Status fine = script.finish(ended->place, hand(ended->end)); !fine) return {};
  if (running != nullptr && script.pan().running() == nullptr)
    if (const Status fine = script.start(running->place, hand(running->start)); !fine) return script.take();
  return script.take();
}

}  // namespace

std::map<std::string, Instant> quiet_stations(const State& state, Instant now) {
  if (state.service != ServiceState::open) return {};
  const Heard heard = hear(state);
  return quiet_now(quiet_from(state, heard, now), heard, now);
}

bool may_be_unpressed(const State& state, const Pan& pan, Instant now) {
  const Heard heard = hear(state);
  const auto from = quiet_from(state, heard, now);
  if (const auto at = from.find(pan.station); at != from.end() && at->second <= now) return true;
  if (now - heard.last(pan.station) < silent_after) return false;
  const auto due = due_steps(state, pan, now);
  return !due.empty() && due.front().start <= now;
}

Assumed assume(const State& state, Instant now) {
  Assumed out;
  if (state.service != ServiceState::open) return out;
  const Heard heard = hear(state);
  const auto from = quiet_from(state, heard, now);
  for (const auto& [station, at] : from) sooner(out.changes_at, at, now);
  out.quiet = quiet_now(from, heard, now);
  if (out.quiet.empty()) return out;
  State probable = state;
  bool brought = false;
  for (const auto& [id, pan] : state.pans) {
    if (out.quiet.count(pan.station) == 0) continue;
    const auto due = due_steps(state, pan, now);
    for (const Due& one : due) {
      sooner(out.changes_at, one.start, now);
      sooner(out.changes_at, one.end, now);
    }
    for (Happening& one : bring_forward(state, pan, due, now)) {
      apply(probable, Event{state.now, std::move(one)});
      brought = true;
    }
  }
  if (brought) out.state = std::move(probable);
  return out;
}

}  // namespace nappe::line
