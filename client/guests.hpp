#pragma once
// The dining room of the demo night: who comes when, what they order, and what they tell the kitchen late. Pure.

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "client/draws.hpp"
#include "common/kitchen/bookings.hpp"
#include "common/kitchen/events.hpp"
#include "common/kitchen/kitchen.hpp"
#include "common/line/order.hpp"

namespace nappe::client {

/// A party on its way to a ticket.
struct Party {
  kitchen::Booking booking;
  Instant arrives{};
  Instant orders{};  ///< Once they sit.
};

/// The parties of a sheet in the order they come. `midnight`: of the service's day, kitchen time. Arrival scatters by
/// 5.5 min around 3 min after the booking, ordering by 3.3 min around 14 min after sitting down.
std::vector<Party> parties(const kitchen::BookingSheet& sheet, const kitchen::IncidentSheet& incidents,
                           Instant midnight, const Draws& draws);

/// The order of a party: known dishes from the sheet, the others drawn from the card. Guests of whom the kitchen hears
/// only later are left out. Dishes a guest must not have are replaced by what they can have.
line::Order order_of(const kitchen::Booking& booking, const kitchen::Kitchen& kitchen, const Draws& draws);

/// The order without a dish that is off: another of the course in its place, or nothing.
line::Order without(line::Order order, const std::string& dish, const kitchen::Kitchen& kitchen);

/// When the room is half full: a good moment to begin looking.
Instant busy_from(const std::vector<Party>& parties);

}  // namespace nappe::client
