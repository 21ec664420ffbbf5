#include "common/rehearse/advice.hpp"

#include "common/line/chain.hpp"
#include "common/plan/alone.hpp"
#include "common/plan/outlook.hpp"

namespace nappe::rehearse {
namespace {

// Backwards from the meet that was promised, whatever has happened since.
plan::PanPlan backwards(const line::State& state, const line::Pan& pan, Instant meet, Instant now) {
  plan::PanPlan out;
  out.pan = pan.id;
  const auto ahead = line::steps_ahead(state.component_of(pan), pan, now);
  const auto latest = line::latest_starts(ahead, meet);
  for (std::size_t i = 0; i < ahead.size(); ++i)
    out.slots.push_back(
        {ahead[i].step, ahead[i].round, latest[i], now, ahead[i].takes, ahead[i].running, ahead[i].by_hand});
  out.ready = meet;
  return out;
}

}  // namespace

std::optional<std::int64_t> Advice::promise(const line::State& state, const line::CourseKey& key, Instant now) {
  if (manner_.rule != Rule::planner) return std::nullopt;
  promised_ = planner_.if_fired(state, key, now, plans_ == 0 ? nullptr : &plan_);
  if (!promised_) return std::nullopt;
  const auto meet = to_ms(promised_->meet);
  if (!promised_->kept) promised_.reset();
  return meet;
}

Advice::Words Advice::fired(const line::State& state, const line::CourseKey& key, Instant now) {
  plan::Plan alone = plan::plan_alone(state, now);
  plan::give_words(state, alone);
  Words words;
  words.alone = alone.courses[key].word;
  words.given = words.alone;
  switch (manner_.rule) {
    case Rule::at_fire:
    case Rule::fixed: {
      const line::Course* course = state.find_ticket(key.ticket)->find_course(key.course);
      for (const line::Pan* pan : state.pans_of(key)) plan_.pans[pan->id] = backwards(state, *pan, *course->meet, now);
      ++plans_;
      break;
    }
    case Rule::alone:
      plan_ = std::move(alone);
      ++plans_;
      break;
    case Rule::planner:
      if (promised_)
        adopt(std::move(promised_->plan));
      else
        plan_again(state, now);
      promised_.reset();
      words.given = plan_.courses[key].word;
      break;
  }
  return words;
}

void Advice::look(const line::State& state, Instant now) {
  switch (manner_.rule) {
    case Rule::at_fire:
    case Rule::fixed:
      return;
    case Rule::alone:
      plan_ = plan::plan_alone(state, now);
      ++plans_;
      return;
    case Rule::planner:
      plan_again(state, now);
      return;
  }
}

void Advice::plan_again(const line::State& state, Instant now) {
  plan::Plan next = planner_.make(state, now, plans_ == 0 ? nullptr : &plan_, plan::Scope::on_the_line);
  adopt(std::move(next));
}

void Advice::adopt(plan::Plan plan) {
  plan_ = std::move(plan);
  ++plans_;
}

const plan::Slot* Advice::slot(line::PanId pan, int step, int round) const {
  const auto found = plan_.pans.find(pan);
  if (found == plan_.pans.end()) return nullptr;
  for (const plan::Slot& slot : found->second.slots)
    if (slot.step == step && slot.round == round) return &slot;
  return nullptr;
}

}  // namespace nappe::rehearse
