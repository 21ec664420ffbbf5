#include "server/live_message.hpp"

#include <fmt/format.h>

#include <array>
#include <initializer_list>
#include <nlohmann/json.hpp>
#include <optional>

#include "common/wire/parse.hpp"

namespace nappe::server {

namespace {

using nlohmann::json;

constexpr std::size_t name_max = 80;

/// A reader of one message: keeps the first thing that is wrong.
class Members {
 public:
  explicit Members(const json& message) : message_(message) {}

  std::string text(const char* name, bool needed = true) {
    const json* found = find(name, needed);
    if (found == nullptr) return {};
    if (found->is_string() && found->get_ref<const std::string&>().size() <= name_max) return found->get<std::string>();
    wrong(name, fmt::format("must be a text of at most {} bytes", name_max));
    return {};
  }
  std::int64_t number(const char* name, bool needed) {
    const json* found = find(name, needed);
    if (found == nullptr) return 0;
    if (found->is_number_integer()) return found->get<std::int64_t>();
    wrong(name, "must be a whole number");
    return 0;
  }
  const json* find(const char* name, bool needed) {
    const auto found = message_.find(name);
    if (found != message_.end()) return &*found;
    if (needed) wrong(name, "is missing");
    return nullptr;
  }
  void only(std::initializer_list<std::string_view> names) {
    for (const auto& [name, value] : message_.items()) {
      bool known = name == "type";
      for (const auto allowed : names) known = known || allowed == name;
      if (!known) wrong(name, "is no member of this message");
    }
  }
  void wrong(std::string_view name, std::string_view what) {
    if (!error_) error_ = Error{Errc::invalid, fmt::format("\"{}\" {}", name, what), fmt::format("/{}", name)};
  }
  Result<LiveMessage> or_else(LiveMessage message) const {
    if (error_) return *error_;
    return message;
  }

 private:
  const json& message_;
  std::optional<Error> error_;
};

Result<LiveMessage> read_members(const json& message, const std::string& type) {
  Members members(message);
  if (type == "hello") {
    members.only({"device"});
    return members.or_else(Hello{members.text("device")});
  }
  if (type == "subscribe") {
    members.only({"screen", "epoch", "number"});
    Subscribe subscribe;
    subscribe.screen = members.text("screen");
    subscribe.epoch = members.text("epoch", false);
    subscribe.number = members.number("number", !subscribe.epoch.empty());
    return members.or_else(subscribe);
  }
  if (type == "unsubscribe") {
    members.only({"screen"});
    return members.or_else(Unsubscribe{members.text("screen")});
  }
  if (type == "clock") {
    members.only({"t1"});
    const json* t1 = members.find("t1", true);
    if (t1 != nullptr && !t1->is_number()) members.wrong("t1", "must be a number of milliseconds");
    return members.or_else(ClockAsked{t1 != nullptr ? t1->dump() : ""});
  }
  if (type == "command") {
    members.only({"command"});
    const json* command = members.find("command", true);
    CommandSent sent;
    if (command != nullptr) {
      sent.command = command->dump();
      if (command->is_object() && command->contains("id") && (*command)["id"].is_string()) sent.id = (*command)["id"];
    }
    return members.or_else(sent);
  }
  return Error{Errc::invalid,
               fmt::format("\"{}\" is no type of message; there are hello, subscribe, unsubscribe, clock, command",
                           type.substr(0, name_max)),
               "/type"};
}

}  // namespace

Result<LiveMessage> read_live_message(std::string_view text) {
  const auto parsed = wire::parse_json(text);
  if (!parsed) return parsed.error();
  const json& message = *parsed;
  if (!message.is_object()) return Error{Errc::invalid, "a message must be a JSON object"};
  const auto type = message.find("type");
  if (type == message.end() || !type->is_string()) {
    return Error{Errc::invalid, "a message needs a \"type\" that is a text", "/type"};
  }
  return read_members(message, type->get<std::string>());
}

}  // namespace nappe::server
