#pragma once
// Who may do what. Every device has one role; what a role may ask stands in one table in roles.cpp, and whatever is not
// in it is refused in words.

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/line/command.hpp"
#include "common/line/state.hpp"
#include "common/result.hpp"
#include "common/time.hpp"

namespace nappe::server {

enum class Role {
  station,  ///< One station's screen: its own pans, its own people, its own alerts.
  pass,     ///< The pass: runs the service, pairs devices.
  floor,    ///< Tickets, allergies, tables, "fire", "how long".
  probe,    ///< A thermometer: hands in readings and nothing else.
  manager   ///< Everything.
};

/// "station", "pass", ...; nothing for a word that is no role.
std::optional<Role> role_named(std::string_view name);
std::string_view role_name(Role role);

/// A paired device. `revoked` is set while others may still hold it: whoever acts in its name looks there first.
struct Device {
  std::string name;
  Role role = Role::station;
  std::string station;  ///< Of the role station; else empty.
  Instant paired{};     ///< Wall time.
  std::string by;       ///< The device that said what this one is.
  bool revoked = false;
};
using DevicePtr = std::shared_ptr<const Device>;

/// The device in words: "garnish 2 (station garnish)".
std::string device_text(const Device& device);

/// The wire names of the commands a role may ask, in the order of line::Action.
std::vector<std::string> commands_of(Role role);

/// Whether this device may ask this: `forbidden` with a sentence that says who may. What a station asks about must be
/// its own. Looks only at what a pan or an alert belongs to, which never changes.
Status may_ask(const Device& device, const line::Action& action, const line::State& state);

/// Whether this device may read what stands at this path of the HTTP interface.
Status may_read(const Device& device, std::string_view path);
/// Whether it may watch this screen.
Status may_watch(const Device& device, std::string_view screen);
/// Whether it may say what another device is (`role`: what that one is to become), or end its pairing.
Status may_pair(const Device& device, std::optional<Role> role);

}  // namespace nappe::server
