#include "server/pairing.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace nappe::server {

namespace {

/// A word as somebody types it.
std::string lower(std::string_view word) {
  std::string low(word);
  std::transform(low.begin(), low.end(), low.begin(),
                 [](unsigned char c) { return static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c); });
  return low;
}

}  // namespace

const std::vector<std::string_view>& pairing_words() {
  static const std::vector<std::string_view> words = {
      "acid", "aloe", "bake", "balm", "bark", "bass", "bean", "beef", "beer", "beet", "bird", "boar", "boil", "bone",
      "bowl", "bran", "brew", "brie", "brim", "bulb", "cake", "calf", "cane", "cape", "carp", "chef", "chip", "chop",
      "clam", "club", "coal", "coat", "cook", "cord", "core", "cork", "corn", "crab", "cube", "curd", "cure", "dill",
      "dish", "dram", "drum", "duck", "dune", "fair", "farm", "fern", "feta", "fish", "flan", "flax", "foam", "fold",
      "food", "fork", "fowl", "fuel", "game", "gill", "glow", "goat", "gold", "gulp", "hake", "hare", "harp", "haze",
      "herb", "hive", "hock", "hops", "husk", "iron", "jade", "jugs", "kale", "keen", "kelp", "kiln", "kiwi", "knob",
      "lamb", "lard", "lark", "lava", "leaf", "leek", "lime", "ling", "loaf", "loam", "loin", "lump", "lush", "malt",
      "marl", "mash", "mead", "meal", "meat", "melt", "menu", "mild", "milk", "mill", "mint", "moss", "mule", "navy",
      "nest", "nuts", "oats", "okra", "opal", "oven", "pail", "palm", "peas", "peel", "pine", "plug", "plum", "pork",
      "port", "puff", "pulp", "rack", "raft", "rail", "reed", "reef", "rice", "rind", "ripe", "rock", "roes", "root",
      "rope", "rose", "ruby", "rump", "rusk", "sage", "sail", "salt", "sand", "seed", "shad", "sift", "silk", "skim",
      "sloe", "snow", "soak", "sole", "soup", "spit", "stew", "stir", "swan", "tarn", "tart", "teal", "thaw", "tide",
      "toss", "tray", "trim", "tuna", "veal", "vine", "warm", "whey", "whip", "wild", "wine", "wing", "wood", "wool",
      "wren", "yard", "yarn", "yolk", "zest", "zinc"};
  return words;
}

Pairing::Pairing(Chance chance, PairingLimits limits)
    : chance_(std::move(chance)), limits_(limits), asks_(limits.asks_per_second, limits.asks_at_once) {}

void Pairing::forget(Clock::time_point now) {
  std::erase_if(by_word_, [&](const auto& one) { return now - one.second.asked > limits_.patience; });
}

Result<Pairing::Asked> Pairing::ask(const std::string& from, Clock::time_point now) {
  forget(now);
  const auto mine = std::count_if(by_word_.begin(), by_word_.end(),
                                  [&](const auto& one) { return one.second.from == from && !one.second.device; });
  if (static_cast<std::size_t>(mine) >= limits_.waiting_of_address_max) {
    return Error{Errc::too_many,
                 fmt::format("{} words from this address wait already: say which devices they are, or try again in {} "
                             "minutes",
                             mine, limits_.patience.count())};
  }
  if (by_word_.size() >= limits_.waiting_max || !asks_.take(now)) {
    return Error{Errc::too_many, "many devices ask to be paired: try again in a minute"};
  }
  // Far fewer wait than there are words: a free one is near.
  const auto& words = pairing_words();
  std::size_t at = chance_.draw(words.size());
  while (by_word_.count(words[at]) != 0) at = (at + 1) % words.size();
  Asked asked{std::string(words[at]), chance_.secret()};
  One one;
  one.secret = asked.secret;
  one.from = from;
  one.asked = now;
  by_word_.emplace(asked.word, std::move(one));
  return asked;
}

std::vector<Pairing::Waiting> Pairing::waiting(Clock::time_point now) {
  forget(now);
  std::vector<Waiting> all;
  for (const auto& [word, one] : by_word_) {
    if (one.device) continue;
    all.push_back({word, one.from, std::chrono::duration_cast<std::chrono::seconds>(now - one.asked)});
  }
  return all;
}

Status Pairing::check(std::string_view word, Clock::time_point now) {
  forget(now);
  const auto found = by_word_.find(lower(word));
  if (found != by_word_.end() && !found->second.device) return Done{};
  return Error{Errc::unknown,
               fmt::format("no device shows the word \"{}\": read it again from its screen (a word lasts {} minutes)",
                           word.substr(0, 20), limits_.patience.count()),
               "/word"};
}

void Pairing::answer(std::string_view word, DevicePtr device, std::string token) {
  const auto found = by_word_.find(lower(word));
  if (found == by_word_.end()) return;
  found->second.device = std::move(device);
  found->second.token = std::move(token);
}

Result<Pairing::Fetched> Pairing::fetch(std::string_view secret, Clock::time_point now) {
  forget(now);
  const auto found =
      std::find_if(by_word_.begin(), by_word_.end(), [&](const auto& one) { return one.second.secret == secret; });
  if (found == by_word_.end() || secret.empty()) {
    return Error{Errc::unknown, "this device has not asked, or too long ago: ask again"};
  }
  Fetched fetched{found->second.device, std::move(found->second.token), found->first};
  if (fetched.device) by_word_.erase(found);
  return fetched;
}

}  // namespace nappe::server
