// What firing a course would promise: tried on a copy of the line, as firing it would be, until the plan keeps what is
// promised.
#include <algorithm>
#include <array>
#include <vector>

#include "common/line/chain.hpp"
#include "common/line/covers.hpp"
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
// A minute by which somebody else's promise is broken counts as so many of a later promise.
constexpr double broken_promise = 2;
// Where others would pay more than this many minutes of plates, later meets are tried as well.
constexpr double bearable = 3;
constexpr std::array later_by{minutes(2), minutes(4), minutes(8)};
// What is only compared is improved by so many tries at most.
constexpr int tries_max = 10;

// Minutes of plates by which a plan puts off the courses that were planned before this one.
double harm_to_others(const line::State& state, const line::CourseKey& key, const Plan* before, const Plan& plan) {
  if (before == nullptr) return 0;
  double harm = 0;
  for (const auto& [other, planned] : plan.courses) {
    if (planned.tentative || other == key) continue;
    const auto shown = before->courses.find(other);
    if (shown == before->courses.end() || shown->second.tentative) continue;
    const auto plates = static_cast<double>(state.find_ticket(other.ticket)->find_course(other.course)->plates.size());
    harm += plates * std::max(0.0, in_seconds(planned.meet - shown->second.meet) / 60);
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
  int inside = line::covers_in_kitchen(state);
  for (const auto& [id, ticket] : state.tickets)
    for (const line::Course& course : ticket.courses) {
      if (!line::in_kitchen(course)) continue;
      Instant meet = course.meet.value_or(now);
      if (before != nullptr)
        if (const auto shown = before->courses.find({id, course.course}); shown != before->courses.end())
          meet = std::max(meet, shown->second.meet);
      leaving.emplace_back(std::max(meet, now), line::plates_here(course));
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
  const auto plates = static_cast<double>(course->plates.size());

  // The course fired for a meet, and what the plan makes of it.
  struct Trial {
    Instant wish{};
    Instant meet{};
    double to_others = 0;  // minutes of plates
    double harm = 0;       // the same and its own beyond the soonest
    line::State fired;
    Made made;
  };
  const auto attempt = [&](Instant wish) -> std::optional<Trial> {
    auto fired = fire(state, key, wish, now);
    if (!fired) return std::nullopt;
    Trial trial{wish, {}, 0, 0, std::move(*fired), {}};
    trial.made = arrange(trial.fired, now, before, {std::min(effort_.iterations, tries_max), effort_.seed});
    const auto planned = trial.made.plan.courses.find(key);
    if (planned == trial.made.plan.courses.end()) return std::nullopt;
    trial.meet = std::chrono::ceil<std::chrono::seconds>(planned->second.meet);
    trial.to_others = harm_to_others(state, key, before, trial.made.plan);
    trial.harm = plates * in_seconds(trial.meet - soonest) / 60 + broken_promise * trial.to_others;
    return trial;
  };
  // Put to the plan again until the plan keeps it.
  const auto settle = [&](Instant wish, int rounds) {
    auto trial = attempt(wish);
    for (int round = 1; trial && round < rounds && trial->meet > trial->wish + as_promised; ++round) {
      auto next = attempt(trial->meet);
      if (!next) break;
      trial = std::move(next);
    }
    return trial;
  };
  auto best = settle(soonest, rounds_max);
  if (!best) return std::nullopt;
  const double together = plates * in_seconds(together_later) / 60;
  for (const Together& other : with_others(state, key, soonest, best->meet)) {
    if (other.wish == best->wish) continue;
    auto shared = settle(other.wish, 2);
    if (!shared || shared->meet > other.wish + together_later) continue;
    shared->harm -= together;
    if (shared->harm < best->harm) best = std::move(shared);
  }
  const Instant first = best->meet;
  for (const Duration by : later_by) {
    if (best->to_others <= bearable) break;
    auto later = attempt(first + by);
    if (later && later->meet <= later->wish + as_promised && later->harm < best->harm) best = std::move(later);
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
