#include "common/plan/plan.hpp"

#include <algorithm>
#include <vector>

#include "common/line/line.hpp"
#include "common/plan/alone.hpp"
#include "common/plan/kitchen_planner.hpp"
#include "common/plan/outlook.hpp"
#include "common/plan/service_problem.hpp"

namespace nappe::plan {

Plan make_plan(const line::State& state, Instant now, const Plan* before) {
  Planner planner;
  return planner.make(state, now, before);
}

struct Planner::Impl {
  KitchenPlanner planner;
};

Planner::Planner(Effort effort) : effort_(effort), impl_(std::make_unique<Impl>()) {}
Planner::~Planner() = default;
Planner::Planner(Planner&&) noexcept = default;
Planner& Planner::operator=(Planner&&) noexcept = default;

Plan Planner::make(const line::State& state, Instant now, const Plan* before) {
  if (state.kitchen == nullptr) return Plan{};
  Plan plan = plan_alone(state, now);
  const ServiceProblem service = make_problem(state, now, before);
  if (!service.courses.empty()) {
    Schedule schedule = impl_->planner.repair(service.problem);
    // Without an event there is nothing to improve: what cooks were told stands.
    std::vector<int> touched;
    for (std::size_t c = 0; c < service.problem.courses.size(); ++c)
      if (service.problem.courses[c].changed) touched.push_back(static_cast<int>(c));
    if (!touched.empty() && effort_.iterations > 0)
      schedule = impl_->planner.polish(service.problem, schedule, touched, effort_);
    write_schedule(service, schedule, state, plan);
  }
  give_words(state, plan);
  look_at_stations(state, plan);
  return plan;
}

namespace {

// How far a meet may be moved so that a table shares its pans with another.
constexpr Duration together_earlier = minutes(6);
constexpr Duration together_later = minutes(2);

// The meet of another fired course whose pan could take one of this course's, if it is near enough: one pan instead of
// two is the largest help there is for a loaded station. `course` is the one of `fired` that is asked about.
std::optional<Instant> with_another(line::State& fired, line::Course& course, const line::CourseKey& key,
                                    Instant soonest, Instant meet) {
  std::optional<Instant> best;
  for (const line::Pan* ours : fired.pans_of(key))
    for (const auto& [id, other] : fired.pans) {
      if (other.component != ours->component || other.portions.empty()) continue;
      const auto& portion = other.portions.front().plate;
      const line::Course* shared = fired.find_ticket(portion.ticket)->find_course(portion.course);
      if (shared == &course || shared->state != line::CourseState::fired || !shared->meet) continue;
      const Instant wish = *shared->meet;
      if (wish < soonest || wish < meet - together_earlier || wish > meet + together_later) continue;
      course.meet = wish;
      if (!line::may_join(fired, *ours, other)) continue;
      if (!best || wish < *best) best = wish;
    }
  return best;
}

// When this many covers more are let into the kitchen: with a cap, once enough of those in it have met.
Instant room_in_kitchen(const line::State& state, const Plan* before, int covers, Instant now) {
  const int cap = state.kitchen->settings.covers_cap;
  if (cap <= 0) return now;
  std::vector<std::pair<Instant, int>> leaving;
  int inside = 0;
  for (const auto& [id, ticket] : state.tickets)
    for (const line::Course& course : ticket.courses) {
      if (course.state != line::CourseState::fired && course.state != line::CourseState::held) continue;
      const auto here = static_cast<int>(std::count_if(course.plates.begin(), course.plates.end(),
                                                       [](const auto& plate) { return !plate.second.gone; }));
      Instant meet = course.meet.value_or(now);
      if (before != nullptr)
        if (const auto shown = before->courses.find({id, course.course}); shown != before->courses.end())
          meet = std::max(meet, shown->second.meet);
      leaving.emplace_back(std::max(meet, now), here);
      inside += here;
    }
  std::sort(leaving.begin(), leaving.end());
  Instant from = now;
  // A table larger than the cap is let in when the kitchen is empty.
  for (std::size_t i = 0; i < leaving.size() && inside > 0 && inside + covers > cap; ++i) {
    from = leaving[i].first;
    inside -= leaving[i].second;
  }
  return from;
}

}  // namespace

std::optional<Instant> Planner::meet_if_fired(const line::State& state, const line::CourseKey& key, Instant now,
                                              const Plan* before) {
  line::State fired = state;
  const auto ticket = fired.tickets.find(key.ticket);
  line::Course* course = ticket == fired.tickets.end() ? nullptr : ticket->second.find_course(key.course);
  if (course == nullptr || ticket->second.cancelled || course->state != line::CourseState::waiting) return std::nullopt;
  const Instant let_in = room_in_kitchen(state, before, static_cast<int>(course->plates.size()), now);
  course->state = line::CourseState::fired;
  course->fired_at = now;
  const Instant soonest = line::soonest_meet(fired, fired.pans_of(key), now) + (let_in - now);
  course->meet = soonest;
  const Plan plan = make(fired, now, before);
  const auto planned = plan.courses.find(key);
  if (planned == plan.courses.end()) return std::nullopt;
  const Instant meet = std::chrono::ceil<std::chrono::seconds>(planned->second.meet);
  return with_another(fired, *course, key, soonest, meet).value_or(meet);
}

}  // namespace nappe::plan
