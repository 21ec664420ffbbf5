// What firing a course would promise: tried on a copy of the line, as firing it would be, until the plan keeps what is
// promised.
#include <algorithm>
#include <vector>

#include "common/line/chain.hpp"
#include "common/line/line.hpp"
#include "common/plan/planner_impl.hpp"

namespace nappe::plan {
namespace {

// A plan that has the course up within this of what was promised keeps it.
constexpr Duration as_promised = seconds(30);
// So often a promise is put to what the plan then says.
constexpr int rounds_max = 4;
// A table may meet this much later so that it shares its pans with another: one pan instead of two is the largest help
// there is for a loaded station.
constexpr Duration together_later = minutes(2);
constexpr std::size_t together_max = 2;
// What is only compared is improved by so many tries at most.
constexpr int tries_max = 10;

// Minutes of plates that a plan costs: of this course beyond the soonest, and of the others beyond what they were
// planned for.
double harm_of(const line::State& state, const line::CourseKey& key, Instant soonest, const Plan* before,
               const Plan& plan) {
  const auto plates_of = [&](const line::CourseKey& one) {
    return static_cast<double>(state.find_ticket(one.ticket)->find_course(one.course)->plates.size());
  };
  double harm = plates_of(key) * in_seconds(plan.courses.at(key).meet - soonest) / 60;
  if (before == nullptr) return harm;
  for (const auto& [other, planned] : plan.courses) {
    if (planned.tentative || other == key) continue;
    const auto shown = before->courses.find(other);
    if (shown == before->courses.end() || shown->second.tentative) continue;
    harm += plates_of(other) * std::max(0.0, in_seconds(planned.meet - shown->second.meet) / 60);
  }
  return harm;
}

struct Together {
  Instant wish{};
  int pans = 0;
};

// Meets of other fired courses whose pans could take this one's, those first that could take most of them.
std::vector<Together> with_others(const line::State& state, const line::CourseKey& key, Instant soonest, Instant meet) {
  line::State fired = state;
  line::Course& course = *fired.tickets.at(key.ticket).find_course(key.course);
  course.state = line::CourseState::fired;
  std::vector<Together> out;
  for (const line::Pan* ours : fired.pans_of(key))
    for (const auto& [id, other] : fired.pans) {
      if (other.component != ours->component || other.portions.empty()) continue;
      const auto& portion = other.portions.front().plate;
      const line::Course* shared = fired.find_ticket(portion.ticket)->find_course(portion.course);
      if (shared == &course || shared->state != line::CourseState::fired || !shared->meet) continue;
      const Instant wish = *shared->meet;
      if (wish < soonest || wish > meet + together_later) continue;
      course.meet = wish;
      if (!line::may_join(fired, *ours, other)) continue;
      const auto known = std::find_if(out.begin(), out.end(), [&](const Together& one) { return one.wish == wish; });
      if (known == out.end())
        out.push_back({wish, 1});
      else
        ++known->pans;
    }
  std::sort(out.begin(), out.end(),
            [](const Together& a, const Together& b) { return a.pans != b.pans ? a.pans > b.pans : a.wish < b.wish; });
  if (out.size() > together_max) out.resize(together_max);
  return out;
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

// The line once the course is fired for this meet; nothing if the line refuses.
std::optional<line::State> fire(const line::State& state, const line::CourseKey& key, Instant meet, Instant now) {
  line::Command command;
  command.at = now;
  command.by = "plan";
  command.action = line::Fire{key.ticket, key.course, to_ms(meet), true};
  const auto events = line::decide(state, command, now);
  if (!events) return std::nullopt;
  line::State fired = state;
  for (const line::Event& event : *events) line::apply(fired, event);
  return fired;
}

}  // namespace

std::optional<Planner::Promise> Planner::promise(const line::State& state, const line::CourseKey& key, Instant now,
                                                 const Plan* before, Instant wanted, bool words) {
  const auto ticket = state.tickets.find(key.ticket);
  const line::Course* course = ticket == state.tickets.end() ? nullptr : ticket->second.find_course(key.course);
  if (course == nullptr || ticket->second.cancelled || course->state != line::CourseState::waiting) return std::nullopt;
  const Instant let_in = room_in_kitchen(state, before, static_cast<int>(course->plates.size()), now);
  const Instant alone = line::soonest_meet(state, state.pans_of(key), now) + (let_in - now);
  const Instant soonest = std::chrono::ceil<std::chrono::seconds>(std::max(alone, wanted));

  // The course fired for a meet, and what the plan makes of it.
  struct Trial {
    Instant wish{};
    Instant meet{};
    double harm = 0;
    line::State fired;
    Made made;
  };
  const auto attempt = [&](Instant wish) -> std::optional<Trial> {
    auto fired = fire(state, key, wish, now);
    if (!fired) return std::nullopt;
    Trial trial{wish, {}, 0, std::move(*fired), {}};
    trial.made = arrange(trial.fired, now, before, {std::min(effort_.iterations, tries_max), effort_.seed});
    const auto planned = trial.made.plan.courses.find(key);
    if (planned == trial.made.plan.courses.end()) return std::nullopt;
    trial.meet = std::chrono::ceil<std::chrono::seconds>(planned->second.meet);
    trial.harm = harm_of(state, key, soonest, before, trial.made.plan);
    return trial;
  };
  auto best = attempt(soonest);
  if (!best) return std::nullopt;
  for (int round = 1; round < rounds_max && best->meet > best->wish + as_promised; ++round) {
    auto next = attempt(best->meet);
    if (!next) break;
    best = std::move(next);
  }
  const double together = static_cast<double>(course->plates.size()) * in_seconds(together_later) / 60;
  for (const Together& other : with_others(state, key, soonest, best->meet)) {
    if (other.wish == best->wish) continue;
    auto shared = attempt(other.wish);
    if (!shared || shared->meet > shared->wish + as_promised) continue;
    shared->harm -= together;
    if (shared->harm < best->harm) best = std::move(shared);
  }

  Promise out;
  out.meet = best->meet > best->wish + as_promised ? best->meet : best->wish;
  out.kept = out.meet == best->wish;
  if (words) {
    if (effort_.iterations > tries_max) best->made = arrange(best->fired, now, before, effort_);
    tell(best->fired, before, false, best->made);
  }
  out.plan = std::move(best->made.plan);
  out.word = std::chrono::ceil<std::chrono::minutes>(std::max(out.plan.courses.at(key).word, out.meet));
  return out;
}

std::optional<Planner::Promise> Planner::if_fired(const line::State& state, const line::CourseKey& key, Instant now,
                                                  const Plan* before, Instant wanted) {
  return promise(state, key, now, before, wanted, true);
}

std::optional<Instant> Planner::meet_if_fired(const line::State& state, const line::CourseKey& key, Instant now,
                                              const Plan* before) {
  const auto promised = promise(state, key, now, before, {}, false);
  return promised ? std::optional(promised->meet) : std::nullopt;
}

}  // namespace nappe::plan
