#include "common/line/chain.hpp"

#include <algorithm>

namespace nappe::line {
namespace {

using kitchen::Component;
using kitchen::Step;

int size_of(const Component& component) { return static_cast<int>(component.steps.size()); }

const Step& step_at(const Component& component, int step) { return component.steps[static_cast<std::size_t>(step)]; }

Place entering(const Component& component, int step) {
  return {step, step < size_of(component) && step_at(component, step).group >= 0 ? 1 : 0};
}

// Behind `place` when the rounds of its group are to number `rounds` in all.
std::optional<Place> behind(const Component& component, Place place, int rounds) {
  const int group = step_at(component, place.step).group;
  if (group >= 0) {
    const auto& g = component.groups[static_cast<std::size_t>(group)];
    if (place.step == g.last && place.round < rounds) return Place{g.first, place.round + 1};
    if (place.step < g.last) return Place{place.step + 1, place.round};
  }
  if (place.step + 1 >= size_of(component)) return std::nullopt;
  return entering(component, place.step + 1);
}

}  // namespace

std::optional<Place> next_place(const Component& component, const Pan& pan, Place place) {
  const int group = step_at(component, place.step).group;
  if (group < 0) return behind(component, place, 0);
  const auto met = pan.rounds.find(group);
  const int rounds = met != pan.rounds.end() ? met->second : component.groups[static_cast<std::size_t>(group)].usual;
  return behind(component, place, rounds);
}

std::vector<Ahead> steps_ahead(const Component& component, const Pan& pan, Instant now) {
  std::vector<Ahead> ahead;
  if (pan.finished || component.steps.empty()) return ahead;
  const int n = std::max(1, pan.portions_in());
  const Run* run = pan.running();
  for (std::optional<Place> place = pan.place; place; place = next_place(component, pan, *place)) {
    const Step& step = step_at(component, place->step);
    Ahead one{place->step, place->round, step.usual(n), step.usual(n), false, step.by_hand()};
    if (run != nullptr && run->step == place->step && run->round == place->round) {
      one.running = true;
      one.left = std::max(Duration::zero(), run->started + one.takes - now);
    }
    ahead.push_back(one);
  }
  return ahead;
}

Duration time_left(const std::vector<Ahead>& ahead) {
  Duration sum{};
  for (const Ahead& one : ahead) sum += one.left;
  return sum;
}

std::vector<Instant> latest_starts(const std::vector<Ahead>& ahead, Instant ready) {
  std::vector<Instant> starts(ahead.size());
  Instant end = ready;
  for (std::size_t i = ahead.size(); i-- > 0;) {
    starts[i] = end - ahead[i].takes;
    end = starts[i];
  }
  return starts;
}

Duration chain_time(const Component& component, int portions) {
  Pan pan;
  pan.portions.resize(static_cast<std::size_t>(std::max(1, portions)));
  if (component.steps.empty()) return Duration::zero();
  pan.place = entering(component, 0);
  return time_left(steps_ahead(component, pan, Instant{}));
}

Instant latest_end(const kitchen::Component& component, const Pan& pan, Instant now) {
  if (pan.finished) return *pan.finished;
  Instant at = pan.runs.empty() || !pan.runs.back().ended ? now : *pan.runs.back().ended;
  for (const Ahead& one : steps_ahead(component, pan, now)) {
    const kitchen::Step& step = component.steps[static_cast<std::size_t>(one.step)];
    const Duration most = step.kind == kitchen::StepKind::rest ? std::max(step.rest_max, one.takes) : one.takes;
    at = one.running ? pan.runs.back().started + most : std::max(now, at + step.pause) + most;
  }
  return std::max(at, now);
}

std::optional<LatestMeet> latest_meet(const State& state, const CourseKey& course, Instant now) {
  const Ticket* ticket = state.find_ticket(course.ticket);
  if (ticket == nullptr) return std::nullopt;
  const Duration walk = state.kitchen_of(*ticket).walk_to(ticket->table);
  std::optional<LatestMeet> latest;
  for (const Pan* pan : state.pans_of(course)) {
    if (!pan->begun()) continue;
    const kitchen::Component& component = state.component_of(*pan);
    const Instant at = latest_end(component, *pan, now) + std::max(Duration::zero(), component.keep - walk);
    if (!latest || at < latest->at) latest = LatestMeet{at, pan->id};
  }
  return latest;
}

Instant soonest_meet(const State& state, const std::vector<const Pan*>& pans, Instant now) {
  Instant meet = now;
  for (const Pan* pan : pans) meet = std::max(meet, now + time_left(steps_ahead(state.component_of(*pan), *pan, now)));
  return std::chrono::ceil<std::chrono::seconds>(meet);
}

}  // namespace nappe::line
