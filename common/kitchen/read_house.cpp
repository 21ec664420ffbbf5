// Reads the house, its stations and its dishes.

#include <fmt/format.h>

#include "common/kitchen/near.hpp"
#include "common/kitchen/read_kitchen.hpp"

namespace nappe::kitchen {
namespace {

constexpr Range chance{0, 1};

std::vector<const Node*> addresses(const std::vector<Node>& nodes) {
  std::vector<const Node*> out;
  for (const Node& node : nodes) out.push_back(&node);
  return out;
}

// Where a fault about something's id belongs: at the id, or at the thing if it has none.
std::vector<const Node*> id_places(const std::vector<Node>& nodes) {
  std::vector<const Node*> out = addresses(nodes);
  for (const Node*& node : out) {
    if (const Node* id = node->find("id")) node = id;
  }
  return out;
}

Settings read_settings(const Node& node, Faults& faults) {
  Fields fields(node, "the settings", faults);
  Settings out;
  const auto span = [&](std::string_view key, Duration& into) { into = fields.span(key, {}).value_or(into); };
  span("spread_s", out.spread);
  span("finish_allowance_s", out.finish_allowance);
  span("freeze_s", out.freeze);
  span("unanswered_s", out.unanswered);
  span("undo_s", out.undo);
  span("undo_fire_s", out.undo_fire);
  span("keep_warning_s", out.keep_warning);
  span("relay_s", out.relay);
  out.prompt = fields.number("prompt", chance).value_or(out.prompt);
  out.word_chance = fields.number("word_chance", {0.5, 0.99}).value_or(out.word_chance);
  out.load_warning = fields.number("load_warning", {0, 2, true}).value_or(out.load_warning);
  out.covers_cap = static_cast<int>(fields.whole("covers_cap", {0, 10'000}).value_or(out.covers_cap));
  out.utc_offset_minutes = fields.whole("utc_offset_minutes", {-14 * 60, 14 * 60}).value_or(out.utc_offset_minutes);
  fields.finish();
  return out;
}

Room read_room(const Node& node, Faults& faults) {
  Fields fields(node, "a room", faults);
  Room out;
  out.id = fields.need_id("id");
  out.name = fields.need_text("name");
  out.walk = fields.need_span("walk_s", {0, 3600});
  fields.finish();
  return out;
}

Table read_table(const Node& node, const std::vector<std::string>& rooms, Faults& faults) {
  Fields fields(node, "a table", faults);
  Table out;
  out.id = fields.need_id("id");
  out.room = fields.need_text("room");
  out.seats = static_cast<int>(fields.need_whole("seats", {1, 1000}));
  fields.finish();
  if (!out.room.empty()) refuse_unknown(out.room, rooms, "room", fields.place("room"), faults);
  return out;
}

// A guess that scatters by more than itself is none.
Eating read_eating(const Node& node, Faults& faults) {
  Fields fields(node, "the eating time", faults);
  Eating out;
  out.mean = fields.need_span("mean_min", {0, 600, true}, 60'000);
  out.sd = fields.span("sd_min", {0, 600}, 60'000).value_or(Duration::zero());
  fields.finish();
  if (fields.is_object() && out.mean > Duration::zero() && out.sd > out.mean) {
    faults.add(fields.place("sd_min"), "an eating time that scatters by more than its mean",
               "\"sd_min\" is the standard deviation in minutes: two tables in three are within it");
  }
  return out;
}

CourseName read_course(const Node& node, Faults& faults) {
  Fields fields(node, "a course", faults);
  CourseName out;
  out.id = fields.need_id("id");
  out.name = fields.need_text("name");
  if (const Node* eating = fields.object("eating")) out.eating = read_eating(*eating, faults);
  fields.finish();
  return out;
}

Person read_person(const Node& node, Faults& faults) {
  Fields fields(node, "a person", faults);
  Person out;
  out.id = fields.need_id("id");
  out.name = fields.need_text("name");
  out.counts = fields.number("counts", {0, 2, true}).value_or(1.0);
  fields.finish();
  return out;
}

Equipment read_equipment(const Node& node, Faults& faults) {
  Fields fields(node, "a piece of equipment", faults);
  Equipment out;
  out.id = fields.need_id("id");
  out.name = fields.need_text("name");
  out.places = static_cast<int>(fields.need_whole("places", {1, 1000}));
  fields.finish();
  return out;
}

Part read_part(const Node& node, Faults& faults) {
  Fields fields(node, "a part", faults);
  Part out;
  out.component = fields.need_text("component");
  out.can_be_left_off = fields.flag("can_be_left_off", false);
  out.on = fields.text("on");
  fields.finish();
  return out;
}

}  // namespace

void read_house(const Node& node, Kitchen& kitchen, bool whole_kitchen, Faults& faults) {
  Fields fields(node, "the house", faults);
  fields.skip("$schema");
  fields.text("description");
  if (whole_kitchen) {
    for (const std::string_view key : {"stations", "components", "dishes"}) fields.skip(key);
  }
  kitchen.name = fields.need_text("name");
  kitchen.rules = fields.need_text("rules");
  if (const Node* settings = fields.object("settings")) kitchen.settings = read_settings(*settings, faults);
  const auto& rooms = fields.need_list("rooms");
  for (const Node& room : rooms) kitchen.rooms.push_back(read_room(room, faults));
  const auto& tables = fields.need_list("tables");
  for (const Node& table : tables) kitchen.tables.push_back(read_table(table, ids_of(kitchen.rooms), faults));
  const auto& courses = fields.need_list("courses");
  for (const Node& course : courses) kitchen.courses.push_back(read_course(course, faults));
  fields.finish();
  refuse_duplicates(ids_of(kitchen.rooms), id_places(rooms), "room", faults);
  refuse_duplicates(ids_of(kitchen.tables), id_places(tables), "table", faults);
  refuse_duplicates(ids_of(kitchen.courses), id_places(courses), "course", faults);
}

Station read_station(const Node& node, Faults& faults) {
  Fields fields(node, "a station", faults);
  Station out;
  out.id = fields.need_id("id");
  out.name = fields.need_text("name");
  for (const Node& person : fields.list("people")) out.people.push_back(read_person(person, faults));
  for (const Node& kit : fields.list("equipment")) out.equipment.push_back(read_equipment(kit, faults));
  fields.finish();
  return out;
}

Dish read_dish(const Node& node, Faults& faults) {
  constexpr Range pence{0, 10'000'000};
  Fields fields(node, "a dish", faults);
  Dish out;
  out.id = fields.need_id("id");
  out.letter = fields.need_text("letter");
  out.name = fields.need_text("name");
  out.card = fields.text("card");
  out.course = fields.need_text("course");
  out.price_pence = fields.need_whole("price_pence", pence);
  out.food_cost_pence = fields.need_whole("food_cost_pence", pence);
  for (const Node& part : fields.need_list("parts")) out.parts.push_back(read_part(part, faults));
  fields.finish();
  if (!out.letter.empty() && (out.letter.size() != 1 || out.letter[0] < 'a' || out.letter[0] > 'z')) {
    faults.add(fields.place("letter"), fmt::format("\"{}\" is no letter for the floor to type", out.letter),
               "use one lower-case letter from a to z");
  }
  return out;
}

}  // namespace nappe::kitchen
