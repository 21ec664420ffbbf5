#include "server/roles.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "common/wire/codec.hpp"

namespace nappe::server {

namespace {

struct RoleName {
  Role role;
  std::string_view name;
};
constexpr std::array<RoleName, 5> role_names = {{{Role::station, "station"},
                                                 {Role::pass, "pass"},
                                                 {Role::floor, "floor"},
                                                 {Role::probe, "probe"},
                                                 {Role::manager, "manager"}}};

/// Which roles beside the manager may ask a command. s: station, p: pass, f: floor, r: probe.
struct Right {
  std::string_view command;
  std::string_view roles;
};

// One line for each command of common/line/command.hpp; a test holds that none is missing. A command without a line is
// the manager's alone.
constexpr Right rights[] = {
    {"open_service", "p"},
    {"close_service", "p"},
    {"set_hands", "sp"},
    {"set_left", "spf"},
    {"send_ticket", "pf"},
    {"change_plate", "pf"},
    {"tell_allergy", "pf"},
    {"cancel_ticket", "pf"},
    {"fire", "pf"},
    {"hold", "pf"},
    {"release", "pf"},
    {"move_meet", "p"},
    {"gone", "p"},
    {"bring_back", "p"},
    {"refire", "p"},
    {"clear_plate", "p"},
    {"start_step", "sp"},
    {"finish_step", "sp"},
    {"one_more", "sp"},
    {"its_there", "sp"},
    {"plate_portion", "sp"},
    {"undo", "sp"},
    {"join_pans", "sp"},
    {"acknowledge", "sp"},
    {"shelve", "sp"},
    // Tables and guests.
    {"change_ticket", "pf"},
    {"move_positions", "pf"},
    {"move_table", "pf"},
    {"split_table", "pf"},
    {"merge_tables", "pf"},
    {"speech", "pf"},
    {"table_up", "pf"},
    {"table_back", "pf"},
    {"pace", "pf"},
    {"guess_clear", "pf"},
    {"take_bookings", "pf"},
    {"borrow", "p"},
    // Batches and the record.
    {"make_batch", "sp"},
    {"split_batch", "sp"},
    {"mix_batches", "sp"},
    {"move_batch", "sp"},
    {"open_batch", "sp"},
    {"label_batch", "sp"},
    {"count_batch", "sp"},
    {"start_chill", "sp"},
    {"take_reading", "spr"},
    {"reheat_batch", "sp"},
    {"throw_batch", "sp"},
    {"keep_batch", "sp"},
    {"note_batch", "sp"},
    {"correct_reading", "sp"},
    {"check_probe", "spr"},
    {"write_handover", "sp"},
    {"answer_handover", "sp"},
    {"recook_batch", "sp"},
    {"tell_power", "sp"},
};

char letter_of(Role role) {
  switch (role) {
    case Role::station:
      return 's';
    case Role::pass:
      return 'p';
    case Role::floor:
      return 'f';
    case Role::probe:
      return 'r';
    case Role::manager:
      return 'm';
  }
  return ' ';
}

std::string_view roles_of(std::string_view command) {
  for (const Right& right : rights) {
    if (right.command == command) return right.roles;
  }
  return {};
}

bool may_ask_at_all(Role role, std::string_view command) {
  return role == Role::manager || roles_of(command).find(letter_of(role)) != std::string_view::npos;
}

std::string who_may(std::string_view command) {
  std::string who;
  for (const RoleName& known : role_names) {
    if (!may_ask_at_all(known.role, command)) continue;
    who += (who.empty() ? "" : ", ") + std::string(known.name);
  }
  return who;
}

Error not_its_own(const Device& device, std::string_view what, std::string_view whose) {
  return {Errc::forbidden, fmt::format("{} is a screen of the station {}: {} {}", device.name, device.station, what,
                                       whose.empty() ? "is not its own" : fmt::format("belongs to {}", whose))};
}

/// What a station's command is about must be that station's.
struct OwnStation {
  const Device& device;
  const line::State& state;

