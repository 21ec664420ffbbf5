#pragma once
// The smallest kitchen there is: one station, one dish, one move. With guests that come at random it is the queue that
// queueing theory has formulas for.

#include <fmt/format.h>

#include <stdexcept>

#include "common/rehearse/draws.hpp"
#include "common/rehearse/night.hpp"
#include "common/rehearse/summary.hpp"

namespace nappe::tests {

/// `hands` people who plate something that usually takes `usual`.
inline kitchen::Kitchen one_station(int hands, Duration usual, double scatter) {
  kitchen::Kitchen house;
  house.name = "one station";
  house.rules = "none";
  house.settings.finish_allowance = Duration::zero();
  house.rooms.push_back({"room", "the room", Duration::zero()});
  house.tables.push_back({"1", "room", 2});
  house.courses.push_back({"plates", "plates", {}});
  kitchen::Station station;
  station.id = "stove";
  station.name = "Stove";
  for (int i = 1; i <= hands; ++i) station.people.push_back({fmt::format("cook{}", i), fmt::format("Cook {}", i), 1.0});
  house.stations.push_back(station);
  kitchen::Step step;
  step.id = "plate";
  step.kind = kitchen::StepKind::plate;
  step.word = "plate";
  step.takes = {usual, Duration::zero()};
  step.scatter = scatter;
  kitchen::Component component;
  component.id = "thing";
  component.name = "thing";
  component.station = "stove";
  component.keep = seconds(60);
  component.steps.push_back(step);
  house.components.push_back(component);
  kitchen::Dish dish;
  dish.id = "dish";
  dish.letter = "d";
  dish.name = "dish";
  dish.course = "plates";
  dish.parts.push_back({"thing", false, ""});
  house.dishes.push_back(dish);
  return house;
}

/// Guests who come one by one, on average every `gap`, the gaps exponential. Each eats one plate, ordered at once.
inline kitchen::BookingSheet at_random(int guests, Duration gap, std::uint64_t seed) {
  const rehearse::Draws draws(seed, 0);
  kitchen::BookingSheet sheet;
  Duration at{};
  for (int i = 0; i < guests; ++i) {
    at += from_seconds(in_seconds(gap) * draws.exponential(rehearse::Stream::growth, {static_cast<std::uint64_t>(i)}));
    kitchen::Booking booking;
    booking.id = fmt::format("g{}", i);
    booking.at = at;
    booking.table = "1";
    booking.covers = 1;
    sheet.bookings.push_back(booking);
  }
  return sheet;
}

/// First come, first served.
inline rehearse::Manner plain_manner() {
  rehearse::Manner manner;
  manner.rule = rehearse::Rule::at_fire;
  manner.order = rehearse::HandOrder::table_time;
  manner.guests.arrives = {};
  manner.guests.orders = {};
  return manner;
}

}  // namespace nappe::tests
