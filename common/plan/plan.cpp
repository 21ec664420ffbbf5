#include "common/plan/plan.hpp"

#include <algorithm>
#include <vector>

#include "common/line/line.hpp"
#include "common/plan/alone.hpp"
#include "common/plan/foresight.hpp"
#include "common/plan/kitchen_planner.hpp"
#include "common/plan/outlook.hpp"
#include "common/plan/play_out.hpp"
#include "common/plan/service_problem.hpp"

namespace nappe::plan {

Plan make_plan(const line::State& state, Instant now, const Plan* before) {
  Planner planner;
  return planner.make(state, now, before);
}

struct Planner::Impl {
  KitchenPlanner planner;
};

Planner::Planner(Effort effort, int plays) : effort_(effort), plays_(plays), impl_(std::make_unique<Impl>()) {}
Planner::~Planner() = default;
Planner::Planner(Planner&&) noexcept = default;
Planner& Planner::operator=(Planner&&) noexcept = default;

namespace {

// A word that was given stands while its course is expected within this of where it was.
constexpr Duration word_stands = seconds(30);

// Words of fired courses: those that have none yet, and (`again`) those that something happened to, by playing the plan
// out; the others keep theirs, and none is before its meet.
void play_words(const line::State& state, const Plan* before, const ServiceProblem& service, bool again, int plays,
                Plan& plan) {
  std::vector<line::CourseKey> asked;
  for (std::size_t c = 0; c < service.courses.size(); ++c) {
    const line::CourseKey& key = service.courses[c];
    const line::Course* course = state.find_ticket(key.ticket)->find_course(key.course);
    CoursePlan& here = plan.courses.at(key);
    if (course->state != line::CourseState::fired || here.pull == line::PanId{}) continue;
    const CoursePlan* shown = nullptr;
    if (before != nullptr)
      if (const auto found = before->courses.find(key); found != before->courses.end() && !found->second.tentative)
        shown = &found->second;
    const bool moved = shown != nullptr &&
                       (service.problem.courses[c].changed || std::chrono::abs(here.meet - shown->meet) > word_stands);
    if (shown == nullptr || (again && moved))
      asked.push_back(key);
    else
      here.word = shown->word;
    here.word = std::chrono::ceil<std::chrono::minutes>(std::max(here.word, here.meet));
  }
  for (const auto& [key, end] : play_out(state, plan, asked, state.kitchen->settings.word_chance, plays)) {
    CoursePlan& course = plan.courses.at(key);
    course.word = std::chrono::ceil<std::chrono::minutes>(std::max(end, course.meet));
  }
}

}  // namespace

Plan Planner::make(const line::State& state, Instant now, const Plan* before, Scope scope) {
  if (state.kitchen == nullptr) return Plan{};
  Plan plan = plan_alone(state, now);
  ServiceProblem service = make_problem(state, now, before);
  Schedule schedule;
  if (!service.courses.empty()) {
    schedule = impl_->planner.repair(service.problem);
    // Without an event there is nothing to improve: what cooks were told stands.
    std::vector<int> touched;
    for (std::size_t c = 0; c < service.problem.courses.size(); ++c)
      if (service.problem.courses[c].changed) touched.push_back(static_cast<int>(c));
    if (!touched.empty() && effort_.iterations > 0)
      schedule = impl_->planner.polish(service.problem, schedule, touched, effort_);
    write_schedule(service, schedule, state, plan);
  }
  give_words(state, plan);
  if (plays_ > 0 && scope != Scope::meets_only)
    play_words(state, before, service, scope == Scope::whole_evening, plays_, plan);
  look_at_stations(state, plan);
  if (scope != Scope::whole_evening) return plan;

  Foresight foresight(state, plan);
  foresight.place(impl_->planner, std::move(service), std::move(schedule));
  for (const line::CourseKey& course : foresight.could_fire())
    if (const auto promise = if_fired(state, course, now, &plan)) foresight.set(course, promise->meet, promise->word);
  find_wanted_again(state, plan);
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

std::optional<Planner::Promise> Planner::promise(const line::State& state, const line::CourseKey& key, Instant now,
                                                 const Plan* before, Instant wanted, Scope scope) {
  line::State fired = state;
  const auto ticket = fired.tickets.find(key.ticket);
  line::Course* course = ticket == fired.tickets.end() ? nullptr : ticket->second.find_course(key.course);
  if (course == nullptr || ticket->second.cancelled || course->state != line::CourseState::waiting) return std::nullopt;
  const Instant let_in = room_in_kitchen(state, before, static_cast<int>(course->plates.size()), now);
  course->state = line::CourseState::fired;
  course->fired_at = now;
  const Instant alone = line::soonest_meet(fired, fired.pans_of(key), now) + (let_in - now);
  const Instant soonest = std::max(alone, wanted);
  course->meet = soonest;
  Promise out;
  out.plan = make(fired, now, before, scope);
  const auto planned = out.plan.courses.find(key);
  if (planned == out.plan.courses.end()) return std::nullopt;
  const Instant meet = std::chrono::ceil<std::chrono::seconds>(planned->second.meet);
  out.meet = with_another(fired, *course, key, soonest, meet).value_or(meet);
  out.word = std::chrono::ceil<std::chrono::minutes>(std::max(planned->second.word, out.meet));
  return out;
}

std::optional<Planner::Promise> Planner::if_fired(const line::State& state, const line::CourseKey& key, Instant now,
                                                  const Plan* before, Instant wanted) {
  return promise(state, key, now, before, wanted, Scope::on_the_line);
}

std::optional<Instant> Planner::meet_if_fired(const line::State& state, const line::CourseKey& key, Instant now,
                                              const Plan* before) {
  const auto promised = promise(state, key, now, before, {}, Scope::meets_only);
  return promised ? std::optional(promised->meet) : std::nullopt;
}

}  // namespace nappe::plan
