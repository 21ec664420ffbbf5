#include "common/rehearse/stage.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "common/kitchen/load.hpp"
#include "common/kitchen/near.hpp"
#include "common/rehearse/draws.hpp"

namespace nappe::rehearse {
namespace {

constexpr Duration table_taken = std::chrono::hours(2);

std::string hour_text(Duration since_midnight) {
  const auto minutes_in = std::chrono::duration_cast<std::chrono::minutes>(since_midnight).count();
  return fmt::format("{:02}:{:02}", minutes_in / 60, minutes_in % 60);
}

template <class Items>
Error unknown(std::string_view what, const std::string& name, const Items& items) {
  std::vector<std::string> names;
  for (const auto& item : items) names.push_back(item.id);
  return Error{Errc::unknown, fmt::format("there is no {} \"{}\"; there are {}", what, name, fmt::join(names, ", "))};
}

Status set_pairs(kitchen::Kitchen& kitchen, const std::string& name, int pairs) {
  const auto station = std::find_if(kitchen.stations.begin(), kitchen.stations.end(),
                                    [&](const kitchen::Station& one) { return one.id == name; });
  if (station == kitchen.stations.end()) return unknown("station", name, kitchen.stations);
  const bool cooks = std::any_of(kitchen.components.begin(), kitchen.components.end(),
                                 [&](const kitchen::Component& one) { return one.station == name; });
  if (!cooks)
    return Error{Errc::invalid,
                 fmt::format("nothing is cooked at {}: pairs of hands there change no night", station->name)};
  if (pairs < 0 || pairs > 20)
    return Error{Errc::invalid, fmt::format("{} pairs of hands at {}: give 0 to 20", pairs, station->name)};
  while (static_cast<int>(station->people.size()) > pairs) station->people.pop_back();
  while (static_cast<int>(station->people.size()) < pairs) {
    const std::string id = fmt::format("extra_{}_{}", name, station->people.size() + 1);
    station->people.push_back({id, fmt::format("another pair at {}", station->name), 1.0});
  }
  return Done{};
}

Status cook_ahead(kitchen::Kitchen& kitchen, const std::string& name, int rounds) {
  const auto component = std::find_if(kitchen.components.begin(), kitchen.components.end(),
                                      [&](const kitchen::Component& one) { return one.id == name; });
  if (component == kitchen.components.end()) return unknown("component", name, kitchen.components);
  if (component->groups.empty())
    return Error{Errc::invalid, fmt::format("{} has no rounds that could be done ahead", component->name)};
  kitchen::Rounds& group = component->groups.front();
  if (rounds < 0 || rounds >= group.min)
    return Error{Errc::invalid,
                 fmt::format("{} takes at least {} rounds: {} ahead is too many", component->name, group.min, rounds)};
  group.min -= rounds;
  group.usual -= rounds;
  group.max -= rounds;
  group.join_before = std::max(0, group.join_before - rounds);
  std::map<int, double> seen;
  for (const auto& [n, share] : group.seen) seen[n - rounds] = share;
  group.seen = std::move(seen);
  return Done{};
}

// Counts what the sheet says of each course.
CourseMix mix_of(const kitchen::Kitchen& kitchen, const std::string& course, const kitchen::BookingSheet& sheet,
                 const std::vector<std::string>& without) {
  std::map<std::string, double> count;
  double eat = 0;
  double skip = 0;
  for (const kitchen::Booking& booking : sheet.bookings) {
    const auto known = booking.orders.find(course);
    if (known == booking.orders.end()) continue;
    for (const auto& dish : known->second) (dish ? eat : skip) += 1;
    for (const auto& dish : known->second)
      if (dish) count[*dish] += 1;
  }
  CourseMix mix;
  mix.course = course;
  mix.none = eat + skip > 0 ? skip / (eat + skip) : 0;
  double sum = 0;
  for (const kitchen::Dish& dish : kitchen.dishes) {
    if (dish.course != course) continue;
    if (std::find(without.begin(), without.end(), dish.id) != without.end()) continue;
    mix.shares.emplace_back(dish.id, count[dish.id] + 1);
    sum += count[dish.id] + 1;
  }
  for (auto& [dish, share] : mix.shares) share /= sum;
  return mix;
}

bool free_then(const kitchen::BookingSheet& sheet, const std::string& table, Duration at) {
  return std::none_of(sheet.bookings.begin(), sheet.bookings.end(), [&](const kitchen::Booking& booking) {
    return booking.table == table && booking.at < at + table_taken && at < booking.at + table_taken;
  });
}

// One more party of at most `room_for`, nearest to the wanted hour of those of the sheet.
bool add_party(kitchen::BookingSheet& sheet, const kitchen::Kitchen& kitchen, const std::vector<Duration>& hours,
               std::size_t wanted, int room_for) {
  for (std::size_t i = 0; i < hours.size(); ++i) {
    const Duration at = hours[(wanted + i) % hours.size()];
    for (const kitchen::Table& table : kitchen.tables) {
      if (!free_then(sheet, table.id, at)) continue;
      kitchen::Booking booking;
      booking.id = fmt::format("more-t{}-{}", table.id, hour_text(at));
      booking.at = at;
      booking.table = table.id;
      booking.covers = std::min(table.seats, room_for);
      sheet.bookings.push_back(std::move(booking));
      return true;
    }
  }
  return false;
}

void sort_by_hour(kitchen::BookingSheet& sheet) {
  std::stable_sort(sheet.bookings.begin(), sheet.bookings.end(),
                   [](const kitchen::Booking& a, const kitchen::Booking& b) { return a.at < b.at; });
}

void take_away(kitchen::BookingSheet& sheet, int covers) {
  // Every second party goes first, so that the evening keeps its shape.
  for (std::size_t at = 1; covers_of(sheet) > covers; at += 1) {
    if (at >= sheet.bookings.size()) at = 0;
    kitchen::Booking& booking = sheet.bookings[at];
    const int too_many = covers_of(sheet) - covers;
    if (booking.covers > too_many) {
      booking.covers -= too_many;
      for (auto& [course, dishes] : booking.orders)
        if (dishes.size() > static_cast<std::size_t>(booking.covers))
          dishes.resize(static_cast<std::size_t>(booking.covers));
      std::erase_if(booking.guests, [&](const auto& guest) { return guest.position > booking.covers; });
      return;
    }
    sheet.bookings.erase(sheet.bookings.begin() + static_cast<std::ptrdiff_t>(at));
  }
}

}  // namespace

int covers_of(const kitchen::BookingSheet& sheet) {
  int covers = 0;
  for (const kitchen::Booking& booking : sheet.bookings) covers += booking.covers;
  return covers;
}

Result<kitchen::Kitchen> change_kitchen(kitchen::Kitchen kitchen, const Variant& variant) {
  for (const auto& [station, pairs] : variant.hands)
    if (Status fine = set_pairs(kitchen, station, pairs); !fine) return fine.error();
  for (const auto& [component, rounds] : variant.fewer_rounds)
    if (Status fine = cook_ahead(kitchen, component, rounds); !fine) return fine.error();
  for (const std::string& dish : variant.without)
    if (kitchen.find_dish(dish) == nullptr) return unknown("dish", dish, kitchen.dishes);
  if (variant.prompt) {
    if (!(*variant.prompt >= 0 && *variant.prompt <= 1))
      return Error{Errc::invalid, fmt::format("fresh ... prompt goes from 0 to 1, not to {}", *variant.prompt)};
    kitchen.settings.prompt = *variant.prompt;
  }
  return kitchen;
}

Result<kitchen::BookingSheet> fit_covers(kitchen::BookingSheet sheet, const kitchen::Kitchen& kitchen, int covers) {
  if (covers < 1) return Error{Errc::invalid, fmt::format("{} covers: give at least 1", covers)};
  if (sheet.bookings.empty()) return Error{Errc::invalid, "nothing is booked: name a sheet of bookings"};
  if (covers_of(sheet) > covers) take_away(sheet, covers);
  std::vector<Duration> hours;
  for (const kitchen::Booking& booking : sheet.bookings)
    if (hours.empty() || hours.back() != booking.at) hours.push_back(booking.at);
  for (std::size_t added = 0; covers_of(sheet) < covers; ++added) {
    // Steps of about the golden ratio spread the hours evenly however many are added.
    const std::size_t wanted = added * (hours.size() * 618 / 1000 + 1) % hours.size();
    const int now = covers_of(sheet);
    if (!add_party(sheet, kitchen, hours, wanted, covers - now))
      return Error{Errc::refused,
                   fmt::format("the room takes {} covers at the hours of this sheet, not {}", now, covers)};
  }
  sort_by_hour(sheet);
  return sheet;
}

Result<Stage> make_stage(const kitchen::Kitchen& kitchen, const kitchen::BookingSheet& sheet, const Variant& variant) {
  if (sheet.bookings.empty()) return Error{Errc::invalid, "nothing is booked: name a sheet of bookings"};
  auto changed = change_kitchen(kitchen, variant);
  if (!changed) return changed.error();
  Stage stage;
  stage.sheet = sheet;
  for (const auto& [id, by] : variant.moved) {
    const auto booking = std::find_if(stage.sheet.bookings.begin(), stage.sheet.bookings.end(),
                                      [&](const kitchen::Booking& one) { return one.id == id; });
    if (booking == stage.sheet.bookings.end()) return unknown("booking", id, stage.sheet.bookings);
    booking->at += by;
  }
  sort_by_hour(stage.sheet);
  stage.covers = covers_of(stage.sheet);
  stage.midnight = from_ms(0) + std::chrono::hours(24);
  stage.first = stage.midnight + stage.sheet.bookings.front().at;
  // A quarter-hour more: guests may come before their booking.
  stage.first -= (stage.first - stage.midnight) % slot_length + slot_length;
  for (const kitchen::CourseName& course : kitchen.courses) {
    stage.mix.push_back(mix_of(kitchen, course.id, sheet, variant.without));
    if (stage.mix.back().shares.empty())
      return Error{Errc::refused,
                   fmt::format("without {} nothing is left of the {}", fmt::join(variant.without, ", "), course.name)};
  }
  line::Command open;
  open.at = stage.first - std::chrono::hours(1);
  open.action = line::OpenService{"rehearsal", kitchen::to_document(*changed)};
  const auto events = line::decide(stage.opened, open, open.at);
  if (!events) return events.error();
  for (const line::Event& event : *events) line::apply(stage.opened, event);
  stage.kitchen = stage.opened.kitchen;
  return stage;
}

}  // namespace nappe::rehearse
