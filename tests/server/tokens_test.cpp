#include "server/tokens.hpp"

#include <catch2/catch.hpp>
#include <fstream>
#include <set>

#include "tests/server/temporary_folder.hpp"

using namespace nappe;
using namespace nappe::server;
using nappe::tests::TemporaryFolder;

namespace {

Device station(const std::string& id, const std::string& name = {}) {
  Device device;
  device.role = Role::station;
  device.station = id;
  device.name = name;
  device.by = "pass";
  device.paired = from_ms(1764966220000);
  return device;
}

}  // namespace

TEST_CASE("a token is 256 bits as 43 letters of base64url, never twice the same") {
  std::set<std::string> seen;
  for (int n = 0; n < 1000; ++n) {
    const std::string token = new_token();
    CHECK(token.size() == 43);
    CHECK(token.find_first_not_of("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_") ==
          std::string::npos);
    seen.insert(token);
  }
  CHECK(seen.size() == 1000);
}

TEST_CASE("devices outlive the book; what was revoked does not come back") {
  const TemporaryFolder folder;
  const std::string path = folder.file("devices.db");
  std::string token, ended;
  {
    auto book = TokenBook::open(path);
    REQUIRE(book);
    auto one = (*book)->add(station("garnish"));
    auto two = (*book)->add(station("garnish"));
    REQUIRE((one && two));
    CHECK(one->device->name == "garnish");
    CHECK(two->device->name == "garnish 2");
    token = one->token;
    ended = two->token;
    const DevicePtr held = (*book)->find(ended);
    REQUIRE((*book)->revoke("garnish 2", from_ms(1764966221000)));
    CHECK(held->revoked);
    CHECK((*book)->find(ended) == nullptr);
  }
  auto book = TokenBook::open(path);
  REQUIRE(book);
  const DevicePtr again = (*book)->find(token);
  REQUIRE(again);
  CHECK(again->name == "garnish");
  CHECK(again->role == Role::station);
  CHECK(again->station == "garnish");
  CHECK(again->by == "pass");
  CHECK(again->paired == from_ms(1764966220000));
  CHECK((*book)->find(ended) == nullptr);
  CHECK((*book)->find("") == nullptr);
  CHECK((*book)->list().size() == 1);
  CHECK_FALSE((*book)->revoke("garnish 2", from_ms(1764966222000)));
  // The name of one that was ended may be used again.
  CHECK((*book)->add(station("garnish", "garnish 2")));
  const auto taken = (*book)->add(station("fish", "garnish 2"));
  REQUIRE_FALSE(taken);
  CHECK(taken.error().code == Errc::conflict);
}

TEST_CASE("there are so many devices and no more") {
  const TemporaryFolder folder;
  auto book = TokenBook::open(folder.file("devices.db"));
  REQUIRE(book);
  for (std::size_t n = 0; n < devices_max; ++n) REQUIRE((*book)->add(station("fish")));
  const auto more = (*book)->add(station("fish"));
  REQUIRE_FALSE(more);
  CHECK(more.error().code == Errc::too_many);
}

TEST_CASE("a file that is no book of devices is refused in one sentence") {
  const TemporaryFolder folder;
  const std::string path = folder.file("devices.db");
  std::ofstream(path) << "this is no database, and long enough for SQLite to see that it is none: "
                      << std::string(600, 'x');
  const auto book = TokenBook::open(path);
  REQUIRE_FALSE(book);
  CHECK(book.error().detail.find(path) != std::string::npos);
  CHECK_FALSE(TokenBook::open(folder.file("nowhere/devices.db")));
}
