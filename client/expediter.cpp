#include "client/expediter.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "common/kitchen/menu.hpp"

namespace nappe::client {
namespace {

using Json = nlohmann::json;

// Invented for the demo: eating 15 min (sd 3.5) and 24 min (sd 5).
constexpr Duration eat_first = minutes(15), eat_first_sd = seconds(210);
constexpr Duration eat_next = minutes(24), eat_next_sd = minutes(5);
constexpr Duration chef_bets = minutes(6);       // The chef fires this long before the table is expected to be clear.
constexpr Duration look = seconds(8);            // From the last plate up to "gone".
constexpr Duration patience = minutes(6);        // With plates dying at the pass, a table goes without its last one.
constexpr Duration last_patience = minutes(20);  // And no table waits for ever.
constexpr Duration again = seconds(30);

Ask ask_for(const CourseLine& course, const char* action, Json body, const char* says) {
  body["ticket"] = course.ticket;
  body["course"] = course.course;
  return {Json{{action, std::move(body)}}.dump(), fmt::format("table {} {}: {}", course.table, course.name, says),
          course.key, false};
}

const CourseLine* course_before(const PassScreen& screen, const CourseLine& course) {
  const CourseLine* before = nullptr;
  for (const CourseLine& other : screen.courses) {
    if (other.ticket != course.ticket || other.order >= course.order) continue;
    if (before == nullptr || other.order > before->order) before = &other;
  }
  return before;
}

const StandingLine* standing_of(const PassScreen& screen, const CourseLine& course) {
  const auto found = std::find_if(screen.standing.begin(), screen.standing.end(),
                                  [&](const StandingLine& line) { return line.key == course.key; });
  return found == screen.standing.end() ? nullptr : &*found;
}

std::vector<std::string> allergies_from(const std::string& words) {
  std::vector<std::string> out;
  for (std::size_t at = 0; at < words.size();) {
    const std::size_t end = std::min(words.find(", ", at), words.size());
    std::string one = words.substr(at, end - at);
    std::transform(one.begin(), one.end(), one.begin(), [](char c) { return c >= 'A' && c <= 'Z' ? char(c + 32) : c; });
    out.push_back(std::move(one));
    at = end + 2;
  }
  return out;
}

}  // namespace

bool Expediter::may(const std::string& key, Instant now) const {
  const auto found = wait_.find(key);
  return found == wait_.end() || found->second <= now;
}

std::optional<Instant> Expediter::fires_at(const PassScreen& screen, const CourseLine& course) const {
  if (course.state != "waiting") return {};
  const CourseLine* before = course_before(screen, course);
  Instant at{};
  if (before == nullptr) {
    const auto seen = seen_.find(course.key);
    at = (seen == seen_.end() ? Instant{} : seen->second) + seconds(40);
  } else {
    if (before->state != "gone" || !before->gone) return {};
    const CourseLine* first = course_before(screen, *before);
    const bool second = first == nullptr;
    const Duration eats = draws_.around(course.key + "eats", second ? eat_first : eat_next,
                                        second ? eat_first_sd : eat_next_sd, minutes(5));
    at = *before->gone + eats - (second ? chef_bets : Duration::zero());
  }
  const auto wait = wait_.find(course.key);
  return wait == wait_.end() ? at : std::max(at, wait->second);
}

std::optional<Instant> Expediter::sends_at(const PassScreen& screen, const CourseLine& course) const {
  if (course.state != "fired" && course.state != "held") return {};
  const StandingLine* standing = standing_of(screen, course);
  const Instant meet = course.meet.value_or(Instant::max() - last_patience);
  std::optional<Instant> at;
  if (standing != nullptr && standing->up >= standing->of) {
    const auto seen = seen_.find(course.key + "up");
    at = (seen == seen_.end() ? meet : seen->second) + draws_.scattered(course.key + "look", look, 0.5);
  } else if (standing != nullptr && standing->up > 0) {
    at = meet + patience;
  } else {
    at = meet + last_patience;
  }
  const auto wait = wait_.find(course.key);
  return wait == wait_.end() ? *at : std::max(*at, wait->second);
}

// A plate its guest must not have is made anew as something the guest can have.
std::optional<Ask> Expediter::mend_blocked(const CourseLine& course, Instant now) {
  for (const PlateLine& plate : course.plates) {
    const std::string key = fmt::format("{}b{}", course.key, plate.position);
    if (plate.state != "blocked" || !may(key, now)) continue;
    wait_[key] = now + minutes(1);
    const auto words = course.allergies.find(std::to_string(plate.position));
    std::string dish;
    if (words != course.allergies.end() && refusals_[key] == 0) {
      for (const auto& other : kitchen::alternatives(kitchen_, course.course, allergies_from(words->second))) {
        if (other.dish->id != plate.dish && dish.empty()) dish = other.dish->id;
      }
    }
    ++refusals_[key];
    return ask_for(course, "change_plate", {{"plate", {{"position", plate.position}, {"dish", dish}}}, {"sure", true}},
                   dish.empty() ? "a plate is taken off" : "a plate is made anew for an allergy");
  }
  return {};
}

std::optional<Ask> Expediter::alert(const PassScreen& screen, Instant now) {
  for (const AlertLine& line : screen.alerts) {
    const Duration before_answer = draws_.scattered(line.key + "answer", seconds(40), 0.5);
    if (line.answered || now < line.since + before_answer || !answered_.insert(line.key).second) continue;
    return Ask{Json{{"acknowledge", {{"alert", line.alert}}}}.dump(), "seen: " + line.says, "", false};
  }
  return {};
}

std::vector<Ask> Expediter::step(const PassScreen& screen, Instant now) {
  std::vector<Ask> out;
  for (const CourseLine& course : screen.courses) {
    if (course.state == "waiting" && course_before(screen, course) == nullptr) seen_.emplace(course.key, now);
    const StandingLine* standing = standing_of(screen, course);
    const bool whole = standing != nullptr && standing->up >= standing->of;
    if (whole) seen_.emplace(course.key + "up", now);
    if (!whole) seen_.erase(course.key + "up");
    if (course.state == "gone") continue;
    if (auto mended = mend_blocked(course, now)) out.push_back(std::move(*mended));
    if (const auto at = fires_at(screen, course); at && *at <= now) {
      wait_[course.key] = now + again;
      out.push_back(ask_for(course, "fire", Json::object(), "fired"));
    } else if (const auto sent = sends_at(screen, course); sent && *sent <= now) {
      wait_[course.key] = now + again;
      Json body = Json::object();
      if (!whole || refusals_[course.key] > 0) body["sure"] = true;
      out.push_back(ask_for(course, "gone", std::move(body), whole ? "gone" : "gone without waiting longer"));
    }
  }
  if (auto seen = alert(screen, now)) out.push_back(std::move(*seen));
  return out;
}

std::optional<Instant> Expediter::next(const PassScreen& screen, Instant now) const {
  std::optional<Instant> first;
  const auto consider = [&](std::optional<Instant> at) {
    if (at && (!first || *at < *first)) first = at;
  };
  for (const CourseLine& course : screen.courses) {
    consider(fires_at(screen, course));
    consider(sends_at(screen, course));
  }
  if (first && *first < now) first = now;
  return first;
}

void Expediter::refused(const Ask& ask, Instant now) {
  if (ask.item.empty()) return;
  ++refusals_[ask.item];
  wait_[ask.item] = now + again;
}

}  // namespace nappe::client
