#pragma once
// What the record's commands ask of the server.

#include <nlohmann/json.hpp>
#include <string>

#include "client/address.hpp"
#include "common/time.hpp"

namespace nappe::client {

/// What a kitchen without clocks of its own shows: the server's time and how far its clocks are from UTC.
struct KitchenTime {
  Instant now{};
  Duration offset{};
};
Result<KitchenTime> kitchen_time(const Address& server);

/// Sends one action; prints what the server says of it, or the refusal. 0 or 1.
int ask_action(const Address& server, const std::string& by, const char* action, nlohmann::json body);

/// GET as JSON, or as text; the refusal as an error.
Result<nlohmann::json> get_json(const Address& server, const std::string& path);
Result<std::string> get_text(const Address& server, const std::string& path);

/// Prints the sentence on standard error; 1.
int say_failed(const std::string& sentence);

}  // namespace nappe::client
