#include <algorithm>

#include "common/plan/service_problem.hpp"

namespace nappe::plan {

void write_schedule(const ServiceProblem& from, const Schedule& schedule, const line::State& state, Plan& plan) {
  const auto instant = [&](Tick tick) { return from.origin + tick * tick_length; };
  const auto start_of = [&](int block) { return schedule.block_start[static_cast<std::size_t>(block)]; };
  for (const PlacedPan& placed : from.pans) {
    const auto found = plan.pans.find(placed.pan);
    if (found == plan.pans.end()) continue;
    PanPlan& pan = found->second;
    pan.scheduled = true;
    pan.pull = false;
    Instant end = plan.made;
    for (std::size_t i = 0; i < placed.steps.size() && i < pan.slots.size(); ++i) {
      const Placed& one = placed.steps[i];
      Slot& slot = pan.slots[i];
      slot.latest = one.block >= 0 ? instant(start_of(one.block)) + one.into : end;
      if (one.step.running) slot.latest = slot.soonest;
      end = slot.latest + slot.takes;
    }
    if (placed.last_block < 0 || state.find_pan(placed.pan)->finished) continue;
    pan.ready = instant(start_of(placed.last_block)) + placed.last_length;
    pan.forecast = std::max(pan.forecast, pan.ready);
  }
  for (std::size_t c = 0; c < from.courses.size(); ++c) {
    CoursePlan& course = plan.courses[from.courses[c]];
    const line::Course* promised = state.find_ticket(course.course.ticket)->find_course(course.course.course);
    course.expected = promised->state == line::CourseState::waiting;
    course.meet = instant(schedule.meet[c]);
    // A tick begins on a whole second; a promise may lie between two.
    if (promised->meet && course.meet < *promised->meet) course.meet = *promised->meet;
    course.drift = promised->meet ? course.meet - *promised->meet : Duration::zero();
    const int pull = schedule.pull[c];
    course.pull = pull < 0 ? line::PanId{} : from.pans[static_cast<std::size_t>(pull)].pan;
    if (const auto pan = plan.pans.find(course.pull); pan != plan.pans.end()) pan->second.pull = true;
  }
}

}  // namespace nappe::plan
