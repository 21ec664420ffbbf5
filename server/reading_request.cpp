#include "server/reading_request.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "common/wire/codec.hpp"
#include "common/wire/parse.hpp"
#include "server/journal.hpp"

namespace nappe::server {

Result<line::Command> read_reading(std::string_view body, const std::string& device, Instant now) {
  auto parsed = wire::parse_json(body);
  if (!parsed) return parsed.error();
  if (!parsed->is_object())
    return Error{Errc::invalid,
                 "a reading is an object: {\"probe\": \"blue\", \"place\": \"walk-in\", \"celsius\": 4.2}"};
  nlohmann::json reading = *parsed;
  nlohmann::json command = {{"by", device}, {"at_ms", to_ms(now)}};
  if (reading.contains("by")) command["by"] = reading["by"];
  if (reading.contains("id")) command["id"] = reading["id"];
  reading.erase("by");
  reading.erase("id");
  if (!command.contains("id"))
    command["id"] = "reading:" + digest_of(fmt::format("{} {}", to_ms(now), parsed->dump())).substr(0, 32);
  command["do"] = {{"take_reading", std::move(reading)}};
  auto read = wire::read_command(command.dump());
  if (read) {
    read->device = !parsed->contains("by");  // nobody is named: the probe reads by itself
    return read;
  }
  Error error = read.error();
  const std::string inside = "/do/take_reading";
  if (error.where.starts_with(inside)) error.where.erase(0, inside.size());
  return error;
}

}  // namespace nappe::server
