#include "server/roles.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "common/wire/codec.hpp"

using namespace nappe;
using namespace nappe::server;

namespace {

bool has(Role role, const std::string& command) {
  const auto all = commands_of(role);
  return std::find(all.begin(), all.end(), command) != all.end();
}

}  // namespace

TEST_CASE("every command of the line is some role's beside the manager's: none was forgotten in the table") {
  const auto everything = commands_of(Role::manager);
  CHECK(everything == wire::action_names());
  for (const std::string& command : everything) {
    INFO(command << " has no line in server/roles.cpp");
    CHECK((has(Role::station, command) || has(Role::pass, command) || has(Role::floor, command) ||
           has(Role::probe, command)));
  }
}

TEST_CASE("the floor sends tickets and fires, and does not say what has left the pass") {
  CHECK(has(Role::floor, "send_ticket"));
  CHECK(has(Role::floor, "tell_allergy"));
  CHECK(has(Role::floor, "fire"));
  CHECK_FALSE(has(Role::floor, "gone"));
  CHECK_FALSE(has(Role::floor, "clear_plate"));
  CHECK_FALSE(has(Role::station, "clear_plate"));
  CHECK_FALSE(has(Role::probe, "send_ticket"));
}

TEST_CASE("a revoked device may ask nothing, whatever its role") {
  Device device;
  device.role = Role::manager;
  CHECK(may_ask(device, line::SetLeft{"emmer", 3}, {}));
  device.revoked = true;
  const Status may = may_ask(device, line::SetLeft{"emmer", 3}, {});
  REQUIRE_FALSE(may);
  CHECK(may.error().code == Errc::forbidden);
  CHECK(may.error().detail == "this device's pairing has been ended: pair it again");
}

TEST_CASE("a station asks about its own pans, people and alerts only") {
  line::State state;
  line::Pan pan;
  pan.id = line::PanId{7};
  pan.station = "garnish";
  state.pans.emplace(pan.id, pan);
  line::Alert alert;
  alert.id = line::AlertId{2};
  alert.station = "sauce";
  state.alerts.emplace(alert.id, alert);
  Device device;
  device.name = "garnish 2";
  device.station = "garnish";
  CHECK(may_ask(device, line::OneMore{line::PanId{7}}, state));
  CHECK(may_ask(device, line::SetHands{"garnish", "Ines", true}, state));
  CHECK_FALSE(may_ask(device, line::Acknowledge{line::AlertId{2}}, state));
  CHECK_FALSE(may_ask(device, line::Undo{"sauce"}, state));
  device.station = "fish";
  device.name = "fish";
  const Status may = may_ask(device, line::ItsThere{line::PanId{7}}, state);
  REQUIRE_FALSE(may);
  CHECK(may.error().detail == "fish is a screen of the station fish: this pan belongs to garnish");
  // What is not there is the line's to refuse, in its own words.
  CHECK(may_ask(device, line::OneMore{line::PanId{99}}, state));
}

TEST_CASE("names of roles, there and back") {
  for (const char* name : {"station", "pass", "floor", "probe", "manager"}) {
    const auto role = role_named(name);
    REQUIRE(role);
    CHECK(role_name(*role) == name);
  }
  CHECK_FALSE(role_named("cook"));
  CHECK_FALSE(role_named(""));
}
