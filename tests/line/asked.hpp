#pragma once
// What tests of the record ask of a night.

#include <catch2/catch.hpp>
#include <string>

#include "tests/support/night.hpp"

namespace nappe::tests {

/// Asks, and fails the test with the sentence when it is refused.
inline void must(Night& night, line::Action action, const std::string& by = "Tom") {
  const Status done = night.ask(std::move(action), by);
  INFO((done ? std::string() : done.error().detail));
  REQUIRE(done);
}

/// The sentence it is refused with.
inline std::string refusal(Night& night, line::Action action, const std::string& by = "Tom") {
  const std::size_t before = night.log().size();
  const Status done = night.ask(std::move(action), by);
  REQUIRE(!done);
  CHECK(night.log().size() == before);  // a refusal changes nothing
  return done.error().detail;
}

inline bool holds(const std::string& text, const std::string& part) {
  INFO(text);
  return text.find(part) != std::string::npos;
}

inline const line::Batch& batch(const Night& night, const std::string& id) {
  const line::Batch* found = night.state().record().find(id);
  INFO(id);
  REQUIRE(found != nullptr);
  return *found;
}

inline line::TakeReading of_batch(const std::string& id, double celsius) { return {id, {}, "blue", celsius, {}}; }
inline line::TakeReading of_place(const std::string& place, double celsius) { return {{}, place, "blue", celsius, {}}; }

}  // namespace nappe::tests
