#pragma once
// Chef and expediter of the demo night: fire when the table is clear, send what stands, and never let a table wait for
// ever. Pure.

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "client/documents.hpp"
#include "client/draws.hpp"
#include "client/model.hpp"
#include "common/kitchen/kitchen.hpp"

namespace nappe::client {

class Expediter {
 public:
  Expediter(const kitchen::Kitchen& kitchen, Draws draws) : kitchen_(kitchen), draws_(draws) {}

  /// What they ask of the line by `now`.
  std::vector<Ask> step(const PassScreen& screen, Instant now);
  /// When they would next do something if the screen stays as it is.
  [[nodiscard]] std::optional<Instant> next(const PassScreen& screen, Instant now) const;
  /// The line refused this; it is tried again later, with more weight.
  void refused(const Ask& ask, Instant now);
  /// Holds a course back until this time (a guest is out, the table is late).
  void not_before(const std::string& course_key, Instant at) { wait_[course_key] = at; }

 private:
  [[nodiscard]] std::optional<Instant> fires_at(const PassScreen& screen, const CourseLine& course) const;
  [[nodiscard]] std::optional<Instant> sends_at(const PassScreen& screen, const CourseLine& course) const;
  [[nodiscard]] bool may(const std::string& key, Instant now) const;
  std::optional<Ask> mend_blocked(const CourseLine& course, Instant now);
  std::optional<Ask> alert(const PassScreen& screen, Instant now);

  const kitchen::Kitchen& kitchen_;
  Draws draws_;
  std::map<std::string, Instant> wait_;  ///< Not again before.
  std::map<std::string, int> refusals_;
  std::map<std::string, Instant> seen_;  ///< When something was first seen so.
  std::set<std::string> answered_;
};

}  // namespace nappe::client
