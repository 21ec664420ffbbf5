#include "common/rehearse/helped.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace nappe::rehearse {
namespace {

bool cooked_at(const kitchen::Kitchen& kitchen, const kitchen::Dish& dish, const std::string& station) {
  return std::any_of(dish.parts.begin(), dish.parts.end(), [&](const kitchen::Part& part) {
    const auto* component = kitchen.find_component(part.component);
    return component != nullptr && component->station == station;
  });
}

bool may_go(const Stage& stage, const kitchen::Dish& dish) {
  for (const CourseMix& mix : stage.mix)
    if (mix.course == dish.course)
      return mix.shares.size() > 1 &&
             std::any_of(mix.shares.begin(), mix.shares.end(), [&](const auto& one) { return one.first == dish.id; });
  return false;
}

void add_hands(const Stage& stage, const Variant& base, const std::vector<const StationSummary*>& stations,
               std::vector<Variant>& out) {
  for (std::size_t i = 0; i < stations.size(); ++i) {
    const StationSummary& station = *stations[i];
    if (i >= 2 && station.over.mean < 0.01) continue;
    const auto people = stage.kitchen->find_station(station.id)->people.size();
    Variant one = base;
    one.name = fmt::format("another pair of hands at {}", station.name);
    one.hands[station.id] = static_cast<int>(people) + 1;
    out.push_back(std::move(one));
  }
}

void add_later_bookings(const Stage& stage, const Variant& base, const StationSummary& tight,
                        std::vector<Variant>& out) {
  // Their first courses are in hand about a quarter-hour after they came; the two largest of those count most.
  std::vector<const kitchen::Booking*> then;
  for (const kitchen::Booking& booking : stage.sheet.bookings) {
    const Duration before = tight.fullest - (stage.midnight + booking.at);
    if (before >= Duration::zero() && before <= minutes(30)) then.push_back(&booking);
  }
  std::stable_sort(then.begin(), then.end(), [](const auto* a, const auto* b) { return a->covers > b->covers; });
  if (then.size() > 2) then.resize(2);
  if (then.empty()) return;
  Variant one = base;
  std::vector<std::string> tables;
  for (const auto* booking : then) {
    one.moved[booking->id] += slot_length;
    tables.push_back(fmt::format("table {} ({})", booking->table, hour_text(stage, stage.midnight + booking->at)));
  }
  one.name = fmt::format("{} booked a quarter-hour later", fmt::join(tables, " and "));
  out.push_back(std::move(one));
}

}  // namespace

std::string hour_text(const Stage& stage, Instant at) {
  const auto in = std::chrono::duration_cast<std::chrono::minutes>(at - stage.midnight).count();
  return fmt::format("{:02}:{:02}", in / 60 % 24, in % 60);
}

std::vector<Variant> changes_worth_trying(const Stage& stage, const Variant& base, const Summary& summary) {
  std::vector<Variant> out;
  const auto stations = fullest_first(summary);
  if (stations.empty()) return out;
  add_hands(stage, base, stations, out);
  const StationSummary& tight = *stations.front();
  for (const kitchen::Component& component : stage.kitchen->components) {
    if (component.station != tight.id || component.groups.empty() || component.groups.front().min < 2) continue;
    Variant one = base;
    const int ahead = std::min(component.groups.front().usual / 2, component.groups.front().min - 1);
    one.name = fmt::format("{} rounds of {} done ahead", ahead, component.name);
    one.fewer_rounds[component.id] += ahead;
    out.push_back(std::move(one));
  }
  for (const kitchen::Dish& dish : stage.kitchen->dishes) {
    if (!cooked_at(*stage.kitchen, dish, tight.id) || !may_go(stage, dish)) continue;
    Variant one = base;
    one.name = fmt::format("{} off", dish.name);
    one.without.push_back(dish.id);
    out.push_back(std::move(one));
  }
  add_later_bookings(stage, base, tight, out);
  return out;
}

std::vector<const StationSummary*> fullest_first(const Summary& summary) {
  std::vector<const StationSummary*> out;
  for (const StationSummary& station : summary.stations)
    if (station.works) out.push_back(&station);
  std::stable_sort(out.begin(), out.end(), [](const auto* a, const auto* b) { return a->worst.mean > b->worst.mean; });
  return out;
}

std::vector<Change> best_first(std::vector<Change> changes) {
  const auto told = [](const Estimate& one) { return told_from_luck(one) ? one.mean : 0; };
  const auto rank = [&](const Change& one) {
    return std::array{told(one.late_alone), told(one.past), one.late_alone.mean, one.past.mean};
  };
  std::stable_sort(changes.begin(), changes.end(), [&](const Change& a, const Change& b) { return rank(a) < rank(b); });
  return changes;
}

}  // namespace nappe::rehearse
