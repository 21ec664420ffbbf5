#include "common/kitchen/events.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <initializer_list>

#include "common/kitchen/near.hpp"
#include "common/kitchen/read_kitchen.hpp"

namespace nappe::kitchen {
namespace {

// In step with IncidentKind: its word, what it must have, what it may have.
struct Shape {
  std::string_view word;
  std::vector<std::string_view> needs;
  std::vector<std::string_view> may;
};

const std::vector<Shape>& shapes() {
  static const std::vector<Shape> all{
      {"booking_cancelled", {"booking"}, {}},
      {"lost", {"dish", "left"}, {}},
      {"cue_late", {"table", "course", "component", "by_s"}, {}},
      {"allergy_told", {"table", "position", "allergies"}, {}},
      {"sent_back", {"table", "course", "position", "dish", "why"}, {"borrow_from"}},
      {"arrives", {"booking", "by_s"}, {}},
      {"runs_out", {"dish", "table"}, {"tell"}},
      {"network_cut", {"station", "for_s"}, {}},
      {"table_wanted", {"table", "booking"}, {}},
      {"person_away", {"person", "for_s"}, {}},
      {"guest_away", {"table", "course", "position"}, {}},
      {"power", {"fails_at", "for_s"}, {"gas_shuts"}},
  };
  return all;
}

bool contains(const std::vector<std::string_view>& all, std::string_view one) {
  return std::find(all.begin(), all.end(), one) != all.end();
}

// Every key any kind knows, read; whether this kind wants them is checked apart.
Incident read_fields(Fields& fields, Faults& faults) {
  constexpr Range span{0, 86'400, true};
  Incident out;
  out.at = fields.need_clock("at");
  out.words = fields.need_text("words");
  out.booking = fields.text("booking");
  out.table = fields.text("table");
  out.course = fields.text("course");
  out.position = static_cast<int>(fields.whole("position", {1, 1000}).value_or(0));
  out.dish = fields.text("dish");
  out.component = fields.text("component");
  out.station = fields.text("station");
  out.person = fields.text("person");
  out.allergies = read_allergens(fields, "allergies", faults);
  out.why = fields.text("why");
  out.borrow_from = fields.text("borrow_from");
  out.tell = fields.text("tell");
  if (const auto left = fields.whole("left", {0, 100'000})) out.left = static_cast<int>(*left);
  out.by = fields.span("by_s", span).value_or(Duration::zero());
  out.lasts = fields.span("for_s", span).value_or(Duration::zero());
  out.fails = fields.clock("fails_at");
  out.gas_shuts = fields.flag("gas_shuts", false);
  return out;
}

void check_shape(const Fields& fields, const Shape& shape, Faults& faults) {
  for (const std::string_view key : shape.needs) {
    if (fields.has(key)) continue;
    faults.add(fields.node(), fmt::format("an event \"{}\" has no \"{}\"", shape.word, key),
               fmt::format("add \"{}\"", key));
  }
  const Node& node = fields.node();
  for (std::size_t i = 0; i < node.keys.size(); ++i) {
    const std::string& key = node.keys[i].name;
    if (key == "at" || key == "kind" || key == "words") continue;
    if (contains(shape.needs, key) || contains(shape.may, key)) continue;
    const bool known_elsewhere = std::any_of(shapes().begin(), shapes().end(), [&](const Shape& other) {
      return contains(other.needs, key) || contains(other.may, key);
    });
    if (!known_elsewhere) continue;  // finish() says so
    faults.add_key(node, i, fmt::format("an event \"{}\" has nothing to do with \"{}\"", shape.word, key),
                   "take it away or correct the kind");
  }
}

void check_references(const Fields& fields, const Incident& incident, const Kitchen& kitchen, const BookingSheet& sheet,
                      Faults& faults) {
  std::vector<std::string> people;
  for (const Station& station : kitchen.stations) {
    for (const Person& person : station.people) people.push_back(person.id);
  }
  const auto known = [&](std::string_view key, const std::string& id, const std::vector<std::string>& ids,
                         std::string_view thing) {
    if (!id.empty()) refuse_unknown(id, ids, thing, fields.place(key), faults);
  };
  known("booking", incident.booking, ids_of(sheet.bookings), "booking");
  known("tell", incident.tell, ids_of(sheet.bookings), "booking");
  known("table", incident.table, ids_of(kitchen.tables), "table");
  known("borrow_from", incident.borrow_from, ids_of(kitchen.tables), "table");
  known("course", incident.course, ids_of(kitchen.courses), "course");
  known("dish", incident.dish, ids_of(kitchen.dishes), "dish");
  known("component", incident.component, ids_of(kitchen.components), "component");
  known("station", incident.station, ids_of(kitchen.stations), "station");
  known("person", incident.person, people, "person");
  if (incident.fails && *incident.fails < incident.at) {
    faults.add(fields.place("fails_at"), "the power fails before it first dips", "\"fails_at\" is not before \"at\"");
  }
}

Incident read_incident(const Node& node, const Kitchen& kitchen, const BookingSheet& sheet, Faults& faults) {
  Fields fields(node, "an event", faults);
  std::vector<std::string> words;
  for (const Shape& shape : shapes()) words.emplace_back(shape.word);
  const std::size_t kind = fields.choice("kind", words, std::nullopt);
  Incident out = read_fields(fields, faults);
  out.kind = static_cast<IncidentKind>(kind);
  fields.finish();
  const Node* said = node.find("kind");
  if (said != nullptr && said->text == words[kind]) check_shape(fields, shapes()[kind], faults);
  check_references(fields, out, kitchen, sheet, faults);
  return out;
}

}  // namespace

std::string_view kind_word(IncidentKind kind) { return shapes()[static_cast<std::size_t>(kind)].word; }

Loaded<IncidentSheet> load_events(const File& file, const Kitchen& kitchen, const BookingSheet& sheet) {
  return load_sheet<IncidentSheet>(file, "events", [&](const Node& root, IncidentSheet& read, Faults& faults) {
    Fields fields(root, "the file", faults);
    fields.skip("$schema");
    fields.text("description");
    read.title = fields.need_text("title");
    for (const Node& node : fields.need_list("events")) {
      read.incidents.push_back(read_incident(node, kitchen, sheet, faults));
    }
    fields.finish();
    std::stable_sort(read.incidents.begin(), read.incidents.end(),
                     [](const Incident& a, const Incident& b) { return a.at < b.at; });
  });
}

}  // namespace nappe::kitchen
