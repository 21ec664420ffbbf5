#include "common/kitchen/prep.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "common/kitchen/allergen.hpp"
#include "common/kitchen/near.hpp"
#include "common/kitchen/read_kitchen.hpp"

namespace nappe::kitchen {
namespace {

constexpr double a_minute = 60'000;
constexpr Range celsius{-40, 300};
constexpr Range a_day{0, 24 * 60};
constexpr Range share{0, 1};
constexpr Range grams{0, 10'000'000, true};

const std::vector<std::string> stuffs{"puree", "potato", "meat"};

Duration span_or_zero(Fields& fields, std::string_view key, Range range = a_day) {
  return fields.span(key, range, a_minute).value_or(Duration::zero());
}

Raw read_raw(const Node& node, Faults& faults) {
  Fields fields(node, "an ingredient", faults);
  Raw out;
  out.ingredient = fields.need_text("ingredient");
  out.grams = fields.need_number("grams", {0, 1'000'000, true});
  out.trim = fields.number("trim", {0, 0.99}).value_or(0);
  out.loss = fields.number("loss", {0, 0.99}).value_or(0);
  fields.finish();
  return out;
}

PrepChill read_chill(const Node& node, std::string& trays_in, Faults& faults) {
  Fields fields(node, "a chill", faults);
  PrepChill out;
  trays_in = fields.need_text("equipment");
  out.from_c = fields.need_number("from_c", celsius);
  out.to_c = fields.need_number("to_c", celsius);
  out.air_c = fields.need_number("air_c", celsius);
  out.film = fields.need_number("film", {0, 10'000, true});
  out.within = fields.need_span("within_min", {0, 24 * 60, true}, a_minute);
  out.tray_cm2 = fields.need_number("tray_cm2", {0, 100'000, true});
  out.stuff = static_cast<Stuff>(fields.choice("stuff", stuffs, 0));
  fields.finish();
  const bool all = fields.has("from_c") && fields.has("to_c") && fields.has("air_c");
  if (all && !(out.from_c > out.to_c && out.to_c > out.air_c)) {
    faults.add(node, fmt::format("from {} C to {} C in air of {} C", out.from_c, out.to_c, out.air_c),
               "it must be from_c > to_c > air_c");
  }
  return out;
}

PrepReduce read_reduce(const Node& node, Faults& faults) {
  Fields fields(node, "a reduction", faults);
  PrepReduce out;
  out.to_share = fields.need_number("to_share", {0.01, 0.99});
  out.watts = fields.need_number("watts", {0, 100'000, true});
  out.efficiency = fields.need_number("efficiency", {0.01, 1});
  out.start_c = fields.number("start_c", {0, 100}).value_or(20);
  fields.finish();
  return out;
}

PrepSoak read_soak(const Node& node, Faults& faults) {
  Fields fields(node, "a soak", faults);
  PrepSoak out;
  out.thick_mm = fields.need_number("thick_mm", {0, 1000, true});
  out.start_c = fields.need_number("start_c", celsius);
  out.bath_c = fields.need_number("bath_c", celsius);
  out.reach_c = fields.need_number("reach_c", celsius);
  out.hold = fields.need_span("hold_min", {0, 24 * 60}, a_minute);
  out.film = fields.need_number("film", {0, 10'000, true});
  out.stuff = static_cast<Stuff>(fields.choice("stuff", stuffs, 1));
  fields.finish();
  const bool all = fields.has("start_c") && fields.has("bath_c") && fields.has("reach_c");
  if (all && !(out.bath_c > out.reach_c && out.reach_c > out.start_c)) {
    faults.add(node, fmt::format("from {} C to {} C in a bath of {} C", out.start_c, out.reach_c, out.bath_c),
               "it must be start_c < reach_c < bath_c: a bath never brings the core to its own temperature");
  }
  return out;
}

Use read_use(const Node& node, Faults& faults) {
  Fields fields(node, "a use of equipment", faults);
  Use out;
  out.equipment = fields.need_text("equipment");
  out.each = static_cast<int>(fields.whole("places_per_kg", {0, 1000}).value_or(0));
  out.fixed = static_cast<int>(fields.whole("places", {0, 1000}).value_or(out.each > 0 ? 0 : 1));
  fields.finish();
  if (out.fixed == 0 && out.each == 0)
    faults.add(node, "a use that takes no place", "give \"places\" or \"places_per_kg\"");
  return out;
}

PrepStep read_step(const Node& node, Faults& faults) {
  static const std::vector<std::string> kinds{"move", "wait", "chill", "reduce", "soak"};
  Fields fields(node, "a prep step", faults);
  PrepStep out;
  out.kind = static_cast<PrepKind>(fields.choice("kind", kinds, std::nullopt));
  out.word = fields.need_text("word");
  out.fixed = span_or_zero(fields, "minutes");
  out.per_kg = span_or_zero(fields, "minutes_per_kg");
  out.each = span_or_zero(fields, "minutes_each");
  out.then_within = span_or_zero(fields, "then_within_min");
  for (const Node& use : fields.list("uses")) out.uses.push_back(read_use(use, faults));
  if (const Node* chill = fields.object("chill")) out.chill = read_chill(*chill, out.trays_in, faults);
  if (const Node* reduce = fields.object("reduce")) out.reduce = read_reduce(*reduce, faults);
  if (const Node* soak = fields.object("soak")) out.soak = read_soak(*soak, faults);
  fields.finish();
  if (!fields.is_object() || !fields.has("kind")) return out;
  const std::string& word = kinds[static_cast<std::size_t>(out.kind)];
  for (const auto& [key, kind] : {std::pair{"chill", PrepKind::chill}, std::pair{"reduce", PrepKind::reduce},
                                  std::pair{"soak", PrepKind::soak}}) {
    if (fields.has(key) && out.kind != kind) {
      faults.add(fields.place(key), fmt::format("a {} has no \"{}\"", word, key), "correct \"kind\" or take it away");
    } else if (!fields.has(key) && out.kind == kind) {
      faults.add(node, fmt::format("a {} has no \"{}\"", word, key), fmt::format("add \"{}\"", key));
    }
  }
  const bool timed = out.fixed + out.per_kg + out.each > Duration::zero();
  const bool plain = out.kind == PrepKind::move || out.kind == PrepKind::wait;
  if (plain && !timed && !fields.has("minutes") && !fields.has("minutes_per_kg") && !fields.has("minutes_each")) {
    faults.add(node, "a prep step that takes no time", "give \"minutes\", \"minutes_per_kg\" or \"minutes_each\"");
  } else if (!plain && timed) {
    faults.add(node, fmt::format("how long a {} takes is worked out", word), "take the minutes away");
  }
  return out;
}

void read_make(const Node& node, PrepItem& item, Faults& faults) {
  Fields fields(node, "\"make\"", faults);
  item.step = fields.number("step", grams).value_or(item.step);
  item.most = fields.number("most", grams).value_or(0);
  item.batches_max = static_cast<int>(fields.whole("batches_max", {1, 1000}).value_or(0));
  fields.finish();
  if (item.most > 0 && item.most < item.step) {
    faults.add(fields.place("most"), fmt::format("the largest batch {} is below one step of {}", item.most, item.step),
               "\"most\" is at least \"step\"");
  }
}

// What the batch sheet knows of it already.
void take_from_batch(const BatchSheet& batches, PrepItem& item, const Node& at, Faults& faults) {
  if (item.batch.empty()) return;
  const Batch* batch = batches.find(item.batch);
  if (batch == nullptr) {
    refuse_unknown(item.batch, ids_of(batches.batches), "batch", at, faults);
    return;
  }
  if (item.name.empty()) item.name = batch->name;
  if (item.kept_in.empty()) item.kept_in = batch->kept_in;
  if (!item.kept_c) item.kept_c = batch->kept_c;
  item.life = batch->life;
}

std::vector<std::string> equipment_of(const Kitchen& kitchen) {
  std::vector<std::string> out;
  for (const Station& station : kitchen.stations) {
    for (const Equipment& kit : station.equipment) out.push_back(kit.id);
  }
  return out;
}

void check_steps(const PrepItem& item, const std::vector<Node>& nodes, const Kitchen& kitchen, Faults& faults) {
  const auto kit = equipment_of(kitchen);
  for (std::size_t i = 0; i < item.steps.size(); ++i) {
    const PrepStep& step = item.steps[i];
    if (!step.trays_in.empty()) refuse_unknown(step.trays_in, kit, "equipment", nodes[i], faults);
    for (const Use& use : step.uses) {
      if (!use.equipment.empty()) refuse_unknown(use.equipment, kit, "equipment", nodes[i], faults);
    }
  }
}

void check_item(const PrepItem& item, const Fields& fields, const Kitchen& kitchen, Faults& faults) {
  const Station* station = kitchen.find_station(item.station);
  if (!item.station.empty() && station == nullptr) {
    refuse_unknown(item.station, ids_of(kitchen.stations), "station", fields.place("station"), faults);
  } else if (station != nullptr && station->people.empty()) {
    faults.add(fields.place("station"), fmt::format("nobody stands at {}", item.station), "name a station with people");
  }
  const Node* feeds = fields.node().find("feeds");
  for (std::size_t i = 0; i < item.feeds.size() && feeds != nullptr && i < feeds->items.size(); ++i) {
    refuse_unknown(item.feeds[i], ids_of(kitchen.components), "component", feeds->items[i], faults);
  }
  if (item.only_for.empty() && fields.has("spare")) {
    faults.add(fields.place("spare"), "\"spare\" without \"only_for\"", "the ratio says how many more to have");
  }
  if (item.first_birth && !item.life) {
    faults.add(fields.place("first_at"), fmt::format("\"{}\" has no batch with a \"life_min\"", item.id),
               "only short-lived batches are made again during the service");
  }
}

PrepItem read_item(const Node& node, const Kitchen& kitchen, const BatchSheet& batches, Faults& faults) {
  Fields fields(node, "a prep item", faults);
  PrepItem out;
  out.id = fields.need_id("id");
  out.name = fields.text("name");
  out.batch = fields.text("batch");
  out.station = fields.need_text("station");
  out.feeds = fields.texts("feeds");
  out.into = fields.texts("into");
  out.portion_g = fields.number("portion_g", grams).value_or(0);
  if (fields.has("only_for")) {
    const Node& at = fields.place("only_for");
    fields.skip("only_for");
    out.only_for = read_allergen(at, faults);
  }
  out.spare = static_cast<int>(fields.whole("spare", {0, 1000}).value_or(0));
  out.ratio = fields.number("ratio", {0.01, 0.999});
  for (const Node& raw : fields.list("raw")) out.raw.push_back(read_raw(raw, faults));
  if (const Node* make = fields.object("make")) read_make(*make, out, faults);
  out.ready = fields.clock("ready_at");
  out.earliest = fields.clock("not_before");
  out.holds = fields.span("holds_min", {0, 24 * 60}, a_minute);
  out.first_birth = fields.clock("first_at");
  const auto& steps = fields.list("steps");
  for (const Node& step : steps) out.steps.push_back(read_step(step, faults));
  out.kept_in = fields.text("kept_in");
  out.kept_c = fields.number("kept_c", celsius);
  fields.finish();
  take_from_batch(batches, out, fields.place("batch"), faults);
  if (fields.is_object() && out.name.empty() && out.batch.empty()) {
    faults.add(node, "a prep item without a name", "give \"name\", or \"batch\" to take it from there");
  }
  if (fields.is_object() && out.feeds.empty() == out.into.empty()) {
    faults.add(node, fmt::format("\"{}\" goes into {}", out.id, out.feeds.empty() ? "nothing" : "two kinds of thing"),
               "list the components it goes into in \"feeds\", or the items in \"into\"");
  }
  const bool weighs = std::any_of(out.steps.begin(), out.steps.end(), [](const PrepStep& step) {
    return step.kind == PrepKind::chill || step.kind == PrepKind::reduce || step.per_kg > Duration::zero();
  });
  if (weighs && out.portion_g <= 0) {
    faults.add(node, fmt::format("a step of \"{}\" goes by weight, but a portion has none", out.id),
               "give \"portion_g\"");
  }
  check_item(out, fields, kitchen, faults);
  check_steps(out, steps, kitchen, faults);
  return out;
}

void read_mix(const Node& node, const Kitchen& kitchen, PrepSheet& sheet, Faults& faults) {
  for (std::size_t i = 0; i < node.keys.size(); ++i) {
    const std::string& course = node.keys[i].name;
    const auto courses = ids_of(kitchen.courses);
    if (std::find(courses.begin(), courses.end(), course) == courses.end()) {
      faults.add_key(node, i, fmt::format("there is no course \"{}\"", course), suggest(course, courses));
      continue;
    }
    const Node& dishes = node.items[i];
    if (dishes.kind != Node::Kind::object) {
      faults.add(dishes, fmt::format("the mix of {} should be an object", course), "write { \"dish\": 0.40, ... }");
      continue;
    }
    double sum = 0;
    for (std::size_t d = 0; d < dishes.keys.size(); ++d) {
      const std::string& dish = dishes.keys[d].name;
      const Dish* known = kitchen.find_dish(dish);
      if (known == nullptr || known->course != course) {
        faults.add_key(dishes, d, fmt::format("there is no dish \"{}\" among the {}", dish, course),
                       suggest(dish, ids_of(kitchen.dishes)));
        continue;
      }
      if (!dishes.items[d].is_number() || dishes.items[d].number < 0 || dishes.items[d].number > 1) {
        faults.add(dishes.items[d], "a share should be a number from 0 to 1", "");
        continue;
      }
      sheet.mix[course][dish] = dishes.items[d].number;
      sum += dishes.items[d].number;
    }
    if (sum > 1 + 1e-9) {
      faults.add(dishes, fmt::format("the shares of {} add up to {:.6g}", course, sum), "they add up to at most 1");
    }
  }
}

Stock read_stock(const Node& node, const PrepSheet& sheet, Faults& faults) {
  Fields fields(node, "a piece of stock", faults);
  Stock out;
  out.item = fields.need_text("item");
  out.portions = static_cast<int>(fields.need_whole("portions", {0, 100'000}));
  out.use_by_days = static_cast<int>(fields.need_whole("use_by_days", {-3650, 3650}));
  out.where = fields.text("where");
  fields.finish();
  if (!out.item.empty()) refuse_unknown(out.item, ids_of(sheet.items), "prep item", fields.place("item"), faults);
  return out;
}

PrepBreak read_break(const Node& node, Faults& faults) {
  Fields fields(node, "a break", faults);
  PrepBreak out;
  out.from = fields.need_clock("from");
  out.to = fields.need_clock("to");
  out.word = fields.text("word", "break");
  fields.finish();
  if (fields.has("from") && fields.has("to") && out.to <= out.from)
    faults.add(node, "a break that ends before it begins", "\"to\" is later than \"from\"");
  return out;
}

void read_sheet(const Node& root, const Kitchen& kitchen, const BatchSheet& batches, PrepSheet& sheet, Faults& faults) {
  Fields fields(root, "the file", faults);
  fields.skip("$schema");
  fields.text("description");
  sheet.begins = fields.need_clock("begins_at");
  sheet.line_check = fields.need_clock("line_check_at");
  sheet.open_needs_check = fields.flag("open_needs_check", false);
  sheet.ratio = fields.number("ratio", {0.01, 0.999}).value_or(sheet.ratio);
  sheet.no_show = fields.number("no_show", {0, 0.9}).value_or(0);
  sheet.spread = fields.number("spread", {0, 0.9}).value_or(sheet.spread);
  sheet.orders_after = span_or_zero(fields, "orders_after_min");
  sheet.course_after = span_or_zero(fields, "course_after_min");
  sheet.plates_sd = span_or_zero(fields, "plates_sd_min");
  sheet.slack = span_or_zero(fields, "slack_min");
  if (const Node* mix = fields.need_object("mix")) read_mix(*mix, kitchen, sheet, faults);
  for (const Node& node : fields.list("breaks")) sheet.breaks.push_back(read_break(node, faults));
  std::vector<const Node*> places;
  for (const Node& node : fields.need_list("items")) {
    PrepItem item = read_item(node, kitchen, batches, faults);
    for (const std::string& above : item.into) {
      const Node* at = node.find("into");
      if (sheet.find(above) == nullptr) {
        faults.add(at == nullptr ? node : *at, fmt::format("no item in front of this one is called \"{}\"", above),
                   suggest(above, ids_of(sheet.items)));
      }
    }
    sheet.items.push_back(std::move(item));
    places.push_back(&node);
  }
  refuse_duplicates(ids_of(sheet.items), places, "prep item", faults);
  for (const Node& node : fields.list("stock")) sheet.stock.push_back(read_stock(node, sheet, faults));
  fields.finish();
  if (fields.has("begins_at") && fields.has("line_check_at") && sheet.line_check <= sheet.begins)
    faults.add(fields.place("line_check_at"), "the line check is before the day begins", "correct one of the two");
  for (const CourseName& course : kitchen.courses) {
    if (fields.has("mix") && sheet.mix.count(course.id) == 0)
      faults.add(fields.place("mix"), fmt::format("nothing says what the guests take of the {}", course.id),
                 fmt::format("add \"{}\" with a share for each dish", course.id));
  }
}

}  // namespace

const PrepItem* PrepSheet::find(std::string_view id) const {
  const auto found = std::find_if(items.begin(), items.end(), [&](const PrepItem& one) { return one.id == id; });
  return found == items.end() ? nullptr : &*found;
}

Loaded<PrepSheet> load_prep(const File& file, const Kitchen& kitchen, const BatchSheet& batches) {
  return load_sheet<PrepSheet>(file, "prep", [&](const Node& root, PrepSheet& sheet, Faults& faults) {
    read_sheet(root, kitchen, batches, sheet, faults);
  });
}

}  // namespace nappe::kitchen
