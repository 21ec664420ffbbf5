#pragma once
// The rule sets as they are shipped.

#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>
#include <string>

#include "common/food/rules.hpp"

namespace nappe::tests {

inline std::string rules_text(const std::string& id) {
  std::ifstream in(NAPPE_SOURCE_DIR "/config/rules/" + id + ".json");
  REQUIRE(in.good());
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

inline food::RuleSet rules_of(const std::string& id) {
  const auto rules = food::parse_rule_set(rules_text(id));
  if (!rules) FAIL(rules.error().where << ": " << rules.error().detail);
  return *rules;
}

}  // namespace nappe::tests
