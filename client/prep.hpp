#pragma once
// `nappe prep DIR`: how much of everything, by when and in what order, before the first ticket.

#include <functional>
#include <iosfwd>
#include <optional>
#include <string>
#include <vector>

#include "common/mise/live_stock.hpp"
#include "common/result.hpp"

namespace nappe::client {

/// What a running server knows of the fridge.
struct LiveRecord {
  std::vector<mise::LiveBatch> batches;
  Instant now{};
  Duration utc_offset{};
};

struct PrepOptions {
  std::string folder;                 ///< Of the house.
  std::vector<std::string> bookings;  ///< Sheets, added up; none: the folder's bookings.json.
  std::vector<std::string> against;   ///< Sheets it was worked out for before: only the difference is printed.
  std::optional<double> ratio;        ///< Instead of the house's.
  bool as_booked = false;             ///< Orders on the sheets are pre-orders.
  std::string page;                   ///< Where to write the page; empty: nowhere.
  std::string json;                   ///< Where to write the figures; empty: nowhere.
  std::vector<std::string> cross;     ///< Lines to cross out, by their number on the list.
  bool undo = false;                  ///< Take the last crossing back.
  std::string crossings;              ///< The file that keeps them; empty: the user's state folder.
  /// The server's record: what the fridge holds comes from its batches, not from the sheet. Empty: no server was named.
  std::function<Result<LiveRecord>()> live = {};
  int columns = 80;  ///< The list is folded to so many.
};

/// The items whose line check is crossed out on the list, for opening the service.
Result<std::vector<std::string>> checked_items(const PrepOptions& options);

/// The list to be crossed out on the terminal. Opens the screen and comes back when it is quit.
int prep_screen_command(const PrepOptions& options, bool colour, std::ostream& err);

/// Prints the list, or what changed in it. The process's exit code; faults are said on `err`.
int prep_command(const PrepOptions& options, std::ostream& out, std::ostream& err);

}  // namespace nappe::client
