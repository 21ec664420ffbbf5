#include "common/kitchen/load.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <deque>
#include <iterator>

#include "common/kitchen/read_kitchen.hpp"
#include "common/kitchen/read_quantiles.hpp"

namespace nappe::kitchen {
namespace {

void read_stations(const Node& root, Kitchen& kitchen, KitchenNodes& nodes, Faults& faults) {
  Fields fields(root, "the file", faults);
  for (const Node& node : fields.need_list("stations")) {
    kitchen.stations.push_back(read_station(node, faults));
    nodes.stations.push_back(&node);
  }
}

void read_components(const Node& root, Kitchen& kitchen, KitchenNodes& nodes, Faults& faults) {
  Fields fields(root, "the file", faults);
  for (const Node& node : fields.need_list("components")) {
    kitchen.components.push_back(read_component(node, faults));
    nodes.components.push_back(&node);
  }
}

void read_dishes(const Node& root, Kitchen& kitchen, KitchenNodes& nodes, Faults& faults) {
  Fields fields(root, "the file", faults);
  for (const Node& node : fields.need_list("dishes")) {
    kitchen.dishes.push_back(read_dish(node, faults));
    nodes.dishes.push_back(&node);
  }
}

// Besides its one list a file of lists holds nothing but its schema and its description.
void finish_list_file(const Node& root, std::string_view list, Faults& faults) {
  Fields fields(root, "the file", faults);
  fields.skip("$schema");
  fields.text("description");
  fields.skip(list);
  fields.finish();
}

void read_root(const Node& root, const std::string& kind, Kitchen& kitchen, KitchenNodes& nodes, Faults& faults) {
  const bool whole = kind == "kitchen";
  if (whole || kind == "house") {
    if (nodes.house != nullptr) {
      faults.add(root, "a second house", fmt::format("the first is {}; a kitchen has one", nodes.house->file));
      return;
    }
    nodes.house = &root;
    read_house(root, kitchen, whole, faults);
  }
  if (whole || kind == "stations") read_stations(root, kitchen, nodes, faults);
  if (whole || kind == "components") read_components(root, kitchen, nodes, faults);
  if (whole || kind == "dishes") read_dishes(root, kitchen, nodes, faults);
  if (!whole && kind != "house") finish_list_file(root, kind, faults);
}

// Faults in the order a person meets them: by file as given, then from top to bottom.
void sort_faults(std::vector<Fault>& faults, const std::vector<File>& files) {
  const auto rank = [&](const Fault& fault) {
    const auto found = std::find_if(files.begin(), files.end(), [&](const File& f) { return f.path == fault.file; });
    const auto index = fault.file.empty() ? -1 : found - files.begin();  // what concerns no file comes first
    return std::tuple(index, fault.line, fault.column);
  };
  std::stable_sort(faults.begin(), faults.end(), [&](const Fault& a, const Fault& b) { return rank(a) < rank(b); });
}

Fault missing_file(std::string_view what, std::string_view kind) {
  return {"",
          1,
          1,
          "",
          fmt::format("no file holds {}", what),
          fmt::format("add one whose \"$schema\" is \"../schema/{}.schema.json\"", kind)};
}

Loaded<Kitchen> load(const std::vector<File>& files, const std::vector<std::string>* rule_sets) {
  Loaded<Kitchen> out;
  Faults faults;
  std::deque<Node> roots;  // addresses stay while it grows
  KitchenNodes nodes;
  Kitchen kitchen;
  bool all_readable = true;
  std::vector<const Node*> learnt;
  for (const File& file : files) {
    Loaded<Node> read = read_document(file);
    std::move(read.faults.begin(), read.faults.end(), std::back_inserter(faults.all()));
    all_readable = all_readable && read;
    if (!read) continue;
    const Node& root = roots.emplace_back(std::move(*read.value));
    const std::string kind = document_kind(root, faults);
    all_readable = all_readable && !kind.empty();
    const bool ours =
        kind == "kitchen" || kind == "house" || kind == "stations" || kind == "components" || kind == "dishes";
    if (ours) read_root(root, kind, kitchen, nodes, faults);
    if (kind == "learnt") learnt.push_back(&root);
  }
  for (const Node* root : learnt) {
    finish_list_file(*root, "learnt", faults);
    if (!kitchen.components.empty()) read_learnt(*root, kitchen.components, faults);
  }
  // A file that cannot be read leaves holes everywhere: its own fault says enough.
  if (all_readable) {
    if (nodes.house == nullptr) faults.all().push_back(missing_file("the house", "house"));
    if (nodes.stations.empty()) faults.all().push_back(missing_file("stations", "stations"));
    if (nodes.components.empty()) faults.all().push_back(missing_file("components", "components"));
    if (nodes.dishes.empty()) faults.all().push_back(missing_file("dishes", "dishes"));
    // Without one of these everything that names it would be a fault.
    const bool whole = nodes.house != nullptr && !nodes.stations.empty() && !nodes.components.empty();
    if (whole) check_kitchen(kitchen, nodes, faults);
    if (rule_sets != nullptr && nodes.house != nullptr && !kitchen.rules.empty()) {
      const Node* at = nodes.house->find("rules");
      refuse_unknown(kitchen.rules, *rule_sets, "rule set", at == nullptr ? *nodes.house : *at, faults);
    }
  }
  out.faults = std::move(faults.all());
  sort_faults(out.faults, files);
  if (!out.faults.empty()) return out;
  kitchen.version = fnv1a_hex(to_document(kitchen));
  out.value = std::move(kitchen);
  return out;
}

}  // namespace

Loaded<Kitchen> load_kitchen(const std::vector<File>& files, const std::vector<std::string>& rule_sets) {
  return load(files, &rule_sets);
}

std::vector<std::string> clocks_from_readings(const std::vector<File>& files) {
  std::vector<std::string> words;
  for (const File& file : files) {
    const Loaded<Node> root = read_document(file);
    const Node* list = root ? root.value->find("components") : nullptr;
    if (list == nullptr || list->kind != Node::Kind::list) continue;
    Faults faults;
    for (const Node& node : list->items) read_component(node, faults, &words);
  }
  return words;
}

Loaded<Kitchen> from_document(std::string_view text) { return load({{"kitchen.json", std::string(text)}}, nullptr); }

}  // namespace nappe::kitchen
