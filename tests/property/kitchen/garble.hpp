#pragma once
// Breaks a JSON document in one place.

#include <iterator>
#include <nlohmann/json.hpp>
#include <vector>

#include "tests/support/random.hpp"

namespace nappe::tests {

/// Changes one member or item somewhere in the tree.
inline void garble_value(Random& random, nlohmann::json& node) {
  static const std::vector<nlohmann::json> values{nullptr,
                                                  true,
                                                  0,
                                                  -1,
                                                  1.5,
                                                  1e300,
                                                  "",
                                                  "x",
                                                  "\xC3\xA9",
                                                  nlohmann::json::array(),
                                                  nlohmann::json::object(),
                                                  7,
                                                  nlohmann::json::array({nlohmann::json::object()})};
  if (node.is_structured() && !node.empty() && random.chance(0.8)) {
    auto at = node.begin();
    std::advance(at, random.between(0, static_cast<std::int64_t>(node.size()) - 1));
    if (random.chance(0.75)) return garble_value(random, *at);
    if (random.chance(0.4)) {
      node.erase(at);
    } else if (node.is_array()) {
      const nlohmann::json copy = *at;
      node.push_back(copy);
    } else {
      const nlohmann::json copy = *at;
      node[at.key() + "x"] = copy;
    }
    return;
  }
  node = random.pick(values);
}

}  // namespace nappe::tests
