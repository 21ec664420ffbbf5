#pragma once
// `nappe rehearse DIR`: plays many nights of a house in advance and says whether the line can carry them.

#include <cstdint>
#include <functional>
#include <iosfwd>
#include <optional>
#include <string>
#include <vector>

#include "common/rehearse/manner.hpp"
#include "common/rehearse/result.hpp"
#include "common/rehearse/stage.hpp"

namespace nappe::client {

struct RehearseOptions {
  std::string folder;                 ///< Of the house.
  std::vector<std::string> bookings;  ///< Sheets, added up; none: the folder's bookings.json.
  std::optional<int> covers;          ///< Parties are added or taken away to come to this; nothing: as booked.
  int nights = 300;
  std::vector<std::string> without;  ///< Dishes that are off, by id or name.
  std::vector<std::string> hands;    ///< "garnish=2"
  std::string seed = "1";            ///< As typed.
  std::string plan = "planner";
  int plays = 60;  ///< Plays of a plan for each word; 0: by the sum of variances.
  int tries = 10;   ///< The planner's tries at a better plan after each event; the live service makes more.
  std::optional<double> prompt;
  double bias = 1;
  double scatter = 1;
  bool as_booked = false;  ///< Orders on the sheet are taken as known.
  int helped = 60;         ///< Nights for each change that might have helped; 0: none.
  bool curve = false;      ///< The same nights under five settings of fresh ... prompt, and each table alone.
  int threads = 0;         ///< 0: one for each core.
  std::string json;        ///< Where to write the figures; empty: nowhere.
  std::string page;        ///< Where to write the page; empty: nowhere.
  bool quiet = false;      ///< No progress bar.
};

/// The nights 0 ... nights-1 in their order, whatever the number of threads. `progress` is told after each night, by
/// one thread at a time.
std::vector<rehearse::NightResult> play_nights(const rehearse::Stage& stage, const rehearse::Manner& manner,
                                               std::uint64_t seed, int nights, int threads,
                                               const std::function<void()>& progress = {});

/// Rehearses; answers in sentences on `out`, progress and faults on `err`. The process's exit code.
int rehearse_command(const RehearseOptions& options, std::ostream& out, std::ostream& err);

}  // namespace nappe::client
