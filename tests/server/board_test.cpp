#include "server/board.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::server;
using nlohmann::json;

namespace {

/// A client as the protocol asks for one: takes frames in order, merges, checks the numbers.
struct Client {
  std::string epoch;
  std::int64_t number = 0;
  json document;

  void take(const Frame& frame) {
    const json message = json::parse(*frame);
    if (message["type"] == "document") {
      epoch = message["epoch"];
      number = message["number"];
      document = message["document"];
    } else {
      REQUIRE(message["type"] == "patch");
      REQUIRE(message["number"] == number + 1);
      number += 1;
      document.merge_patch(message["patch"]);
    }
  }
};

json count_document(int n) { return {{"n", n}, {"service", {{"open", true}}}}; }

}  // namespace

TEST_CASE("the first document goes out whole, later ones as patches") {
  Board board("e1", 8);
  const auto first = board.show("pass", count_document(1));
  REQUIRE(first);
  CHECK(json::parse(**first) == json::parse(R"({"type":"document","screen":"pass","epoch":"e1","number":1,
                                               "document":{"n":1,"service":{"open":true}}})"));
  const auto second = board.show("pass", count_document(2));
  REQUIRE(second);
  CHECK(json::parse(**second) == json::parse(R"({"type":"patch","screen":"pass","number":2,"patch":{"n":2}})"));
  CHECK(*board.show("pass", count_document(2)) == nullptr);
  CHECK(board.number("pass") == 2);
}

TEST_CASE("a document that is no object is refused and changes nothing") {
  Board board("e1", 8);
  REQUIRE(board.show("pass", {{"a", 1}}));
  CHECK_FALSE(board.show("pass", json::array({1})));
  CHECK_FALSE(board.show("pass", json(json::value_t::discarded)));
  CHECK(board.document("pass") == json{{"a", 1}});
}

TEST_CASE("who comes back gets what was missed, or the whole document when that is gone") {
  constexpr int kept = 4;
  Board board("e1", kept);
  for (int n = 1; n <= 10; ++n) REQUIRE(board.show("pass", count_document(n)));
  CHECK(board.catch_up("pass", "e1", 10).empty());
  CHECK(board.catch_up("pass", "e1", 9).size() == 1);
  CHECK(board.catch_up("pass", "e1", 6).size() == 4);
  const auto whole = [&](const std::string& epoch, std::int64_t number) {
    const auto frames = board.catch_up("pass", epoch, number);
    return frames.size() == 1 && json::parse(*frames.front())["type"] == "document";
  };
  CHECK(whole("e1", 5));   // one more than is kept
  CHECK(whole("e1", 11));  // a number that was never given
  CHECK(whole("e0", 9));   // another run of the server
  CHECK(whole("", 0));
}

TEST_CASE("the document frame is made once for everybody") {
  Board board("e1", 4);
  REQUIRE(board.show("pass", count_document(1)));
  CHECK(board.catch_up("pass", "", 0).front() == board.catch_up("pass", "", 0).front());
}

TEST_CASE("a client that comes and goes always ends with the present document") {
  for (std::uint64_t seed = 0; seed < 200; ++seed) {
    tests::Random random(seed);
    Board board("e1", 5);
    json document = json::object();
    Client client;
    bool connected = false;
    for (int turn = 0; turn < 60; ++turn) {
      document["k" + std::to_string(random.between(0, 4))] = random.between(0, 3);
      if (random.chance(0.2)) document.erase("k" + std::to_string(random.between(0, 4)));
      const auto frame = board.show("pass", document);
      REQUIRE(frame);
      if (connected && *frame) client.take(*frame);
      if (random.chance(0.15)) connected = false;
      if (!connected && random.chance(0.3)) {
        for (const Frame& missed : board.catch_up("pass", client.epoch, client.number)) client.take(missed);
        connected = true;
      }
      INFO("SEED=" << seed);
      if (connected) REQUIRE(client.document == document);
    }
  }
}
