#include "common/kitchen/batches.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "common/kitchen/allergen.hpp"
#include "common/kitchen/near.hpp"
#include "common/kitchen/read_kitchen.hpp"

namespace nappe::kitchen {
namespace {

constexpr Range grams{0, 10'000'000, true};
constexpr Range celsius{-40, 300};

bool contains(const std::vector<std::string>& all, std::string_view one) {
  return std::find(all.begin(), all.end(), one) != all.end();
}

Source read_source(const Node& node, Faults& faults) {
  Fields fields(node, "a source", faults);
  Source out;
  out.batch = fields.text("batch");
  out.ingredient = fields.text("ingredient");
  out.grams = fields.number("grams", grams).value_or(0);
  fields.finish();
  if (fields.is_object() && out.batch.empty() == out.ingredient.empty()) {
    faults.add(node, "a source is either a batch or an ingredient", "give \"batch\" or \"ingredient\", not both");
  }
  return out;
}

Tray read_tray(const Node& node, Faults& faults) {
  Fields fields(node, "a tray", faults);
  Tray out;
  out.depth_mm = fields.need_number("depth_mm", {0, 1000, true});
  out.count = static_cast<int>(fields.whole("count", {1, 1000}).value_or(1));
  fields.finish();
  return out;
}

Chill read_chill(const Node& node, Faults& faults) {
  Fields fields(node, "a chill", faults);
  Chill out;
  out.begun = fields.need_clock("at");
  out.from_c = fields.need_number("from_c", celsius);
  out.to_c = fields.need_number("to_c", celsius);
  out.due = fields.clock("due_at");
  for (const Node& tray : fields.list("trays")) out.trays.push_back(read_tray(tray, faults));
  fields.finish();
  if (fields.has("from_c") && fields.has("to_c") && out.to_c >= out.from_c) {
    faults.add(fields.place("to_c"), fmt::format("chilling from {} to {} C", out.from_c, out.to_c),
               "\"to_c\" is below \"from_c\"");
  }
  if (out.due && *out.due <= out.begun) {
    faults.add(fields.place("due_at"), "the chill is due before it begins", "\"due_at\" is later than \"at\"");
  }
  return out;
}

Reduce read_reduce(const Node& node, Faults& faults) {
  Fields fields(node, "a reduction", faults);
  Reduce out;
  out.begun = fields.need_clock("at");
  out.from_g = fields.need_number("from_g", grams);
  out.to_g = fields.need_number("to_g", grams);
  fields.finish();
  if (fields.has("from_g") && fields.has("to_g") && out.to_g >= out.from_g) {
    faults.add(fields.place("to_g"), fmt::format("reducing from {} to {} g", out.from_g, out.to_g),
               "\"to_g\" is below \"from_g\"");
  }
  return out;
}

std::vector<std::string> people_of(const Kitchen& kitchen) {
  std::vector<std::string> out;
  for (const Station& station : kitchen.stations) {
    for (const Person& person : station.people) out.push_back(person.id);
  }
  return out;
}

Batch read_batch(const Node& node, const Kitchen& kitchen, Faults& faults) {
  Fields fields(node, "a batch", faults);
  Batch out;
  out.id = fields.need_id("id");
  out.name = fields.need_text("name");
  out.made = fields.need_clock("made_at");
  out.by = fields.need_text("by");
  out.how = fields.text("how");
  for (const Node& source : fields.list("from")) out.from.push_back(read_source(source, faults));
  out.made_g = fields.number("made_g", grams);
  if (const auto portions = fields.whole("portions", {1, 100'000})) out.portions = static_cast<int>(*portions);
  if (const Node* reduce = fields.object("reduce")) out.reduce = read_reduce(*reduce, faults);
  if (const Node* chill = fields.object("chill")) out.chill = read_chill(*chill, faults);
  out.kept_in = fields.text("kept_in");
  out.kept_c = fields.number("kept_c", celsius);
  out.life = fields.span("life_min", {0, 31 * 24 * 60, true}, 60'000);
  if (const auto days = fields.whole("use_by_days", {0, 3650})) out.use_by_days = static_cast<int>(*days);
  out.allergens = read_allergens(fields, "allergens", faults);
  out.free_from = read_allergens(fields, "free_from", faults);
  fields.finish();
  if (!out.by.empty()) refuse_unknown(out.by, people_of(kitchen), "person", fields.place("by"), faults);
  const bool lives = fields.has("life_min");
  const bool dated = fields.has("use_by_days");
  if (fields.is_object() && !lives && !dated) {
    faults.add(node, "nothing says when the batch dies", "give \"use_by_days\" (0: today) or \"life_min\"");
  } else if (lives && dated) {
    faults.add(fields.place("life_min"), "the batch dies at two times", "keep \"use_by_days\" or \"life_min\"");
  }
  for (const std::string& name : out.free_from) {
    for (const std::string& held : out.allergens) {
      if (!meets(name, held)) continue;
      faults.add(fields.place("free_from"), fmt::format("the batch is free from {} and holds {}", name, held),
                 "correct one of the two lists");
    }
  }
  return out;
}

// Whether `wanted` is reached from `from` by way of the batches things are made from.
bool made_from(const BatchSheet& sheet, const std::string& from, const std::string& wanted,
               std::set<std::string>& seen) {
  if (!seen.insert(from).second) return false;
  const Batch* batch = sheet.find(from);
  if (batch == nullptr) return false;
  return std::any_of(batch->from.begin(), batch->from.end(), [&](const Source& source) {
    return source.batch == wanted || (!source.batch.empty() && made_from(sheet, source.batch, wanted, seen));
  });
}

void check_sources(const BatchSheet& sheet, const Batch& batch, const Node& node, Faults& faults) {
  const Node* list = node.find("from");
  for (std::size_t i = 0; i < batch.from.size(); ++i) {
    const Source& source = batch.from[i];
    if (source.batch.empty()) continue;
    const Node* key = list->items[i].find("batch");
    const Node& at = key == nullptr ? list->items[i] : *key;
    if (!refuse_unknown(source.batch, ids_of(sheet.batches), "batch", at, faults)) continue;
    std::set<std::string> seen;
    if (source.batch == batch.id || made_from(sheet, source.batch, batch.id, seen)) {
      faults.add(at, fmt::format("\"{}\" would be made from itself", batch.id), "break the circle");
      continue;
    }
    const Batch& under = *sheet.find(source.batch);
    for (const std::string& held : under.allergens) {
      if (contains(batch.allergens, held)) continue;
      faults.add(
          at, fmt::format("\"{}\" is made from \"{}\", which holds {}, but does not list it", batch.id, under.id, held),
          fmt::format("add \"{}\" to its allergens", held));
    }
    if (under.made > batch.made) {
      faults.add(at, fmt::format("\"{}\" is made before \"{}\", which it is made from", batch.id, under.id),
                 "correct \"made_at\" of one of them");
    }
  }
}

// The kitchen's files are not at hand here: faults about a component point at the sheet.
void check_drawn(const BatchSheet& sheet, const Kitchen& kitchen, const Node& root, Faults& faults) {
  const Node* list = root.find("batches");
  const Node& at = list == nullptr ? root : *list;
  const auto known = ids_of(sheet.batches);
  const auto check = [&](const Component& component, const std::string& id) {
    const Batch* batch = sheet.find(id);
    if (batch == nullptr) {
      faults.add(at, fmt::format("component \"{}\" is drawn from a batch \"{}\" that is not here", component.id, id),
                 suggest(id, known));
      return;
    }
    const auto index = static_cast<std::size_t>(batch - sheet.batches.data());
    for (const std::string& held : batch->allergens) {
      if (contains(component.allergens, held)) continue;
      faults.add(at.items[index],
                 fmt::format("batch \"{}\" holds {}, but component \"{}\" drawn from it does not list it", id, held,
                             component.id),
                 fmt::format("add \"{}\" to the allergens of \"{}\"", held, component.id));
    }
  };
  for (const Component& component : kitchen.components) {
    std::vector<std::string> drawn = component.batches;
    for (const Layer& layer : component.layers) {
      if (!layer.batch.empty() && !contains(drawn, layer.batch)) drawn.push_back(layer.batch);
    }
    for (const std::string& id : drawn) check(component, id);
  }
}

void read_wanted(const Node& node, const Kitchen& kitchen, BatchSheet& sheet, Faults& faults) {
  for (std::size_t i = 0; i < node.keys.size(); ++i) {
    const std::string& dish = node.keys[i].name;
    const Node& count = node.items[i];
    if (kitchen.find_dish(dish) == nullptr) {
      faults.add_key(node, i, fmt::format("there is no dish \"{}\"", dish), suggest(dish, ids_of(kitchen.dishes)));
    } else if (count.kind != Node::Kind::whole || count.whole < 0 || count.whole > 100'000) {
      faults.add(count, "portions should be a whole number from 0", "");
    } else {
      sheet.wanted[dish] = static_cast<int>(count.whole);
    }
  }
}

}  // namespace

std::string stem_of(const std::string& id) {
  const auto end = id.find_last_not_of("0123456789");
  return end == std::string::npos || end + 1 == id.size() || id[end] != '_' ? id : id.substr(0, end);
}

const Batch* BatchSheet::find(std::string_view id) const {
  const auto found = std::find_if(batches.begin(), batches.end(), [&](const Batch& one) { return one.id == id; });
  return found == batches.end() ? nullptr : &*found;
}

Loaded<BatchSheet> load_batches(const File& file, const Kitchen& kitchen) {
  return load_sheet<BatchSheet>(file, "batches", [&](const Node& root, BatchSheet& sheet, Faults& faults) {
    Fields fields(root, "the file", faults);
    fields.skip("$schema");
    fields.text("description");
    const auto& nodes = fields.need_list("batches");
    std::vector<const Node*> places;
    for (const Node& node : nodes) {
      sheet.batches.push_back(read_batch(node, kitchen, faults));
      places.push_back(&node);
    }
    if (const Node* wanted = fields.object("wanted")) read_wanted(*wanted, kitchen, sheet, faults);
    fields.finish();
    refuse_duplicates(ids_of(sheet.batches), places, "batch", faults);
    for (std::size_t i = 0; i < sheet.batches.size(); ++i) check_sources(sheet, sheet.batches[i], nodes[i], faults);
    check_drawn(sheet, kitchen, root, faults);
  });
}

}  // namespace nappe::kitchen
