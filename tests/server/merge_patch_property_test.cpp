// What keeps every screen current: whatever two documents are, the difference leads from one to the other.

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "common/wire/merge_patch.hpp"
#include "tests/support/random.hpp"

using nappe::tests::Random;
using nappe::wire::merge_patch_apply;
using nappe::wire::merge_patch_diff;
using nlohmann::json;

namespace {

/// Applies a patch with the JSON library's own implementation of RFC 7396.
json applied(json document, const json& patch) {
  document.merge_patch(patch);
  return document;
}

/// A document as screens have them: objects in objects, scalars, arrays of scalars, no null.
json random_document(Random& random, int depth) {
  const auto kind = depth == 0 ? random.between(1, 5) : random.between(0, 5);
  switch (kind) {
    case 1:
      return random.between(-3, 3);
    case 2:
      return random.chance(0.5);
    case 3:
      return "word" + std::to_string(random.between(0, 3));
    case 4:
      return static_cast<double>(random.between(0, 8)) / 4.0;
    case 5: {
      json array = json::array();
      for (auto left = random.between(0, 2); left > 0; --left) array.push_back(random.between(0, 2));
      return array;
    }
    default: {
      json object = json::object();
      for (auto left = random.between(0, 5); left > 0; --left) {
        object["k" + std::to_string(random.between(0, 6))] = random_document(random, depth - 1);
      }
      return object;
    }
  }
}

}  // namespace

TEST_CASE("applying the difference gives the new document, whatever the two are") {
  for (std::uint64_t seed = 0; seed < 20000; ++seed) {
    Random random(seed);
    const json from = random_document(random, 4);
    const json to = random_document(random, 4);
    const json patch = merge_patch_diff(from, to);
    if (applied(from, patch) != to || merge_patch_apply(from, patch) != to) {
      INFO("SEED=" << seed << " from " << from << " to " << to << " patch " << patch);
      CHECK(applied(from, patch) == to);
      REQUIRE(merge_patch_apply(from, patch) == to);
    }
  }
}
