#include "client/cooks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

namespace nappe::client {
namespace {

using Json = nlohmann::json;

constexpr double move_scatter = 0.25;     // Of the logarithm; common practice, no source.
constexpr Duration reach = seconds(2);    // From the end of a move to a knuckle on the bar.
constexpr double late_tap_chance = 0.12;  // Taps are late and come in bursts; common practice, no source.
constexpr Duration late_tap = seconds(20);
constexpr Duration taste = seconds(6);
constexpr Duration sulk = seconds(15);  // After a refusal a cook looks again before pressing.

Ask ask_for(const Item& item, Json action) {
  return {action.dump(), fmt::format("{} {} {}", item.move, item.what, item.letter), item.key, false};
}

}  // namespace

// The first move of every pan: the others cannot be made before it.
std::vector<const Item*> Cooks::heads(const StationScreen& screen) const {
  std::vector<const Item*> out;
  std::set<int> seen;
  for (const Item& item : screen.list) {
    if (item.pan == 0) continue;  // a batch to be made: none of the night's presses
    if (seen.insert(item.pan).second) out.push_back(&item);
  }
  return out;
}

// A cook begins when the move may begin and its latest start is near; how near is a matter of temper.
Instant Cooks::begins(const StationScreen& screen, const Item& item) const {
  if (item.state == "doing") return Instant{};
  const std::string name = screen.id + item.key;
  const Duration lead = seconds(20) + from_seconds(60 * draws_.unit(name + "lead"));
  return std::max(item.soonest, item.at - lead);
}

bool Cooks::taken(const Crew& crew, int pan) const {
  const auto has = [pan](const auto& work) { return work && work->pan == pan; };
  return std::any_of(crew.hands.begin(), crew.hands.end(), has) ||
         std::any_of(crew.taps.begin(), crew.taps.end(), [pan](const Tap& tap) { return tap.pan == pan; });
}

int Cooks::rounds_needed(const StationScreen& screen, const Item& item) const {
  const auto same = [&](const kitchen::Component& c) {
    return c.station == screen.id && (c.name == item.what || c.id == item.what) && !c.groups.empty();
  };
  const auto found = std::find_if(kitchen_.components.begin(), kitchen_.components.end(), same);
  if (found == kitchen_.components.end()) return item.rounds->usual;
  double left = draws_.unit(fmt::format("{}p{}rounds", screen.id, item.pan));
  double all = 0;
  for (const auto& [rounds, weight] : found->groups.front().seen) all += weight;
  for (const auto& [rounds, weight] : found->groups.front().seen) {
    left -= weight / all;
    if (left < 0) return rounds;
  }
  return item.rounds->usual;
}

Cooks::Work Cooks::work_on(const StationScreen& screen, const Crew& crew, const Item& item, Instant now) const {
  Work work{item.key, item.pan, now + draws_.scattered(screen.id + item.key, item.takes, move_scatter), {}};
  if (item.rounds && item.round > 0 && item.rounds->can_end && item.round > rounds_needed(screen, item)) {
    work.end = now + taste;
    work.ask = ask_for(item, {{"its_there", {{"pan", item.pan}}}});
    return work;
  }
  if (item.rounds && item.round > 0) {
    work.ask = ask_for(item, {{"one_more", {{"pan", item.pan}}}});
    return work;
  }
  Json body{{"pan", item.pan}, {"step", item.step}, {"round", item.round}};
  const auto refusals = crew.refusals.find(item.key);
  if (refusals != crew.refusals.end()) body["sure"] = true;
  work.ask = ask_for(item, {{"finish_step", std::move(body)}});
  return work;
}

Duration Cooks::tap_delay(const StationScreen& screen, const Item& item) const {
  const std::string name = screen.id + item.key + "tap";
  if (draws_.unit(name) < late_tap_chance) return draws_.scattered(name, late_tap, 0.7);
  return draws_.scattered(name, reach, 0.4);
}

std::vector<CookPress> Cooks::step(const StationScreen& screen, Instant now) {
  Crew& crew = crews_[screen.id];
  const auto present =
      std::count_if(screen.hands.begin(), screen.hands.end(), [](const Person& person) { return person.present; });
  crew.hands.resize(static_cast<std::size_t>(present));
  for (auto& hand : crew.hands) {
    if (!hand || hand->end > now) continue;
    if (const Item* item = screen.find(hand->item)) {
      crew.taps.push_back({hand->end + tap_delay(screen, *item), hand->item, hand->pan, hand->ask});
    }
    hand.reset();
  }
  std::stable_sort(crew.taps.begin(), crew.taps.end(), [](const Tap& a, const Tap& b) { return a.at < b.at; });
  std::vector<CookPress> out;
  std::vector<Tap> later;
  for (Tap& tap : crew.taps) {
    if (tap.at > now) {
      later.push_back(std::move(tap));
    } else if (screen.find(tap.item) != nullptr) {  // Else other evidence has moved the list on already.
      out.push_back({screen.id, tap.at, std::move(tap.ask)});
      // Until the answer is in the list, the pan is not taken up again.
      crew.not_before[tap.item] = now + reach;
    }
  }
  crew.taps = std::move(later);
  for (const Item* item : heads(screen)) {
    const auto idle = std::find_if(crew.hands.begin(), crew.hands.end(), [](const auto& hand) { return !hand; });
    if (idle == crew.hands.end()) break;
    const auto wait = crew.not_before.find(item->key);
    if (taken(crew, item->pan) || begins(screen, *item) > now) continue;
    if (wait != crew.not_before.end() && wait->second > now) continue;
    *idle = work_on(screen, crew, *item, now);
  }
  return out;
}

std::optional<Instant> Cooks::next(const StationScreen& screen, Instant now) const {
  const auto found = crews_.find(screen.id);
  if (found == crews_.end()) return now;
  const Crew& crew = found->second;
  std::optional<Instant> first;
  const auto consider = [&](Instant at) {
    if (!first || at < *first) first = at;
  };
  bool idle = false;
  for (const auto& hand : crew.hands) {
    if (hand) consider(hand->end);
    idle = idle || !hand;
  }
  for (const Tap& tap : crew.taps) consider(tap.at);
  for (const Item* item : heads(screen)) {
    if (!idle || taken(crew, item->pan)) continue;
    const auto wait = crew.not_before.find(item->key);
    consider(std::max(begins(screen, *item), wait == crew.not_before.end() ? Instant{} : wait->second));
  }
  return first;
}

void Cooks::refused(const std::string& station, const std::string& item, Instant now) {
  Crew& crew = crews_[station];
  ++crew.refusals[item];
  crew.not_before[item] = now + sulk;
}

}  // namespace nappe::client
