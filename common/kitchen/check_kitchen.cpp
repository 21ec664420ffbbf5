// Holds the parts of a kitchen against each other.

#include <fmt/format.h>

#include <algorithm>

#include "common/kitchen/near.hpp"
#include "common/kitchen/read_kitchen.hpp"

namespace nappe::kitchen {
namespace {

// The node of a key if it is there, else the object's own.
const Node& at_key(const Node& node, std::string_view key) {
  const Node* found = node.find(key);
  return found == nullptr ? node : *found;
}

const Node& item(const Node& node, std::string_view key, std::size_t index) {
  const Node& list = at_key(node, key);
  return list.kind == Node::Kind::list && index < list.items.size() ? list.items[index] : node;
}

std::vector<const Node*> id_places(const std::vector<const Node*>& nodes) {
  std::vector<const Node*> out;
  for (const Node* node : nodes) out.push_back(&at_key(*node, "id"));
  return out;
}

void check_stations(const Kitchen& kitchen, const KitchenNodes& nodes, Faults& faults) {
  refuse_duplicates(ids_of(kitchen.stations), id_places(nodes.stations), "station", faults);
  std::vector<std::string> people;
  std::vector<std::string> equipment;
  std::vector<const Node*> people_at;
  std::vector<const Node*> equipment_at;
  for (std::size_t s = 0; s < kitchen.stations.size(); ++s) {
    const Station& station = kitchen.stations[s];
    for (std::size_t i = 0; i < station.people.size(); ++i) {
      people.push_back(station.people[i].id);
      people_at.push_back(&at_key(item(*nodes.stations[s], "people", i), "id"));
    }
    for (std::size_t i = 0; i < station.equipment.size(); ++i) {
      equipment.push_back(station.equipment[i].id);
      equipment_at.push_back(&at_key(item(*nodes.stations[s], "equipment", i), "id"));
    }
  }
  refuse_duplicates(people, people_at, "person", faults);
  refuse_duplicates(equipment, equipment_at, "piece of equipment", faults);
}

// The nodes of a component's steps, in step with Component::steps: those inside rounds stand one level deeper.
std::vector<const Node*> step_nodes(const Node& component) {
  std::vector<const Node*> out;
  for (const Node& entry : at_key(component, "steps").items) {
    const Node* rounds = entry.find("rounds");
    if (rounds == nullptr) {
      out.push_back(&entry);
      continue;
    }
    for (const Node& step : at_key(*rounds, "steps").items) out.push_back(&step);
  }
  return out;
}

void check_use(const Kitchen& kitchen, const Component& component, const Use& use, const Node& at, Faults& faults) {
  const Station* station = kitchen.find_station(component.station);
  if (station == nullptr || use.equipment.empty()) return;
  const auto& kit = station->equipment;
  const auto found = std::find_if(kit.begin(), kit.end(), [&](const Equipment& e) { return e.id == use.equipment; });
  const Node& place = at_key(at, "equipment");
  if (found != kit.end()) {
    if (use.of(component.cap) <= found->places) return;
    faults.add(at,
               fmt::format("a full pan of {} takes {} places of \"{}\", which has {}", component.cap,
                           use.of(component.cap), use.equipment, found->places),
               "lower \"cap\" or the places it takes");
    return;
  }
  for (const Station& other : kitchen.stations) {
    const auto there = std::find_if(other.equipment.begin(), other.equipment.end(),
                                    [&](const Equipment& e) { return e.id == use.equipment; });
    if (there == other.equipment.end()) continue;
    faults.add(place, fmt::format("\"{}\" stands at {}, not at {}", use.equipment, other.id, station->id),
               "a step uses the equipment of its own station");
    return;
  }
  faults.add(place, fmt::format("{} has no equipment \"{}\"", station->id, use.equipment),
             suggest(use.equipment, ids_of(kit)));
}

// What lies on something hot must bear it.
void check_hot(const std::string& lies, std::optional<double> fails_c, std::optional<double> limit_c,
               const Component& under, const Node& at, Faults& faults) {
  const std::optional<double> limit = limit_c ? limit_c : fails_c;
  if (!limit) return;
  if (!under.plated_c) {
    faults.add(at,
               fmt::format("\"{}\" bears at most {} C, but nothing says how hot \"{}\" is when plated", lies, *limit,
                           under.id),
               fmt::format("give \"{}\" a \"plated_c\"", under.id));
    return;
  }
  if (under.plated_c->max_c <= *limit) return;
  std::string limits = limit_c ? fmt::format("the house limit is {} C", *limit_c) : std::string();
  if (fails_c) limits += fmt::format("{}it fails at {} C", limits.empty() ? "" : ", ", *fails_c);
  faults.add(at,
             fmt::format("\"{}\" lies on \"{}\", which is plated at up to {} C; {}", lies, under.id,
                         under.plated_c->max_c, limits),
             "let it cool longer before it is plated, or change what lies on it");
}

void check_components(const Kitchen& kitchen, const KitchenNodes& nodes, Faults& faults) {
  refuse_duplicates(ids_of(kitchen.components), id_places(nodes.components), "component", faults);
  const auto stations = ids_of(kitchen.stations);
  for (std::size_t c = 0; c < kitchen.components.size(); ++c) {
    const Component& component = kitchen.components[c];
    const Node& node = *nodes.components[c];
    if (!component.station.empty()) {
      const Node& at = at_key(node, "station");
      const bool known = refuse_unknown(component.station, stations, "station", at, faults);
      if (known && kitchen.find_station(component.station)->people.empty()) {
        faults.add(at,
                   fmt::format("nobody stands at \"{}\", so nobody can cook \"{}\"", component.station, component.id),
                   "add a person to the station or move the component");
      }
    }
    const auto steps = step_nodes(node);
    for (std::size_t s = 0; s < component.steps.size() && s < steps.size(); ++s) {
      for (std::size_t u = 0; u < component.steps[s].uses.size(); ++u) {
        check_use(kitchen, component, component.steps[s].uses[u], item(*steps[s], "uses", u), faults);
      }
    }
    for (std::size_t l = 0; l < component.layers.size(); ++l) {
      const Layer& layer = component.layers[l];
      check_hot(layer.id, layer.fails_c, layer.limit_c, component, item(node, "layers", l), faults);
    }
  }
}

// A part that lies on a part that lies on it again.
void check_stack(const Kitchen& kitchen, const Dish& dish, const Node& node, Faults& faults) {
  const auto part_of = [&](const std::string& id) -> const Part* {
    const auto found =
        std::find_if(dish.parts.begin(), dish.parts.end(), [&](const Part& p) { return p.component == id; });
    return found == dish.parts.end() ? nullptr : &*found;
  };
  for (std::size_t i = 0; i < dish.parts.size(); ++i) {
    const Part& part = dish.parts[i];
    if (part.on.empty()) continue;
    const Node& at = at_key(item(node, "parts", i), "on");
    const Part* under = part_of(part.on);
    if (under == nullptr) {
      std::vector<std::string> others;
      for (const Part& other : dish.parts) others.push_back(other.component);
      faults.add(at, fmt::format("\"{}\" lies on \"{}\", which is no part of this dish", part.component, part.on),
                 suggest(part.on, others));
      continue;
    }
    std::size_t seen = 0;
    const Part* walk = &part;
    while (walk != nullptr && !walk->on.empty() && seen <= dish.parts.size()) {
      walk = part_of(walk->on);
      ++seen;
      if (walk == &part) break;
    }
    if (walk == &part || seen > dish.parts.size()) {
      faults.add(at, fmt::format("\"{}\" comes to lie on itself", part.component), "something must lie on the plate");
      continue;
    }
    const Component* above = kitchen.find_component(part.component);
    const Component* below = kitchen.find_component(part.on);
    if (above != nullptr && below != nullptr) {
      check_hot(above->id, above->fails_c, above->limit_c, *below, at, faults);
    }
  }
}

void check_dish(const Kitchen& kitchen, const Dish& dish, const Node& node, Faults& faults) {
  if (!dish.course.empty()) {
    refuse_unknown(dish.course, ids_of(kitchen.courses), "course", at_key(node, "course"), faults);
  }
  std::vector<std::string> parts;
  std::vector<const Node*> places;
  for (std::size_t i = 0; i < dish.parts.size(); ++i) {
    const Node& at = at_key(item(node, "parts", i), "component");
    parts.push_back(dish.parts[i].component);
    places.push_back(&at);
    if (!parts.back().empty()) refuse_unknown(parts.back(), ids_of(kitchen.components), "component", at, faults);
  }
  refuse_duplicates(parts, places, "part", faults);
  const bool nothing_stays = !dish.parts.empty() && std::all_of(dish.parts.begin(), dish.parts.end(),
                                                                [](const Part& part) { return part.can_be_left_off; });
  if (nothing_stays) {
    faults.add(at_key(node, "parts"), "every part of the dish may be left off", "one part must make the dish");
  }
  check_stack(kitchen, dish, node, faults);
}

void check_dishes(const Kitchen& kitchen, const KitchenNodes& nodes, Faults& faults) {
  refuse_duplicates(ids_of(kitchen.dishes), id_places(nodes.dishes), "dish", faults);
  for (std::size_t d = 0; d < kitchen.dishes.size(); ++d) {
    const Dish& dish = kitchen.dishes[d];
    check_dish(kitchen, dish, *nodes.dishes[d], faults);
    for (std::size_t before = 0; before < d; ++before) {
      const Dish& other = kitchen.dishes[before];
      if (other.course != dish.course || other.letter != dish.letter || dish.letter.empty()) continue;
      faults.add(at_key(*nodes.dishes[d], "letter"),
                 fmt::format("the letter {} of {} belongs to \"{}\"", dish.letter, dish.course, other.id),
                 "give this dish another letter");
      break;
    }
  }
}

}  // namespace

void check_kitchen(const Kitchen& kitchen, const KitchenNodes& nodes, Faults& faults) {
  check_stations(kitchen, nodes, faults);
  check_components(kitchen, nodes, faults);
  check_dishes(kitchen, nodes, faults);
}

}  // namespace nappe::kitchen
