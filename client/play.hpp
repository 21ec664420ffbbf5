#pragma once
// `nappe play`: a whole night played through the public interface of a running server (started with --demo).

#include <cstdint>
#include <optional>
#include <string>

#include "client/address.hpp"

namespace nappe::client {

struct PlayOptions {
  Address server;
  std::string folder;    ///< Of the house: bookings.json and events.json are read there.
  std::string bookings;  ///< Another sheet of bookings; empty: the folder's own.
  double speed = 30;     ///< Kitchen seconds per second, once the fast part is over.
  std::string from;      ///< "19:55": play fast up to here; empty: until the room is half full.
  std::uint64_t seed = 1;
};

/// Plays the night; prints one line per event of interest and a sum at the end. The process's exit code.
int run_play(const PlayOptions& options);

}  // namespace nappe::client
