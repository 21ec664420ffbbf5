#include "client/guests.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "common/kitchen/menu.hpp"
#include "common/line/ticket_line.hpp"

namespace nappe::client {
namespace {

// Invented for the demo: arrivals at the booking +3 min, sd 5.5; ordering 14 min after, sd 3.3.
constexpr Duration late_mean = minutes(3), late_sd = seconds(330);
constexpr Duration study_mean = minutes(14), study_sd = seconds(198);

std::vector<const kitchen::Dish*> card(const kitchen::Kitchen& kitchen, const std::string& course) {
  std::vector<const kitchen::Dish*> out;
  for (const kitchen::Dish& dish : kitchen.dishes) {
    if (dish.course == course) out.push_back(&dish);
  }
  return out;
}

// A guest may have the dish as it is or with changes; else the first they can have, else nothing.
std::string allowed(const kitchen::Kitchen& kitchen, const std::string& course, const std::string& dish,
                    const std::vector<std::string>& allergies) {
  const kitchen::Dish* wanted = kitchen.find_dish(dish);
  if (wanted == nullptr || allergies.empty()) return dish;
  if (kitchen::can_have(kitchen, *wanted, allergies).answer != kitchen::Answer::no) return dish;
  const auto others = kitchen::alternatives(kitchen, course, allergies);
  return others.empty() ? "" : others.front().dish->id;
}

std::vector<std::string> told_at_once(const kitchen::Booking& booking, int position) {
  for (const kitchen::GuestNote& guest : booking.guests) {
    if (guest.position == position && !guest.told) return guest.allergies;
  }
  return {};
}

}  // namespace

std::vector<Party> parties(const kitchen::BookingSheet& sheet, const kitchen::IncidentSheet& incidents,
                           Instant midnight, const Draws& draws) {
  std::vector<Party> out;
  for (const kitchen::Booking& booking : sheet.bookings) {
    Duration late = booking.late;
    bool comes = true;
    for (const kitchen::Incident& incident : incidents.incidents) {
      if (incident.booking != booking.id) continue;
      if (incident.kind == kitchen::IncidentKind::booking_cancelled) comes = false;
      if (incident.kind == kitchen::IncidentKind::arrives) late = std::max(late, incident.by);
    }
    if (!comes) continue;
    Party party{booking, {}, {}};
    // A party that says how late it will be comes then.
    const Duration scatter =
        late > Duration::zero() ? late : draws.around(booking.id + "comes", late_mean, late_sd, -minutes(8));
    party.arrives = midnight + booking.at + scatter;
    party.orders = party.arrives + draws.around(booking.id + "orders", study_mean, study_sd, minutes(5));
    out.push_back(std::move(party));
  }
  std::stable_sort(out.begin(), out.end(), [](const Party& a, const Party& b) { return a.arrives < b.arrives; });
  return out;
}

line::Order order_of(const kitchen::Booking& booking, const kitchen::Kitchen& kitchen, const Draws& draws) {
  line::Order order;
  order.table = booking.table;
  order.note = booking.note.substr(0, line::words_max);
  for (const kitchen::GuestNote& guest : booking.guests) {
    if (!guest.told && !guest.allergies.empty()) order.guests.push_back({guest.position, guest.allergies});
  }
  for (const kitchen::CourseName& name : kitchen.courses) {
    const auto dishes = card(kitchen, name.id);
    const auto known = booking.orders.find(name.id);
    line::CourseOrder course{name.id, {}};
    for (int position = 1; position <= booking.covers && !dishes.empty(); ++position) {
      std::string dish;
      if (known != booking.orders.end()) {
        const auto index = static_cast<std::size_t>(position - 1);
        if (index < known->second.size() && known->second[index]) dish = *known->second[index];
      } else {
        const double pick = draws.unit(fmt::format("{}{}{}", booking.id, name.id, position));
        dish = dishes[static_cast<std::size_t>(pick * static_cast<double>(dishes.size()))]->id;
      }
      if (!dish.empty()) dish = allowed(kitchen, name.id, dish, told_at_once(booking, position));
      if (!dish.empty()) course.plates.push_back({position, dish, {}, {}});
    }
    if (!course.plates.empty()) order.courses.push_back(std::move(course));
  }
  return line::leave_off_for_allergies(std::move(order), kitchen);
}

line::Order without(line::Order order, const std::string& dish, const kitchen::Kitchen& kitchen) {
  for (line::CourseOrder& course : order.courses) {
    for (line::Wanted& plate : course.plates) {
      if (plate.dish != dish) continue;
      std::vector<std::string> allergies;
      for (const line::Guest& guest : order.guests) {
        if (guest.position == plate.position) allergies = guest.allergies;
      }
      plate.dish.clear();
      plate.left_off.clear();
      for (const auto& other : kitchen::alternatives(kitchen, course.course, allergies)) {
        if (plate.dish.empty() && other.dish->id != dish) plate.dish = other.dish->id;
      }
    }
    std::erase_if(course.plates, [](const line::Wanted& plate) { return plate.dish.empty(); });
  }
  std::erase_if(order.courses, [](const line::CourseOrder& course) { return course.plates.empty(); });
  return line::leave_off_for_allergies(std::move(order), kitchen);
}

Instant busy_from(const std::vector<Party>& parties) {
  int all = 0;
  for (const Party& party : parties) all += party.booking.covers;
  int seated = 0;
  for (const Party& party : parties) {
    seated += party.booking.covers;
    if (seated * 2 >= all) return party.orders + minutes(8);
  }
  return parties.empty() ? Instant{} : parties.front().arrives;
}

}  // namespace nappe::client
