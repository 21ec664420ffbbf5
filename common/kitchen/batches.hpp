#pragma once
// What is made ahead for a service: when, by whom, from what, kept how, until when.

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "common/kitchen/document.hpp"
#include "common/kitchen/kitchen.hpp"

namespace nappe::kitchen {

/// What a batch is made from: another batch or an ingredient.
struct Source {
  std::string batch;       ///< Id of a batch, or empty.
  std::string ingredient;  ///< Else its name.
  double grams = 0;        ///< 0: not weighed.
  friend bool operator==(const Source&, const Source&) = default;
};

struct Tray {
  double depth_mm = 0;  ///< How deep the food lies.
  int count = 1;
  friend bool operator==(const Tray&, const Tray&) = default;
};

/// Cooling as planned. Instants are since midnight of the service's day.
struct Chill {
  Duration begun{};
  double from_c = 0;
  double to_c = 0;
  std::optional<Duration> due;  ///< Down there by then.
  std::vector<Tray> trays;
  friend bool operator==(const Chill&, const Chill&) = default;
};

/// A liquid boiled down, watched by weight.
struct Reduce {
  Duration begun{};
  double from_g = 0;
  double to_g = 0;
  friend bool operator==(const Reduce&, const Reduce&) = default;
};

struct Batch {
  std::string id;
  std::string name;
  Duration made{};  ///< Since midnight of the service's day.
  std::string by;   ///< Id of a person of the house.
  std::string how;  ///< A line of instruction.
  std::vector<Source> from;
  std::optional<double> made_g;
  std::optional<int> portions;
  std::optional<Reduce> reduce;
  std::optional<Chill> chill;
  std::string kept_in;
  std::optional<double> kept_c;
  std::optional<Duration> life;    ///< It dies so long after it was made.
  std::optional<int> use_by_days;  ///< Or at the end of the day so many days on; 0: today.
  std::vector<std::string> allergens;
  std::vector<std::string> free_from;  ///< Made on purpose without these, on a clean board.
  friend bool operator==(const Batch&, const Batch&) = default;
};

struct BatchSheet {
  std::vector<Batch> batches;
  std::map<std::string, int> wanted;  ///< Dish -> portions to have ready.
  [[nodiscard]] const Batch* find(std::string_view id) const;
  friend bool operator==(const BatchSheet&, const BatchSheet&) = default;
};

/// The kind a batch is of: "emulsion" of "emulsion_2", the second of that kind on the sheet.
std::string stem_of(const std::string& id);

/// Reads the batches and holds them against the kitchen: people, cycles, allergens that batches hand on, and the
/// components and layers drawn from them.
Loaded<BatchSheet> load_batches(const File& file, const Kitchen& kitchen);

}  // namespace nappe::kitchen
