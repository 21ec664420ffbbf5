#pragma once
// What the record's commands ask of the server.

#include <nlohmann/json.hpp>
#include <string>

#include "client/address.hpp"
#include "client/prep.hpp"
#include "common/time.hpp"

namespace nappe::client {

/// What a kitchen without clocks of its own shows: the server's time and how far its clocks are from UTC.
struct KitchenTime {
  Instant now{};
  Duration offset{};
};
Result<KitchenTime> kitchen_time(const Address& server);

/// Who answers for it; `stranger`: known not to be of the house.
struct Who {
  std::string name;
  bool stranger = false;
};

/// Sends one action; prints what the server says of it, or the refusal. 0 or 1.
int ask_action(const Address& server, const Who& by, const char* action, nlohmann::json body);

/// The batches of the record with the kitchen's time: what the fridge holds for `nappe prep`.
Result<LiveRecord> live_record(const Address& server);

/// GET as JSON, or as text; the refusal as an error.
Result<nlohmann::json> get_json(const Address& server, const std::string& path);
Result<std::string> get_text(const Address& server, const std::string& path);

/// Prints the sentence on standard error; 1.
int say_failed(const std::string& sentence);

}  // namespace nappe::client