  [[nodiscard]] Status pan(line::PanId id) const {
    const line::Pan* pan = state.find_pan(id);
    // A pan that is not there (any more) is the line's to refuse, with its own sentence.
    if (pan == nullptr || pan->station == device.station) return Done{};
    return not_its_own(device, "this pan", pan->station);
  }
  [[nodiscard]] Status station(const std::string& id) const {
    if (id == device.station) return Done{};
    return not_its_own(device, "this", id);
  }
  [[nodiscard]] Status alert(line::AlertId id) const {
    const auto found = state.alerts.find(id);
    if (found == state.alerts.end() || found->second.station == device.station) return Done{};
    return not_its_own(device, "this alert", found->second.station.empty() ? "the pass" : found->second.station);
  }

  Status operator()(const line::SetHands& action) const { return station(action.station); }
  Status operator()(const line::Undo& action) const { return station(action.station); }
  Status operator()(const line::StartStep& action) const { return pan(action.pan); }
  Status operator()(const line::FinishStep& action) const { return pan(action.pan); }
  Status operator()(const line::OneMore& action) const { return pan(action.pan); }
  Status operator()(const line::ItsThere& action) const { return pan(action.pan); }
  Status operator()(const line::PlatePortion& action) const { return pan(action.pan); }
  Status operator()(const line::JoinPans& action) const {
    const Status from = pan(action.from);
    return from ? pan(action.into) : from;
  }
  Status operator()(const line::Acknowledge& action) const { return alert(action.alert); }
  Status operator()(const line::Shelve& action) const { return alert(action.alert); }
  template <class Other>
  Status operator()(const Other&) const {
    return Done{};
  }
};

Error role_cannot(const Device& device, std::string_view what, std::string_view who) {
  return {Errc::forbidden, fmt::format("{} may not {}: that is for {}", device_text(device), what, who)};
}

}  // namespace

std::optional<Role> role_named(std::string_view name) {
  for (const RoleName& known : role_names) {
    if (known.name == name) return known.role;
  }
  return std::nullopt;
}

std::string_view role_name(Role role) {
  for (const RoleName& known : role_names) {
    if (known.role == role) return known.name;
  }
  return "";
}

std::string device_text(const Device& device) {
  const std::string role =
      device.role == Role::station ? "station " + device.station : std::string(role_name(device.role));
  return device.name == role ? device.name : fmt::format("{} ({})", device.name, role);
}

std::vector<std::string> commands_of(Role role) {
  std::vector<std::string> commands;
  for (const std::string& name : wire::action_names()) {
    if (may_ask_at_all(role, name)) commands.push_back(name);
  }
  return commands;
}

Status may_ask(const Device& device, const line::Action& action, const line::State& state) {
  if (device.revoked) return Error{Errc::forbidden, "this device's pairing has been ended: pair it again"};
  const std::string command = wire::action_name(action);
  if (!may_ask_at_all(device.role, command)) {
    return role_cannot(device, fmt::format("ask \"{}\"", command), who_may(command));
  }
  if (device.role != Role::station) return Done{};
  return std::visit(OwnStation{device, state}, action);
}

Status may_read(const Device& device, std::string_view path) {
  if (device.role == Role::manager || device.role == Role::pass) return Done{};
  if (path == "/clock" || path == "/me" || path == "/kitchen") return Done{};
  if (device.role == Role::probe) return role_cannot(device, "read this", "the screens");
  const bool record = path == "/events" || path.starts_with("/record") || path == "/metrics" || path == "/devices";
  if (record) return role_cannot(device, "read the record", "pass, manager");
  return Done{};
}

Status may_watch(const Device& device, std::string_view screen) {
  if (device.role != Role::probe) return Done{};
  return role_cannot(device, fmt::format("watch \"{}\"", screen), "the screens");
}

Status may_pair(const Device& device, std::optional<Role> role) {
  if (device.role == Role::manager) return Done{};
  if (device.role != Role::pass) return role_cannot(device, "pair devices or end a pairing", "pass, manager");
  if (role == Role::manager) return role_cannot(device, "make a manager", "manager");
  return Done{};
}

}  // namespace nappe::server
