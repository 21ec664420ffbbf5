#pragma once
// The small commands: ask, print the answer, leave.

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "client/address.hpp"
#include "common/kitchen/bookings.hpp"

namespace nappe::client {

/// Each returns the process's exit code: 0 done, 1 refused or no answer. The sentence goes to stdout when done, to
/// stderr when not.
int run_ticket(const Address& server, const std::string& line, const std::string& key, bool sure);
int run_fire(const Address& server, const std::string& table, const std::string& course, bool sure,
             const std::string& by);
int run_gone(const Address& server, const std::string& table, const std::string& course, const std::vector<int>& but,
             bool sure, const std::string& by);
int run_hands(const Address& server, const std::string& station, const std::string& person, bool present,
              const std::string& by);
/// `checked`: items of the line check that are done; nothing if no list was named. `sure`: open all the same.
int run_open(const Address& server, const std::string& name, const std::optional<std::vector<std::string>>& checked,
             bool sure, const std::string& by);
/// Tells the line which tables are booked tonight: the sheets at these paths, added up.
int run_bookings(const Address& server, const std::vector<std::string>& paths, const std::string& by);
int run_close(const Address& server, bool sure);
int run_status(const Address& server);

/// The body of `take_bookings` for a sheet whose hours count from this midnight.
nlohmann::json bookings_json(const kitchen::BookingSheet& sheet, Instant midnight);

/// A random id of a command, different every time.
std::string fresh_id();

}  // namespace nappe::client
