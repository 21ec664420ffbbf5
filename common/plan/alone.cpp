#include "common/plan/alone.hpp"

#include <algorithm>

namespace nappe::plan {
namespace {

using line::Ahead;
using line::CourseKey;
using line::CourseState;
using line::Pan;
using line::PanId;

struct Live {
  const Pan* pan = nullptr;
  std::vector<Ahead> ahead;
  Instant forecast{};
};

Instant forecast_of(const Live& live, Instant now) {
  if (live.pan->finished) return *live.pan->finished;
  return now + line::time_left(live.ahead);
}

PanPlan slots_of(const Live& live, Instant ready, Instant now) {
  PanPlan plan;
  plan.pan = live.pan->id;
  plan.place = live.pan->place;
  plan.begun = live.pan->running() != nullptr;
  plan.portions = static_cast<int>(live.pan->portions.size());
  plan.ready = live.pan->finished ? *live.pan->finished : std::max(ready, live.forecast);
  plan.forecast = live.forecast;
  const auto latest = line::latest_starts(live.ahead, ready);
  Instant soonest = now;
  for (std::size_t i = 0; i < live.ahead.size(); ++i) {
    const Ahead& one = live.ahead[i];
    Slot slot{one.step, one.round, latest[i], soonest, one.takes, one.running, one.by_hand};
    if (one.running) slot.soonest = live.pan->runs.back().started;
    soonest += one.left;
    plan.slots.push_back(slot);
  }
  return plan;
}

// The course's meet and what sets it: whoever would be last, or has the least time in hand.
CoursePlan course_of(const CourseKey& key, const line::Course& course, const std::vector<const Live*>& pans,
                     Instant now) {
  CoursePlan plan;
  plan.course = key;
  plan.promised = course.meet;
  plan.tentative = course.state == CourseState::waiting;
  Instant last = course.meet.value_or(now);
  std::optional<Instant> worst;
  for (const Live* live : pans) {
    if (live->pan->finished) continue;
    last = std::max(last, live->forecast);
    if (worst && live->forecast <= *worst) continue;
    worst = live->forecast;
    plan.pull = live->pan->id;
  }
  plan.meet = course.meet && last == *course.meet ? last : std::chrono::ceil<std::chrono::seconds>(last);
  if (course.meet) plan.drift = std::max(Duration::zero(), plan.meet - *course.meet);
  return plan;
}

}  // namespace

Plan plan_alone(const line::State& state, Instant now) {
  Plan plan;
  plan.made = now;
  std::map<PanId, Live> lives;
  std::map<CourseKey, std::vector<const Live*>> by_course;
  for (const auto& [id, pan] : state.pans) {
    Live& live = lives[id];
    live.pan = &pan;
    live.ahead = line::steps_ahead(state.component_of(pan), pan, now);
    live.forecast = forecast_of(live, now);
    for (const line::Portion& portion : pan.portions) {
      auto& pans = by_course[portion.plate.of_course()];
      if (std::find(pans.begin(), pans.end(), &live) == pans.end()) pans.push_back(&live);
    }
  }
  std::map<PanId, Instant> ready;
  for (const auto& [key, pans] : by_course) {
    const line::Ticket* ticket = state.find_ticket(key.ticket);
    const line::Course* course = ticket == nullptr ? nullptr : ticket->find_course(key.course);
    if (course == nullptr || course->state == CourseState::gone) continue;
    const CoursePlan& made = plan.courses[key] = course_of(key, *course, pans, now);
    // One pan for several tables is done for the first of them.
    for (const Live* live : pans) {
      const auto [at, first] = ready.try_emplace(live->pan->id, made.meet);
      if (!first) at->second = std::min(at->second, made.meet);
    }
  }
  for (const auto& [id, live] : lives) {
    const auto meet = ready.find(id);
    plan.pans[id] = slots_of(live, meet == ready.end() ? now : meet->second, now);
  }
  for (const auto& [key, course] : plan.courses)
    if (const auto pull = plan.pans.find(course.pull); pull != plan.pans.end()) pull->second.pull = true;
  return plan;
}

}  // namespace nappe::plan
