#include <catch2/catch.hpp>
#include <cstdint>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "common/wire/merge_patch.hpp"
#include "tests/support/random.hpp"

using nappe::tests::Random;
using nappe::wire::merge_patch_apply;
using nappe::wire::merge_patch_diff;
using nlohmann::json;

namespace {

// A random value without a null as an object's member; few keys, so that two documents share many.
json random_value(Random& random, int depth) {
  const std::vector<std::string> keys{"a", "b", "c", "p1", "p2", "list", "at_ms"};
  switch (random.between(0, depth > 0 ? 7 : 3)) {
    case 0:
      return random.between(-3, 3);
    case 1:
      return random.chance(0.5);
    case 2:
      return random.pick(keys);
    case 3:
      return static_cast<double>(random.between(0, 8)) / 4.0;
    case 4: {
      json list = json::array();
      for (auto n = random.between(0, 3); n > 0; --n) {
        list.push_back(random.chance(0.2) ? json(nullptr) : random_value(random, depth - 1));
      }
      return list;
    }
    default: {
      json object = json::object();
      for (auto n = random.between(0, 5); n > 0; --n) object[random.pick(keys)] = random_value(random, depth - 1);
      return object;
    }
  }
}

// Changes a few members somewhere inside.
json changed(Random& random, json value, int depth) {
  if (!value.is_object() || value.empty() || random.chance(0.1)) return random_value(random, depth);
  auto at = value.begin();
  std::advance(at, random.between(0, static_cast<std::int64_t>(value.size()) - 1));
  if (random.chance(0.2)) {
    value.erase(at);
  } else {
    *at = changed(random, *at, depth - 1);
  }
  return value;
}

std::size_t leaves(const json& value) {
  if (!value.is_object()) return 1;
  std::size_t sum = 0;
  for (const auto& member : value) sum += leaves(member);
  return sum;
}

}  // namespace

TEST_CASE("merge patch: a difference applied gives the other document, for random documents") {
  for (std::uint64_t seed = 0; seed < 3000; ++seed) {
    Random random(seed);
    const json from = random_value(random, 4);
    const json to = random.chance(0.7) ? changed(random, from, 4) : random_value(random, 4);
    CAPTURE(seed, from.dump(), to.dump());
    REQUIRE(merge_patch_apply(from, merge_patch_diff(from, to)) == to);
    if (from.is_object()) REQUIRE(merge_patch_diff(from, from).empty());
  }
}

TEST_CASE("merge patch: nothing that stayed the same is sent") {
  for (std::uint64_t seed = 0; seed < 1000; ++seed) {
    Random random(seed);
    json from = json::object();
    for (int n = 0; n < 20; ++n) from["p" + std::to_string(n)] = json{{"n", n}, {"at_ms", random.between(0, 1000)}};
    json to = from;
    to["p7"]["n"] = 99;
    CAPTURE(seed);
    REQUIRE(leaves(merge_patch_diff(from, to)) == 1);
  }
}
