#pragma once
// The plan in force played out many times with drawn durations: when a course will really be up. Internal to the plan.

#include <map>
#include <vector>

#include "common/plan/plan.hpp"

namespace nappe::plan {

/// By course: the instant by which it is complete in `chance` of `times` plays of the plan. In each play durations are
/// log-normal about their usual time with the scatter the kitchen's files give, rounds are drawn from the house's own
/// counts given how many there were, rests last their minimum; hands take what is due in the order of the plan's latest
/// starts, nothing is begun before the plan has it begun, and what is on the heat goes on as soon as a hand is free. A
/// course follows the slowest of its components, as its plan will: what has not been begun is put off by as much, and
/// keeps no time in reserve for its own bad luck. Equipment and what is fired later are as planned. The luck of a step
/// belongs to its pan, so that planning again draws the same: nothing here depends on anything but state and plan.
/// Courses of which nothing is open are left out.
std::map<line::CourseKey, Instant> play_out(const line::State& state, const Plan& plan,
                                            const std::vector<line::CourseKey>& courses, double chance, int times);

}  // namespace nappe::plan
