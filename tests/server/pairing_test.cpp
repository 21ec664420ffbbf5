#include "server/pairing.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <set>

using namespace nappe;
using namespace nappe::server;
using namespace std::chrono_literals;

namespace {

// Always the same draw: words must differ all the same.
Pairing pairing(std::size_t draw, PairingLimits limits = {}) {
  auto made = std::make_shared<int>(0);
  return Pairing({[draw](std::size_t below) { return std::min(draw, below - 1); },
                  [made] { return "secret " + std::to_string(++*made); }},
                 limits);
}

const Pairing::Clock::time_point start{1h};

DevicePtr garnish() {
  auto device = std::make_shared<Device>();
  device->name = "garnish";
  return device;
}

}  // namespace

TEST_CASE("the words have four plain letters each, once, in order; and far more of them than may wait") {
  const auto& words = pairing_words();
  CHECK(std::is_sorted(words.begin(), words.end()));
  CHECK(std::set<std::string_view>(words.begin(), words.end()).size() == words.size());
  CHECK(words.size() > 5 * PairingLimits{}.waiting_max);
  for (const auto word : words) {
    INFO(word);
    CHECK(word.size() == 4);
    CHECK(std::all_of(word.begin(), word.end(), [](char c) { return c >= 'a' && c <= 'z'; }));
  }
}

TEST_CASE("devices that ask at once show different words, even when chance wants the same one") {
  const std::size_t last = pairing_words().size() - 1;
  Pairing door = pairing(last);
  std::set<std::string> words;
  for (int n = 0; n < 20; ++n) {
    const auto asked = door.ask("10.0.0." + std::to_string(n), start);
    REQUIRE(asked);
    words.insert(asked->word);
  }
  CHECK(words.size() == 20);
  const auto more = door.ask("10.0.0.99", start);
  REQUIRE_FALSE(more);
  CHECK(more.error().code == Errc::too_many);
}

TEST_CASE("a word that nobody answers is forgotten after ten minutes") {
  Pairing door = pairing(3);
  const auto asked = door.ask("10.0.0.9", start);
  REQUIRE(asked);
  CHECK(door.check(asked->word, start + 10min));
  CHECK(door.waiting(start + 10min).size() == 1);
  CHECK_FALSE(door.check(asked->word, start + 10min + 1s));
  CHECK(door.waiting(start + 10min + 1s).empty());
  CHECK_FALSE(door.fetch(asked->secret, start + 10min + 1s));
}

TEST_CASE("only the device that asked fetches the token, and once") {
  Pairing door = pairing(3);
  const auto asked = door.ask("10.0.0.9", start);
  const auto other = door.ask("10.0.0.8", start);
  REQUIRE((asked && other));
  door.answer(asked->word, garnish(), "the token");
  CHECK(door.waiting(start).size() == 1);
  CHECK_FALSE(door.check(asked->word, start));  // answered: it cannot be given a second meaning
  const auto waits = door.fetch(other->secret, start);
  REQUIRE(waits);
  CHECK(waits->device == nullptr);
  CHECK(waits->token.empty());
  const auto fetched = door.fetch(asked->secret, start);
  REQUIRE(fetched);
  CHECK(fetched->device->name == "garnish");
  CHECK(fetched->token == "the token");
  CHECK_FALSE(door.fetch(asked->secret, start));
  CHECK_FALSE(door.fetch("", start));
  CHECK_FALSE(door.fetch(asked->word, start));
}

TEST_CASE("one address may have six words waiting: it takes none from the others") {
  Pairing door = pairing(7);
  std::string first;
  for (int n = 0; n < 6; ++n) {
    const auto asked = door.ask("10.0.0.9", start);
    REQUIRE(asked);
    if (first.empty()) first = asked->word;
  }
  const auto seventh = door.ask("10.0.0.9", start);
  REQUIRE_FALSE(seventh);
  CHECK(seventh.error().code == Errc::too_many);
  CHECK(seventh.error().detail.find("6 words from this address wait") != std::string::npos);
  CHECK(door.ask("10.0.0.8", start));
  // One of them is let in: its word waits no longer.
  door.answer(first, garnish(), "token");
  CHECK(door.ask("10.0.0.9", start));
}
