#pragma once
// Blank devices that ask to be let in. Each shows a word of four letters; somebody who may pair says which device that
// word is. No clock and no randomness of its own.

#include <chrono>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/result.hpp"
#include "server/rate.hpp"
#include "server/roles.hpp"

namespace nappe::server {

struct PairingLimits {
  std::size_t waiting_max = 20;
  std::size_t waiting_of_address_max = 6;  ///< So that one device gone mad leaves words for the others.
  std::chrono::minutes patience{10};       ///< A word nobody said anything about is forgotten.
  double asks_per_second = 0.5;            ///< All blank devices together.
  double asks_at_once = 20;
};

/// The words, in alphabetical order: four letters each, easily said across a kitchen.
const std::vector<std::string_view>& pairing_words();

class Pairing {
 public:
  using Clock = std::chrono::steady_clock;
  /// `draw(n)` is a random number below n; `secret()` a text nobody can guess.
  struct Chance {
    std::function<std::size_t(std::size_t)> draw;
    std::function<std::string()> secret;
  };
  explicit Pairing(Chance chance, PairingLimits limits = {});

  struct Asked {
    std::string word;    ///< Shown by the device.
    std::string secret;  ///< Kept by the device: with it, it comes back for its token.
  };
  /// A blank device asks; `from` is its address, shown to who answers. `too_many` when many ask, or it asked too often.
  Result<Asked> ask(const std::string& from, Clock::time_point now);

  /// The words that wait, with the address each came from.
  struct Waiting {
    std::string word;
    std::string from;
    std::chrono::seconds since{};
  };
  std::vector<Waiting> waiting(Clock::time_point now);
  /// Whether such a word waits.
  Status check(std::string_view word, Clock::time_point now);
  /// The word's device is known now: it may fetch this token.
  void answer(std::string_view word, DevicePtr device, std::string token);

  /// What the device with this secret finds. `unknown`: never asked, too long ago, or fetched already.
  struct Fetched {
    DevicePtr device;  ///< Null: nobody has answered yet.
    std::string token;
    std::string word;
  };
  Result<Fetched> fetch(std::string_view secret, Clock::time_point now);

 private:
  struct One {
    std::string secret;
    std::string from;
    Clock::time_point asked{};
    DevicePtr device;
    std::string token;
  };
  void forget(Clock::time_point now);

  Chance chance_;
  PairingLimits limits_;
  RateLimit asks_;
  std::map<std::string, One, std::less<>> by_word_;
};

}  // namespace nappe::server
