#include "server/hub.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "server/metrics.hpp"

using namespace nappe;
using namespace nappe::server;
using nlohmann::json;

namespace {

struct Device final : Subscriber {
  std::vector<json> got;
  void push(Frame frame) override { got.push_back(json::parse(*frame)); }
  [[nodiscard]] std::vector<std::string> types() const {
    std::vector<std::string> types;
    for (const json& message : got) types.push_back(message["type"]);
    return types;
  }
};

using Types = std::vector<std::string>;

struct Kitchen {
  Metrics metrics;
  Board board{"e1", 8};
  Hub hub{board, metrics};
  Kitchen() {
    REQUIRE(hub.show("pass", {{"n", 1}}));
    REQUIRE(hub.show("station:garnish", {{"n", 1}}));
  }
};

}  // namespace

TEST_CASE("a subscriber gets the document, then every change of that screen and of no other") {
  Kitchen kitchen;
  Device pass;
  Device garnish;
  REQUIRE(kitchen.hub.subscribe(pass, "pass", "", 0));
  REQUIRE(kitchen.hub.subscribe(garnish, "station:garnish", "", 0));
  CHECK(kitchen.hub.show("pass", {{"n", 2}}).value());
  CHECK_FALSE(kitchen.hub.show("pass", {{"n", 2}}).value());
  CHECK(pass.types() == Types{"document", "patch"});
  CHECK(garnish.types() == Types{"document"});
}

TEST_CASE("who leaves hears nothing more, on any screen") {
  Kitchen kitchen;
  Device device;
  kitchen.hub.join(device);
  REQUIRE(kitchen.hub.subscribe(device, "pass", "e1", 1));
  REQUIRE(kitchen.hub.subscribe(device, "station:garnish", "e1", 1));
  kitchen.hub.unsubscribe(device, "pass");
  REQUIRE(kitchen.hub.show("pass", {{"n", 2}}));
  CHECK(device.got.empty());
  REQUIRE(kitchen.hub.show("station:garnish", {{"n", 2}}));
  CHECK(device.types() == Types{"patch"});
  kitchen.hub.leave(device);
  REQUIRE(kitchen.hub.show("station:garnish", {{"n", 3}}));
  kitchen.hub.tell_all(std::make_shared<const std::string>(R"({"type":"welcome"})"));
  CHECK(device.got.size() == 1);
}

TEST_CASE("a screen that is not there is refused with those that are, but waited for before the first opening") {
  Kitchen kitchen;
  Device device;
  const auto refused = kitchen.hub.subscribe(device, "station:nowhere", "", 0);
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == Errc::unknown);
  CHECK(refused.error().detail.find("pass, station:garnish") != std::string::npos);

  Metrics metrics;
  Board board("e2", 8);
  Hub early(board, metrics);
  REQUIRE(early.show("pass", {{"n", 1}}));
  REQUIRE(early.subscribe(device, "station:garnish", "", 0));
  CHECK_FALSE(early.subscribe(device, "nonsense", "", 0));
  CHECK(device.got.empty());
  REQUIRE(early.show("station:garnish", {{"n", 1}}));
  CHECK(device.types() == Types{"document"});
}

TEST_CASE("who watches a station that a new kitchen does not have is told") {
  Kitchen kitchen;
  Device device;
  REQUIRE(kitchen.hub.subscribe(device, "station:garnish", "e1", 1));
  kitchen.hub.keep_only({"pass"});
  CHECK(device.types() == Types{"error"});
  CHECK(device.got.front()["problem"]["code"] == "unknown");
  CHECK_FALSE(kitchen.board.has("station:garnish"));
  CHECK(kitchen.board.has("pass"));
}
