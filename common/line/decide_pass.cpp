// Firing, holding, meets; plates that leave, come back, are cooked again.
#include <fmt/format.h>

#include <algorithm>

#include "common/kitchen/menu.hpp"
#include "common/line/batches.hpp"
#include "common/line/chain.hpp"
#include "common/line/decide.hpp"
#include "common/line/quiet.hpp"

namespace nappe::line {
namespace {

Status must_be(const Found& found, std::initializer_list<CourseState> states, const char* to_do) {
  const CourseState state = found.course->state;
  if (std::find(states.begin(), states.end(), state) != states.end()) return Done{};
  const char* is = state == CourseState::waiting ? "have not been fired"
                   : state == CourseState::fired ? "are fired already"
                   : state == CourseState::held  ? "are held: release them"
                                                 : "have gone already";
  return Error{Errc::conflict, fmt::format("the {} {}: they cannot be {}", course_text(found), is, to_do)};
}

Result<Instant> meet_asked(const Asked& asked, std::optional<std::int64_t> meet_ms, Instant otherwise) {
  if (!meet_ms) return otherwise;
  const Instant meet = from_ms(*meet_ms);
  if (meet < asked.now || meet > asked.now + std::chrono::hours(4))
    return Error{Errc::invalid,
                 fmt::format("a meet must lie between now and four hours from now, not at {}", clock_text(meet)),
                 "/meet_ms"};
  return meet;
}

// The plates of a course that a command speaks of and that are still here.
std::vector<PlateKey> plates_here(const Found& found, const std::vector<int>& but) {
  std::vector<PlateKey> keys;
  for (const auto& [position, plate] : found.course->plates)
    if (!plate.gone && std::find(but.begin(), but.end(), position) == but.end())
      keys.push_back({found.ticket->id, found.course->course, position});
  return keys;
}

}  // namespace

Status know_positions(const Found& found, const std::vector<int>& positions) {
  for (const int position : positions)
    if (found.course->plates.count(position) == 0)
      return Error{Errc::unknown,
                   fmt::format("nothing was ordered for position {} in the {}", position, course_text(found))};
  return Done{};
}

Duration spread_of(const Asked& asked, const Found& found, const std::map<PanId, Instant>& finished_now) {
  std::optional<Instant> first;
  std::optional<Instant> last;
  for (const auto& [position, plate] : found.course->plates) {
    const PlateKey key{found.ticket->id, found.course->course, position};
    std::optional<Instant> complete;
    const auto count = [&](const Pan& pan) {
      const Portion* portion = pan.portion_of(key);
      if (portion == nullptr) return;
      const auto now = finished_now.find(pan.id);
      const Instant at = portion->plated ? *portion->plated : now != finished_now.end() ? now->second : asked.at;
      complete = std::max(complete.value_or(at), at);
    };
    for (const auto& [id, pan] : asked.state.pans) count(pan);
    for (const auto& [id, pan] : asked.state.past) count(pan);
    if (!complete) continue;
    first = std::min(first.value_or(*complete), *complete);
    last = std::max(last.value_or(*complete), *complete);
  }
  return first ? *last - *first : Duration::zero();
}

void close_course(const Asked& asked, const Found& found, Happenings& out) {
  if (found.course->state == CourseState::gone || found.course->plates.empty()) return;
  Instant last{};
  for (const auto& [position, plate] : found.course->plates) {
    if (!plate.gone) return;
    last = std::max(last, *plate.gone);
  }
  const Duration late = found.course->meet ? last - *found.course->meet : Duration::zero();
  out.push_back(CourseGone{found.ticket->id, found.course->course, to_ms(last), spread_of(asked, found, {}).count(),
                           late.count()});
  guess_next_clear(asked.state, found, last, out);
}

ClearGuessed clear_guessed(TicketId ticket, const Course& course, Instant clear) {
  ClearGuessed guess{ticket, course.course, to_ms(clear)};
  if (course.clear_sd) guess.sd_ms = course.clear_sd->count();
  return guess;
}

namespace {

// The first course behind this one with anything ordered.
const Course* next_course(const Found& found) {
  const auto& courses = found.ticket->courses;
  const auto here = std::find_if(courses.begin(), courses.end(),
                                 [&](const Course& one) { return one.course == found.course->course; });
  const auto next = std::find_if(here == courses.end() ? here : here + 1, courses.end(),
                                 [](const Course& one) { return !one.plates.empty(); });
  return next == courses.end() || next->state != CourseState::waiting ? nullptr : &*next;
}

}  // namespace

void forget_house_guess(const Found& found, Happenings& out) {
  const Course* next = next_course(found);
  if (next != nullptr && next->clear_sd) out.push_back(ClearGuessed{found.ticket->id, next->course, {}});
}

void guess_next_clear(const State& state, const Found& found, Instant gone, Happenings& out) {
  const auto& kitchen = state.kitchen_of(*found.ticket);
  const auto* eaten = kitchen.find_course(found.course->course);
  const Course* next = next_course(found);
  if (next == nullptr || eaten == nullptr || !eaten->eating) return;
  if (next->clear && !next->clear_sd) return;  // a person said so
  Instant clear = gone + kitchen.walk_to(found.ticket->table) + eaten->eating->mean;
  if (found.ticket->pause && found.ticket->pause->until) clear = std::max(clear, *found.ticket->pause->until);
  out.push_back(ClearGuessed{found.ticket->id, next->course, to_ms(clear), eaten->eating->sd.count()});
}

void unshare_far(const State& state, const Ticket& ticket, const CourseKey& course, Instant meet, Happenings& out) {
  const auto too_far = [&](const Pan& pan) {
    return std::any_of(pan.portions.begin(), pan.portions.end(), [&](const Portion& portion) {
      if (portion.plate.of_course() == course) return false;
      const auto other = state.find_ticket(portion.plate.ticket)->find_course(portion.plate.course)->meet;
      const Duration between = other ? std::chrono::abs(*other - meet) : Duration::zero();
      return between >= state.component_of(pan).keep;
    });
  };
  unshare_pans(state, ticket, course, too_far, out);
}

Result<std::vector<std::string>> components_again(const State& state, const Found& found, int position,
                                                  const std::vector<std::string>& named) {
  const Plate& plate = found.course->plates.at(position);
  const auto* dish = state.kitchen_of(*found.ticket).find_dish(plate.wanted.dish);
  std::vector<std::string> components;
  for (const auto& part : dish->parts) {
    const auto& off = plate.wanted.left_off;
    if (std::find(off.begin(), off.end(), part.component) == off.end()) components.push_back(part.component);
  }
  for (const std::string& name : named)
    if (std::find(components.begin(), components.end(), name) == components.end())
      return Error{Errc::unknown, fmt::format("{} has no component \"{}\"", dish->name, name), "/components"};
  if (named.empty()) return components;
  return named;
}

Status can_be_cooked_again(const State& state, const Found& found, int position,
                           const std::vector<std::string>& components) {
  const auto allergies = found.ticket->allergies_of(position);
  for (const std::string& name : components) {
    const auto& component = *state.kitchen_of(*found.ticket).find_component(name);
    const auto held = kitchen::clashes_left(component, allergies);
    if (held.empty()) continue;
    return Error{Errc::refused,
                 fmt::format("the {} holds {} however it is cooked: give {} another dish", component.name,
                             held.front().allergen, position_text(*found.ticket, position))};
  }
  return Done{};
}

void lift_blocks(const Found& found, const PlateKey& plate, const std::vector<std::string>& components, Trial& trial) {
  for (const auto& [component, allergen] : found.course->plates.at(plate.position).blocked)
    if (std::find(components.begin(), components.end(), component) != components.end())
      trial.add(PlateUnblocked{plate, component});
}

namespace {

// Courses are eaten in order: one fired over another that has not gone is a wrong press more often than a wish.
Status eaten_in_order(const Found& found, const Fire& action) {
  if (action.sure) return Done{};
  for (const Course& before : found.ticket->courses) {
    if (&before == found.course) break;
    if (before.plates.empty() || before.state == CourseState::gone) continue;
    const char* what = before.state == CourseState::waiting ? "have not been fired" : "have not gone";
    return Error{Errc::refused, fmt::format("the {} {} yet: say it again to fire the {} all the same",
                                            course_text({found.ticket, &before}), what, action.course)};
  }
  return Done{};
}

}  // namespace

Decision decide_on(const Asked& asked, const Fire& action) {
  const auto found = course_of(asked.state, action.ticket, action.course);
  if (!found) return found.error();
  if (Status fine = must_be(*found, {CourseState::waiting}, "fired"); !fine) return fine.error();
  if (found->course->plates.empty())
    return Error{Errc::conflict, fmt::format("nothing is ordered for the {}", course_text(*found))};
  if (Status fine = eaten_in_order(*found, action); !fine) return fine.error();
  const auto pans = asked.state.pans_of(CourseKey{action.ticket, action.course});
  const auto meet = meet_asked(asked, action.meet_ms, soonest_meet(asked.state, pans, asked.now));
  if (!meet) return meet.error();
  Happenings out{CourseFired{action.ticket, action.course, to_ms(*meet)}};
  const auto own = share_pans(asked.state, pans, {{action.ticket, action.course}, *meet}, out);
  give_letters(asked.state, own, out);
  return out;
}

Decision decide_on(const Asked& asked, const Hold& action) {
  const auto found = course_of(asked.state, action.ticket, action.course);
  if (!found) return found.error();
  if (Status fine = must_be(*found, {CourseState::fired}, "held"); !fine) return fine.error();
  Happenings out{CourseHeld{action.ticket, action.course}};
  const auto always = [](const Pan&) { return true; };
  unshare_pans(asked.state, *found->ticket, {action.ticket, action.course}, always, out);
  return out;
}

Decision decide_on(const Asked& asked, const Release& action) {
  const auto found = course_of(asked.state, action.ticket, action.course);
  if (!found) return found.error();
  if (Status fine = must_be(*found, {CourseState::held}, "released"); !fine) return fine.error();
  const auto pans = asked.state.pans_of(CourseKey{action.ticket, action.course});
  const Instant soonest = std::max(found->course->meet.value_or(asked.now), soonest_meet(asked.state, pans, asked.now));
  const auto meet = meet_asked(asked, action.meet_ms, soonest);
  if (!meet) return meet.error();
  return Happenings{CourseReleased{action.ticket, action.course, to_ms(*meet)}};
}

namespace {

// What stands on the heat or under the lamps does not wait for ever: said before it is thrown, not after.
Status can_wait(const Asked& asked, const Found& found, const MoveMeet& action, Instant meet) {
  if (action.sure || (found.course->meet && meet <= *found.course->meet)) return Done{};
  const auto latest = latest_meet(asked.state, {action.ticket, action.course}, asked.now);
  if (!latest || meet <= latest->at) return Done{};
  const Pan& pan = *asked.state.find_pan(latest->pan);
  const Duration offset = minutes(asked.state.kitchen->settings.utc_offset_minutes);
  return Error{Errc::refused,
               fmt::format("the {} of the {} cannot wait so long: nothing is thrown till {}; say it again to move the "
                           "meet all the same",
                           asked.state.component_of(pan).name, course_text(found), clock_text(latest->at, offset)),
               "/meet_ms"};
}

}  // namespace

Decision decide_on(const Asked& asked, const MoveMeet& action) {
  const auto found = course_of(asked.state, action.ticket, action.course);
  if (!found) return found.error();
  if (Status fine = must_be(*found, {CourseState::fired, CourseState::held}, "moved"); !fine) return fine.error();
  const auto meet = meet_asked(asked, action.meet_ms, asked.now);
  if (!meet) return meet.error();
  if (Status fine = can_wait(asked, *found, action, *meet); !fine) return fine.error();
  const CourseKey key{action.ticket, action.course};
  Happenings out{MeetMoved{action.ticket, action.course, action.meet_ms}};
  unshare_far(asked.state, *found->ticket, key, *meet, out);
  return out;
}

namespace {

// When plates really left, if somebody says so only now: not before they could have.
Result<Instant> when_gone(const Asked& asked, const Found& found, const Gone& action,
                          const std::vector<PlateKey>& going) {
  if (!action.went_ms) return asked.at;
  const Instant went = from_ms(*action.went_ms);
  Instant soonest = found.course->fired_at.value_or(found.ticket->sent);
  for (const PlateKey& key : going)
    for (const Pan* pan : asked.state.pans_of(key))
      if (const Portion* portion = pan->portion_of(key); portion->plated) soonest = std::max(soonest, *portion->plated);
  const Duration offset = minutes(asked.state.kitchen->settings.utc_offset_minutes);
  if (went > asked.now || went < soonest)
    return Error{Errc::invalid,
                 fmt::format("the {} can have gone between {} and now, not at {}", course_text(found),
                             clock_text(soonest, offset), clock_text(went, offset)),
                 "/went_ms"};
  return went;
}

}  // namespace

Decision decide_on(const Asked& now_asked, const Gone& action) {
  Asked asked = now_asked;
  const auto found = course_of(asked.state, action.ticket, action.course);
  if (!found) return found.error();
  if (Status fine = know_positions(*found, action.but); !fine) return fine.error();
  if (found->course->state == CourseState::gone)
    return Error{Errc::conflict, fmt::format("the {} went at {}", course_text(*found),
                                             clock_text(*found->course->gone_at, utc_offset(asked.state)))};
  if (found->course->state == CourseState::waiting && !action.sure)
    return Error{Errc::refused,
                 fmt::format("the {} have not been fired: say it again if they have really gone", course_text(*found))};
  const auto going = plates_here(*found, action.but);
  if (going.empty()) return Error{Errc::conflict, fmt::format("nothing of the {} is left to go", course_text(*found))};
  const auto went = when_gone(asked, *found, action, going);
  if (!went) return went.error();
  asked.at = *went;

  Happenings out;
  std::map<PanId, Instant> finished_now;
  std::set<PanId> proved;
  for (const PlateKey& key : going) {
    const Plate& plate = found->course->plates.at(key.position);
    if (!plate.blocked.empty())
      return Error{
          Errc::refused,
          fmt::format("{} is blocked: its {} holds {}; a named person must clear it or it must be cooked again",
                      position_text(*found->ticket, key.position), plate.blocked.begin()->first,
                      plate.blocked.begin()->second)};
    for (const Pan* pan : asked.state.pans_of(key)) {
      if (!proved.insert(pan->id).second || pan->finished) continue;
      PanScript script(asked.state, *pan);
      // Where nobody presses, that nothing was begun by a key says nothing.
      const Hand hand{asked.by, asked.at, action.sure || may_be_unpressed(asked.state, *pan, asked.now), true};
      if (Status fine = script.finish_all(hand); !fine) return fine.error();
      finished_now[pan->id] = asked.at;
      for (Happening& one : script.take()) out.push_back(std::move(one));
    }
  }
  for (const PlateKey& key : going) out.push_back(PlateGone{key, to_ms(asked.at)});
  std::size_t left = 0;
  for (const auto& [position, plate] : found->course->plates) left += plate.gone ? 0U : 1U;
  if (left == going.size()) {
    const Duration late = found->course->meet ? asked.at - *found->course->meet : Duration::zero();
    out.push_back(CourseGone{action.ticket, action.course, to_ms(asked.at),
                             spread_of(asked, *found, finished_now).count(), late.count()});
    guess_next_clear(asked.state, *found, asked.at, out);
  }
  return out;
}

Decision decide_on(const Asked& asked, const BringBack& action) {
  const auto found = course_of(asked.state, action.ticket, action.course);
  if (!found) return found.error();
  if (Status fine = know_positions(*found, action.positions); !fine) return fine.error();
  Happenings out;
  for (const auto& [position, plate] : found->course->plates) {
    const bool meant = action.positions.empty() ||
                       std::find(action.positions.begin(), action.positions.end(), position) != action.positions.end();
    if (meant && plate.gone) out.push_back(PlateBack{{action.ticket, action.course, position}, to_ms(asked.at)});
  }
  if (out.empty())
    return Error{Errc::conflict,
                 fmt::format("nothing of the {} has gone: there is nothing to bring back", course_text(*found))};
  forget_house_guess(*found, out);
  return out;
}

Decision decide_on(const Asked& asked, const Refire& action) {
  const auto found = course_of(asked.state, action.ticket, action.course);
  if (!found) return found.error();
  if (Status fine = know_positions(*found, {action.position}); !fine) return fine.error();
  if (action.reason.empty()) return Error{Errc::invalid, "say why it is cooked again", "/reason"};
  if (found->course->state == CourseState::waiting)
    return Error{Errc::conflict,
                 fmt::format("the {} have not been fired: there is nothing to cook again", course_text(*found))};
  const auto components = components_again(asked.state, *found, action.position, action.components);
  if (!components) return components.error();

  if (Status fine = can_be_cooked_again(asked.state, *found, action.position, *components); !fine) return fine.error();
  const PlateKey key{action.ticket, action.course, action.position};
  Trial trial(asked);
  trial.add(RefireOrdered{key, *components, action.reason});
  lift_blocks(*found, key, *components, trial);
  Happenings out;
  PanOpener opener(asked.state);
  Duration longest{};
  for (const std::string& component : *components) {
    opener.open_one(*found->ticket, key, component, true, out);
    longest = std::max(longest, chain_time(*asked.state.kitchen_of(*found->ticket).find_component(component), 1));
  }
  const Instant soonest = std::chrono::ceil<std::chrono::seconds>(asked.now + longest);
  out.push_back(
      MeetMoved{action.ticket, action.course, to_ms(std::max(soonest, found->course->meet.value_or(soonest)))});
  forget_house_guess(*found, out);
  trial.add(std::move(out));
  return trial.take();
}

Decision decide_on(const Asked& asked, const ClearPlate& action) {
  const auto found = course_of(asked.state, action.ticket, action.course);
  if (!found) return found.error();
  if (Status fine = know_positions(*found, {action.position}); !fine) return fine.error();
  if (found->course->plates.at(action.position).blocked.empty())
    return Error{Errc::conflict, fmt::format("{} is not blocked", position_text(*found->ticket, action.position))};
  if (asked.by.empty())
    return Error{Errc::refused, fmt::format("clearing {} needs the name of the person who answers for it",
                                            position_text(*found->ticket, action.position))};
  return Happenings{PlateCleared{{action.ticket, action.course, action.position}, asked.by}};
}

}  // namespace nappe::line
