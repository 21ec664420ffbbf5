#include "common/rehearse/pan_work.hpp"

#include <algorithm>
#include <cmath>

#include "common/line/chain.hpp"

namespace nappe::rehearse {
namespace {

using kitchen::Rounds;
using kitchen::Step;
using kitchen::StepKind;
using line::Place;

const Step& step_at(const PanWork& work, Place place) {
  return work.component->steps[static_cast<std::size_t>(place.step)];
}

// How many rounds, by the house's own counts; u in (0, 1).
int rounds_for(const Rounds& rounds, double u) {
  double sum = 0;
  for (const auto& [n, share] : rounds.seen) sum += share;
  if (sum <= 0) return rounds.usual;
  double below = 0;
  for (const auto& [n, share] : rounds.seen) {
    below += share / sum;
    if (u < below) return n;
  }
  return rounds.seen.rbegin()->first;
}

}  // namespace

PanWorks::PanWorks(const kitchen::Kitchen& kitchen, const Manner& manner, const Draws& draws)
    : kitchen_(kitchen), manner_(manner), draws_(draws) {
  for (const auto& station : kitchen.stations) stations_.emplace(station.id, static_cast<int>(stations_.size()));
  for (const auto& one : kitchen.components) components_.emplace(one.id, static_cast<int>(components_.size()));
}

PanWork PanWorks::make(const line::Pan& pan, std::uint64_t party) const {
  PanWork work;
  work.pan = pan.id;
  const line::PlateKey& plate = pan.portions.front().plate;
  work.index = components_.at(pan.component);
  work.component = &kitchen_.components[static_cast<std::size_t>(work.index)];
  work.station = stations_.at(pan.station);
  work.portions = static_cast<int>(pan.portions.size());
  work.next = pan.place;
  // By the first plate it is for: the same pan in every variant, as far as it is the same pan.
  work.key = draws_.bits(Stream::step, {party, name_key(plate.course), name_key(pan.component),
                                        static_cast<std::uint64_t>(plate.position)});
  for (std::size_t g = 0; g < work.component->groups.size(); ++g)
    work.needs.push_back(
        rounds_for(work.component->groups[g], draws_.unit(Stream::rounds, {work.key, static_cast<std::uint64_t>(g)})));
  for (const line::Ahead& ahead : line::steps_ahead(*work.component, pan, Instant{})) {
    const Step& step = work.component->steps[static_cast<std::size_t>(ahead.step)];
    work.chain += ahead.takes;
    work.after_rest += ahead.takes;
    if (step.kind != StepKind::rest) continue;
    work.slack = std::max(Duration::zero(), step.rest_max - ahead.takes);
    work.after_rest = Duration::zero();
  }
  return work;
}

Duration PanWorks::duration(const PanWork& work, Place place, double counts) const {
  const Step& step = step_at(work, place);
  const Duration usual = step.usual(work.portions);
  if (step.kind == StepKind::rest) return usual;
  const Draws::Key key{work.key, static_cast<std::uint64_t>(place.step), static_cast<std::uint64_t>(place.round)};
  double factor = manner_.bias;
  if (manner_.law == Law::exponential) {
    factor *= draws_.exponential(Stream::step, key);
  } else {
    // A wait of which the files say nothing has the default of a step, which is meant for hands.
    const bool silent = step.kind == StepKind::wait && step.scatter == Step{}.scatter;
    const double sigma = manner_.scatter * (silent ? manner_.wait_scatter : step.scatter);
    if (sigma > 0) factor *= std::exp(sigma * draws_.normal(Stream::step, key));
  }
  return from_seconds(in_seconds(usual) * factor / counts);
}

Kit::Places PanWorks::places(const PanWork& work, const Kit& kit) const {
  Kit::Places out = kit.places(step_at(work, work.next), work.portions);
  for (std::size_t i = static_cast<std::size_t>(work.next.step) + 1; i < work.component->steps.size(); ++i) {
    const Step& step = work.component->steps[i];
    if (step.by_hand()) break;
    out = Kit::both(out, kit.places(step, work.portions));
  }
  return out;
}

bool PanWorks::ends_rounds(const PanWork& work, Place place) const {
  const int group = step_at(work, place).group;
  if (group < 0) return false;
  const auto g = static_cast<std::size_t>(group);
  return place.step == work.component->groups[g].last && place.round >= work.needs[g];
}

std::optional<Place> PanWorks::again(const PanWork& work, Place place) const {
  const int group = step_at(work, place).group;
  if (group < 0) return std::nullopt;
  const auto g = static_cast<std::size_t>(group);
  const Rounds& rounds = work.component->groups[g];
  if (place.step != rounds.last || place.round >= work.needs[g]) return std::nullopt;
  return Place{rounds.first, place.round + 1};
}

std::optional<Place> PanWorks::behind(const PanWork& work, const line::Pan& pan, Place place) const {
  if (const auto more = again(work, place)) return more;
  return line::next_place(*work.component, pan, place);
}

bool PanWorks::by_hand(const PanWork& work, Place place) const { return step_at(work, place).by_hand(); }

}  // namespace nappe::rehearse
