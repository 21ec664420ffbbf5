#pragma once
// The parts of the loader: reading nodes into structs, and holding the structs against each other. Used by load.cpp.

#include <string>
#include <vector>

#include "common/kitchen/kitchen.hpp"
#include "common/kitchen/reader.hpp"

namespace nappe::kitchen {

/// The nodes a kitchen was read from, in step with its vectors, so that a later check can point at them.
struct KitchenNodes {
  const Node* house = nullptr;
  std::vector<const Node*> stations;
  std::vector<const Node*> components;
  std::vector<const Node*> dishes;
};

void read_house(const Node& node, Kitchen& kitchen, bool whole_kitchen, Faults& faults);
Station read_station(const Node& node, Faults& faults);
/// `words`, if given, gets a line for every time that was worked out from temperatures.
Component read_component(const Node& node, Faults& faults, std::vector<std::string>* words = nullptr);
Dish read_dish(const Node& node, Faults& faults);

/// What only the whole shows: references, duplicates, places, temperatures.
void check_kitchen(const Kitchen& kitchen, const KitchenNodes& nodes, Faults& faults);

/// Ids of a list of things.
template <class T>
std::vector<std::string> ids_of(const std::vector<T>& all) {
  std::vector<std::string> ids;
  for (const T& one : all) ids.push_back(one.id);
  return ids;
}

}  // namespace nappe::kitchen
