#pragma once
// A screen that stays: connection, clock, kept presses, keys and drawing tied together on one thread.

#include <string>

#include "client/address.hpp"
#include "common/result.hpp"

namespace nappe::client {

struct LiveOptions {
  Address server;
  std::string by;  ///< Who presses; empty: the device's name.
  bool colour = true;
};

/// Shows the hand list of a station until the person quits. An error in words when the terminal cannot show it;
/// `forbidden` when the server does not know this device (any more).
Status show_station(const std::string& station, const LiveOptions& options);
/// Shows the run-in.
Status show_pass(const LiveOptions& options);
/// Shows the floor: order entry. The house's card is asked for first.
Status show_floor(const LiveOptions& options);

}  // namespace nappe::client
