#include "common/line/press.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "common/line/line.hpp"

namespace nappe::line {
namespace {

using kitchen::Rounds;
using kitchen::Step;
using kitchen::StepKind;

State with_only(const State& state, const Pan& pan) {
  State scratch;
  scratch.kitchens[pan.version] = state.kitchens.at(pan.version);
  scratch.kitchen = state.kitchen;
  scratch.pans[pan.id] = pan;
  return scratch;
}

}  // namespace

PanScript::PanScript(const State& state, const Pan& pan)
    : scratch_(with_only(state, pan)), pan_(scratch_.pans.at(pan.id)), component_(scratch_.component_of(pan_)) {}

const Step& PanScript::step(Place place) const { return component_.steps[static_cast<std::size_t>(place.step)]; }

std::string PanScript::name() const {
  return pan_.letter.empty() ? component_.name : component_.name + " " + pan_.letter;
}

std::string PanScript::step_name(Place place) const {
  if (place.round > 0) return fmt::format("{} {} of {}", step(place).word, place.round, name());
  return fmt::format("{} of {}", step(place).word, name());
}

int PanScript::open_group() const {
  const int here = step(pan_.place).group;
  if (here >= 0) return here;
  // Right behind the rounds, nothing begun since, and nobody has said that the cue came.
  for (std::size_t g = 0; g < component_.groups.size(); ++g) {
    const bool right_behind = component_.groups[g].last + 1 == pan_.place.step && pan_.running() == nullptr;
    if (right_behind && pan_.rounds.count(static_cast<int>(g)) == 0) return static_cast<int>(g);
  }
  return -1;
}

int PanScript::rounds_begun(int group) const {
  int rounds = 0;
  for (const Run& run : pan_.runs)
    if (component_.steps[static_cast<std::size_t>(run.step)].group == group) rounds = std::max(rounds, run.round);
  return rounds;
}

Instant PanScript::earliest() const {
  if (pan_.runs.empty()) return Instant{};
  const Run& last = pan_.runs.back();
  return last.ended ? *last.ended : last.started;
}

PanScript::Way PanScript::way_to(Place target) const {
  Way way;
  Place place = pan_.place;
  const int open = open_group();
  if (open >= 0 && step(place).group != open && step(target).group == open)
    place = {component_.groups[static_cast<std::size_t>(open)].first, rounds_begun(open) + 1};
  const int last_step = static_cast<int>(component_.steps.size()) - 1;
  while (true) {
    way.push_back({place, {}, {}});
    if (place == target) return way;
    const int group = step(place).group;
    if (group >= 0 && place.step == component_.groups[static_cast<std::size_t>(group)].last) {
      const Rounds& rounds = component_.groups[static_cast<std::size_t>(group)];
      // Rounds under way end with the present one when what is pressed lies behind them; those not yet reached are
      // taken to need their usual number.
      const bool inside = step(target).group == group;
      const bool reached = step(pan_.place).group == group;
      const int needed = inside ? target.round : reached ? place.round : rounds.usual;
      if (place.round < needed) {
        place = {rounds.first, place.round + 1};
        continue;
      }
    }
    if (place.step >= last_step || place.step > target.step) return {};
    place.step += 1;
    const int entered = step(place).group;
    if (entered < 0) place.round = 0;
    if (entered >= 0 && entered != group) place.round = 1;
  }
}

// Works back from the press: each step took its usual time, unless something known says otherwise.
void PanScript::lay_out(Way& way, Instant last_end, Duration last_takes) const {
  const int n = std::max(1, pan_.portions_in());
  Instant end = last_end;
  for (std::size_t i = way.size(); i-- > 0;) {
    way[i].end = end;
    way[i].start = end - (i + 1 == way.size() ? last_takes : step(way[i].place).usual(n));
    end = way[i].start;
  }
  Instant known = earliest();
  for (std::size_t i = 0; i < way.size(); ++i) {
    const bool runs = i == 0 && pan_.running() != nullptr;
    way[i].start = runs ? pan_.runs.back().started : std::max(way[i].start, known);
    const Duration least = step(way[i].place).kind == StepKind::rest ? step(way[i].place).usual(n) : Duration::zero();
    if (i + 1 < way.size()) way[i].end = std::min(last_end, std::max(way[i].end, way[i].start + least));
    way[i].end = std::max(way[i].end, way[i].start);
    known = way[i].end;
  }
}

Error PanScript::is_over(Place target) const {
  for (const Run& run : pan_.runs)
    if (run.step == target.step && run.round == target.round && run.ended)
      return {Errc::conflict, fmt::format("{} is done already, at {}", step_name(target), clock_text(*run.ended))};
  return {Errc::conflict, fmt::format("{} is past that: it stands at {}", name(), step(pan_.place).word)};
}

Status PanScript::check(const Way& way, const Hand& hand, bool ends_last) const {
  const int n = std::max(1, pan_.portions_in());
  for (std::size_t i = 0; i < way.size(); ++i) {
    const Step& here = step(way[i].place);
    const bool last = i + 1 == way.size();
    const bool runs = i == 0 && pan_.running() != nullptr;
    if (!last && here.by_hand() && !runs && !hand.sure && !hand.proof)
      return Error{Errc::conflict,
                   fmt::format("{} comes first: press that, or say it again to skip it", step_name(way[i].place))};
    if (here.kind != StepKind::rest || (last && !ends_last)) continue;
    const Duration short_by = here.usual(n) - (way[i].end - way[i].start);
    if (short_by <= Duration::zero()) continue;
    if (!hand.sure)
      return Error{Errc::refused,
                   fmt::format("{} must rest another {}: say it again, with your name, to cut the rest short", name(),
                               span_text(short_by))};
    if (hand.by.empty()) return Error{Errc::refused, fmt::format("cutting the rest of {} short needs a name", name())};
  }
  return Done{};
}

void PanScript::write(Happening happening) {
  apply(scratch_, Event{scratch_.now, happening});
  events_.push_back(std::move(happening));
}

void PanScript::begin(Place place, Instant at, bool inferred) {
  write(StepStarted{pan_.id, step(place).id, place.round, to_ms(at), inferred});
}

void PanScript::end(Instant at, bool inferred) {
  write(StepEnded{pan_.id, step(pan_.place).id, pan_.place.round, to_ms(at), inferred});
}

void PanScript::go_on(Instant at, bool inferred) {
  if (pan_.finished || pan_.running() != nullptr || step(pan_.place).by_hand()) return;
  begin(pan_.place, at, inferred);
}

void PanScript::close_rounds_before(Place target, const Hand& hand) {
  const int open = open_group();
  if (open < 0 || pan_.running() != nullptr || step(target).group == open || rounds_begun(open) == 0) return;
  const Instant at = std::max(hand.at, earliest());
  write(CueMet{pan_.id, component_.groups[static_cast<std::size_t>(open)].word, rounds_begun(open), to_ms(at), true});
}

void PanScript::walk(const Way& way, const Hand& hand, bool last_inferred) {
  const int n = std::max(1, pan_.portions_in());
  for (std::size_t i = 0; i < way.size(); ++i) {
    const Timed& here = way[i];
    const bool last = i + 1 == way.size();
    if (pan_.running() == nullptr) begin(here.place, here.start, !last || last_inferred);
    if (last) return;
    const int group = step(here.place).group;
    if (group >= 0 && step(way[i + 1].place).group != group)
      write(CueMet{pan_.id, component_.groups[static_cast<std::size_t>(group)].word, here.place.round, to_ms(here.end),
                   true});
    const Duration short_by = step(here.place).usual(n) - (here.end - here.start);
    if (step(here.place).kind == StepKind::rest && short_by > Duration::zero())
      write(WordGiven{hand.by, pan_.id, step(here.place).id, "rest cut short by " + span_text(short_by)});
    end(here.end, true);
  }
}

Status PanScript::finish(Place target, const Hand& hand) {
  if (pan_.finished) return is_over(target);
  close_rounds_before(target, hand);
  Way way = way_to(target);
  if (way.empty()) return is_over(target);
  const int n = std::max(1, pan_.portions_in());
  const Instant at = std::max(hand.at, earliest());
  lay_out(way, at, step(target).usual(n));
  if (Status fine = check(way, hand, true); !fine) return fine;
  walk(way, hand, true);
  const Timed& last = way.back();
  const Duration short_by = step(target).usual(n) - (at - last.start);
  if (step(target).kind == StepKind::rest && short_by > Duration::zero())
    write(WordGiven{hand.by, pan_.id, step(target).id, "rest cut short by " + span_text(short_by)});
  end(at, hand.proof);
  go_on(at, hand.proof);
  return Done{};
}

Status PanScript::start(Place target, const Hand& hand) {
  if (pan_.finished) return is_over(target);
  close_rounds_before(target, hand);
  Way way = way_to(target);
  if (way.empty()) return is_over(target);
  if (way.size() == 1 && pan_.running() != nullptr)
    return Error{Errc::conflict, step_name(target) + " has begun already"};
  const Instant at = std::max(hand.at, earliest());
  lay_out(way, at, Duration::zero());
  if (Status fine = check(way, hand, false); !fine) return fine;
  way.back().start = std::max(at, way.back().start);
  walk(way, hand, hand.proof);
  return Done{};
}

Status PanScript::one_more(const Hand& hand) {
  if (pan_.finished) return is_over(pan_.place);
  const int group = open_group();
  if (group < 0) {
    // The wait before the first round is over when the first ladle goes in.
    const auto next = pan_.running() == nullptr ? std::nullopt : next_place(component_, pan_, pan_.place);
    if (next && next->round == 1 && !step(pan_.place).by_hand() && step(*next).by_hand()) return finish(*next, hand);
    return Error{Errc::conflict, fmt::format("{} is not in its rounds now", name())};
  }
  const Rounds& rounds = component_.groups[static_cast<std::size_t>(group)];
  int first_hand = rounds.first;
  while (first_hand < rounds.last && !component_.steps[static_cast<std::size_t>(first_hand)].by_hand()) ++first_hand;
  const int begun = rounds_begun(group);
  // A hand step of the present round that has not ended yet is the one meant.
  const bool inside = step(pan_.place).group == group && pan_.place.step <= first_hand && pan_.place.round >= begun;
  return finish({first_hand, inside ? pan_.place.round : begun + 1}, hand);
}

Status PanScript::its_there(const Hand& hand) {
  const int group = open_group();
  if (pan_.finished || group < 0) return Error{Errc::conflict, fmt::format("{} is not in its rounds now", name())};
  const Rounds& rounds = component_.groups[static_cast<std::size_t>(group)];
  const int begun = rounds_begun(group);
  if (begun == 0) return Error{Errc::conflict, fmt::format("no {} has gone into {} yet", rounds.word, name())};
  const Instant at = std::max(hand.at, earliest());
  if (pan_.running() != nullptr) end(at, hand.proof);
  write(CueMet{pan_.id, rounds.word, begun, to_ms(at), hand.proof});
  go_on(at, hand.proof);
  return Done{};
}

Status PanScript::plate(const PlateKey& plate, const Hand& hand) {
  const Portion* portion = pan_.portion_of(plate);
  if (portion == nullptr) return Error{Errc::unknown, fmt::format("{} holds nothing for that plate", name())};
  if (portion->plated) return Error{Errc::conflict, fmt::format("{} is on that plate already", name())};
  const Place target{static_cast<int>(component_.steps.size()) - 1, 0};
  const Instant at = std::max(hand.at, earliest());
  if (pan_.running() == nullptr || pan_.place != target) {
    close_rounds_before(target, hand);
    Way way = way_to(target);
    if (way.empty()) return is_over(target);
    lay_out(way, at, step(target).takes.of(1));
    if (Status fine = check(way, hand, false); !fine) return fine;
    walk(way, hand, true);
  }
  write(PortionPlated{pan_.id, plate, to_ms(at), hand.proof});
  const bool all = std::all_of(pan_.portions.begin(), pan_.portions.end(),
                               [](const Portion& one) { return one.plated.has_value(); });
  if (all) end(at, hand.proof);
  return Done{};
}

Status PanScript::finish_all(const Hand& hand) {
  if (pan_.finished) return Done{};
  if (!pan_.begun() && !hand.sure)
    return Error{Errc::refused,
                 fmt::format("{} has not been begun: say it again if the plates have really left", name())};
  return finish({static_cast<int>(component_.steps.size()) - 1, 0}, hand);
}

void PanScript::remember_press() {
  write(Pressed{pan_.station, pan_.id, step(pan_.place).id, pan_.place.round, pan_.running() != nullptr});
}

}  // namespace nappe::line
