#pragma once
// Fallible cooks for the demo night: they read their station's hand list as a person would, work with as many hands as
// are there, take as long as chance has it, and press late or in bursts. Pure.

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

/// A press a cook makes.
struct CookPress {
  std::string station;
  Instant at{};
  Ask ask;
};

class Cooks {
 public:
  /// `kitchen` must outlive this.
  Cooks(const kitchen::Kitchen& kitchen, Draws draws) : kitchen_(kitchen), draws_(draws) {}

  /// What the cooks of this station press by `now`, given the list they see.
  std::vector<CookPress> step(const StationScreen& screen, Instant now);
  /// When they would next do something if the list stays as it is; nothing: only a new list moves them.
  [[nodiscard]] std::optional<Instant> next(const StationScreen& screen, Instant now) const;
  /// The line refused a press about this item of this station: say it with more weight next time, not at once.
  void refused(const std::string& station, const std::string& item, Instant now);

 private:
  /// One pair of hands at one move.
  struct Work {
    std::string item;
    int pan = 0;
    Instant end{};
    Ask ask;
  };
  struct Tap {
    Instant at{};
    std::string item;
    int pan = 0;
    Ask ask;
  };
  struct Crew {
    std::vector<std::optional<Work>> hands;
    std::vector<Tap> taps;  ///< Done, not pressed yet.
    std::map<std::string, int> refusals;
    std::map<std::string, Instant> not_before;
  };

  [[nodiscard]] std::vector<const Item*> heads(const StationScreen& screen) const;
  [[nodiscard]] Instant begins(const StationScreen& screen, const Item& item) const;
  [[nodiscard]] bool taken(const Crew& crew, int pan) const;
  [[nodiscard]] int rounds_needed(const StationScreen& screen, const Item& item) const;
  [[nodiscard]] Work work_on(const StationScreen& screen, const Crew& crew, const Item& item, Instant now) const;
  [[nodiscard]] Duration tap_delay(const StationScreen& screen, const Item& item) const;

  const kitchen::Kitchen& kitchen_;
  Draws draws_;
  std::map<std::string, Crew> crews_;
};

}  // namespace nappe::client
