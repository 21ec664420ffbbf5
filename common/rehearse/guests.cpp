#include "common/rehearse/guests.hpp"

#include <algorithm>

#include "common/kitchen/menu.hpp"

namespace nappe::rehearse {
namespace {

using kitchen::Booking;

Duration around(const Spell& spell, double z, Duration least) {
  return std::max(least, from_seconds(in_seconds(spell.mean) + in_seconds(spell.sd) * z));
}

std::vector<std::string> allergies_at(const Booking& booking, int position) {
  for (const kitchen::GuestNote& guest : booking.guests)
    if (guest.position == position) return guest.allergies;
  return {};
}

// A race of exponential clocks: the first to ring wins with the chance of its share.
std::string drawn_dish(const Stage& stage, const CourseMix& mix, const std::vector<std::string>& allergies,
                       const Draws& draws, Draws::Key who) {
  const auto bits = draws.bits(Stream::dish, who);
  std::string best;
  double first = 0;
  for (const auto& [dish, share] : mix.shares) {
    if (share <= 0) continue;
    if (!allergies.empty() &&
        kitchen::can_have(*stage.kitchen, *stage.kitchen->find_dish(dish), allergies).answer == kitchen::Answer::no)
      continue;
    const double rings = draws.exponential(Stream::dish, {bits, name_key(dish)}) / share;
    if (!best.empty() && rings >= first) continue;
    best = dish;
    first = rings;
  }
  return best;
}

std::string dish_of(const Stage& stage, const CourseMix& mix, const Booking& booking, int position,
                    const Guests& guests, const Draws& draws) {
  const std::uint64_t party = name_key(booking.id);
  const auto course = name_key(mix.course);
  const auto seat = static_cast<std::uint64_t>(position);
  const auto allergies = allergies_at(booking, position);
  const auto known = booking.orders.find(mix.course);
  if (guests.as_booked && known != booking.orders.end() && static_cast<std::size_t>(position) <= known->second.size()) {
    const auto& said = known->second[static_cast<std::size_t>(position - 1)];
    if (!said) return {};
    const bool on =
        std::any_of(mix.shares.begin(), mix.shares.end(), [&](const auto& one) { return one.first == *said; });
    const auto* dish = stage.kitchen->find_dish(*said);
    if (on && kitchen::can_have(*stage.kitchen, *dish, allergies).answer != kitchen::Answer::no) return *said;
  } else if (draws.unit(Stream::none, {party, course, seat}) < mix.none) {
    return {};
  }
  return drawn_dish(stage, mix, allergies, draws, {party, course, seat});
}

line::Order order_of(const Stage& stage, const Booking& booking, const Guests& guests, const Draws& draws) {
  line::Order order;
  order.table = booking.table;
  for (const kitchen::GuestNote& guest : booking.guests)
    if (!guest.allergies.empty()) order.guests.push_back({guest.position, guest.allergies});
  for (const CourseMix& mix : stage.mix) {
    line::CourseOrder course;
    course.course = mix.course;
    for (int position = 1; position <= booking.covers; ++position) {
      const std::string dish = dish_of(stage, mix, booking, position, guests, draws);
      if (dish.empty()) continue;
      line::Wanted wanted;
      wanted.position = position;
      wanted.dish = dish;
      const auto allergies = allergies_at(booking, position);
      if (!allergies.empty())
        wanted.left_off = kitchen::can_have(*stage.kitchen, *stage.kitchen->find_dish(dish), allergies).left_off;
      course.plates.push_back(std::move(wanted));
    }
    if (!course.plates.empty()) order.courses.push_back(std::move(course));
  }
  return order;
}

}  // namespace

std::vector<Visit> visits(const Stage& stage, const Guests& guests, const Draws& draws) {
  std::vector<Visit> out;
  for (const Booking& booking : stage.sheet.bookings) {
    Visit visit;
    visit.key = name_key(booking.id);
    const Instant booked = stage.midnight + booking.at + booking.late;
    const Duration late = from_seconds(in_seconds(guests.arrives.mean) +
                                       in_seconds(guests.arrives.sd) * draws.normal(Stream::arrival, {visit.key}));
    visit.arrives = booked + late;
    visit.orders = visit.arrives + around(guests.orders, draws.normal(Stream::ordering, {visit.key}), Duration::zero());
    visit.order = order_of(stage, booking, guests, draws);
    if (!visit.order.courses.empty()) out.push_back(std::move(visit));
  }
  std::stable_sort(out.begin(), out.end(), [](const Visit& a, const Visit& b) { return a.orders < b.orders; });
  return out;
}

Spell eating_spell(const kitchen::Kitchen& kitchen, const Guests& guests, const std::string& course, int nth) {
  const auto* named = kitchen.find_course(course);
  if (named != nullptr && named->eating) return {named->eating->mean, named->eating->sd};
  if (guests.eats.empty()) return {};
  return guests.eats[std::min(static_cast<std::size_t>(std::max(0, nth)), guests.eats.size() - 1)];
}

Duration eats(const Spell& spell, const Draws& draws, std::uint64_t party, int nth) {
  return around(spell, draws.normal(Stream::eating, {party, static_cast<std::uint64_t>(nth)}), spell.mean / 4);
}

}  // namespace nappe::rehearse
