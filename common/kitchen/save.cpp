// A Kitchen as one canonical JSON document.

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "common/kitchen/load.hpp"

#include "common/bits.hpp"

namespace nappe::kitchen {
namespace {

using Json = nlohmann::json;  // its objects are sorted by key: that is what makes the document canonical

Json seconds_of(Duration d) {
  if (d.count() % 1000 == 0) return d.count() / 1000;
  return static_cast<double>(d.count()) / 1000.0;
}

// Read back by rounding to a millisecond: what was read is what is written.
Json minutes_of(Duration d) {
  if (d.count() % 60'000 == 0) return d.count() / 60'000;
  return static_cast<double>(d.count()) / 60'000.0;
}

// A number that is whole is written as one, so that 63 and 63.0 in a file are the same kitchen.
Json plain_number(double value) {
  if (!(std::abs(value) < 1e15)) return value;  // also not-a-number: no file can give it
  const auto whole = static_cast<std::int64_t>(value);
  if (static_cast<double>(whole) == value) return whole;
  return value;
}

void put_text(Json& to, const char* key, const std::string& text) {
  if (!text.empty()) to[key] = text;
}
void put_number(Json& to, const char* key, std::optional<double> value) {
  if (value) to[key] = plain_number(*value);
}
void put_span(Json& to, const char* key, Duration value, Duration otherwise = Duration::zero()) {
  if (value != otherwise) to[key] = seconds_of(value);
}

Json cue_json(const Cue& cue) {
  Json out = Json::object();
  put_text(out, "look", cue.look);
  put_text(out, "sound", cue.sound);
  put_text(out, "taste", cue.taste);
  put_text(out, "too_far", cue.too_far);
  put_number(out, "core_c", cue.core_c);
  return out;
}

Json growth_json(const Growth& growth) {
  Json out = Json::object();
  put_span(out, "fixed_s", growth.fixed);
  put_span(out, "each_s", growth.each);
  return out;
}

Json step_json(const Step& step) {
  static constexpr const char* kinds[] = {"move", "wait", "rest", "plate"};
  static constexpr const char* origins[] = {"said", "timed", "learnt"};
  Json out;
  if (step.kind == StepKind::rest) {
    out["min_s"] = seconds_of(step.takes.fixed);
    out["max_s"] = seconds_of(step.rest_max);
    put_text(out, "past", step.rest_past);
  } else {
    out = growth_json(step.takes);
  }
  out["id"] = step.id;
  out["kind"] = kinds[static_cast<std::size_t>(step.kind)];
  out["word"] = step.word;
  put_text(out, "how", step.how);
  if (step.scatter != Step{}.scatter) out["scatter"] = plain_number(step.scatter);
  if (step.most) out["most"] = growth_json(*step.most);
  put_span(out, "pause_s", step.pause);
  if (step.cue) out["cue"] = cue_json(*step.cue);
  for (const Use& use : step.uses) {
    Json entry{{"equipment", use.equipment}, {"places", use.fixed}};
    if (use.each != 0) entry["places_each"] = use.each;
    out["uses"].push_back(std::move(entry));
  }
  out["origin"] = origins[static_cast<std::size_t>(step.origin)];
  return out;
}

Json rounds_json(const Rounds& rounds, const Component& component) {
  Json out{{"word", rounds.word}, {"min", rounds.min}, {"usual", rounds.usual}, {"max", rounds.max}};
  for (const auto& [count, share] : rounds.seen) out["odds"][std::to_string(count)] = plain_number(share);
  if (rounds.cue) out["cue"] = cue_json(*rounds.cue);
  if (rounds.join_before != 0) out["join_before"] = rounds.join_before;
  for (int i = rounds.first; i <= rounds.last; ++i) {
    out["steps"].push_back(step_json(component.steps[static_cast<std::size_t>(i)]));
  }
  return out;
}

Json layer_json(const Layer& layer) {
  Json out{{"id", layer.id}, {"name", layer.name}};
  put_text(out, "batch", layer.batch);
  put_number(out, "fails_c", layer.fails_c);
  put_number(out, "limit_c", layer.limit_c);
  return out;
}

Json component_json(const Component& component) {
  Json out{{"id", component.id},
           {"name", component.name},
           {"station", component.station},
           {"cap", component.cap},
           {"keep_s", seconds_of(component.keep)}};
  if (component.vessel != Component{}.vessel) out["vessel"] = component.vessel;
  for (std::size_t i = 0; i < component.steps.size(); ++i) {
    const Step& step = component.steps[i];
    if (step.group < 0) {
      out["steps"].push_back(step_json(step));
      continue;
    }
    const Rounds& rounds = component.groups[static_cast<std::size_t>(step.group)];
    out["steps"].push_back(Json{{"rounds", rounds_json(rounds, component)}});
    i = static_cast<std::size_t>(rounds.last);
  }
  if (!component.allergens.empty()) out["allergens"] = component.allergens;
  if (!component.without.empty()) out["without"] = component.without;
  if (!component.batches.empty()) out["batches"] = component.batches;
  if (component.join_before_step) {
    out["join_before_step"] = component.steps[static_cast<std::size_t>(*component.join_before_step)].id;
  }
  if (component.plated_c) {
    out["plated_c"] =
        Json{{"min_c", plain_number(component.plated_c->min_c)}, {"max_c", plain_number(component.plated_c->max_c)}};
  }
  put_number(out, "fails_c", component.fails_c);
  put_number(out, "limit_c", component.limit_c);
  for (const Layer& layer : component.layers) out["layers"].push_back(layer_json(layer));
  return out;
}

Json dish_json(const Dish& dish) {
  Json out{{"id", dish.id},         {"letter", dish.letter},           {"name", dish.name},
           {"course", dish.course}, {"price_pence", dish.price_pence}, {"food_cost_pence", dish.food_cost_pence}};
  put_text(out, "card", dish.card);
  for (const Part& part : dish.parts) {
    Json entry{{"component", part.component}};
    if (part.can_be_left_off) entry["can_be_left_off"] = true;
    put_text(entry, "on", part.on);
    out["parts"].push_back(std::move(entry));
  }
  return out;
}

Json station_json(const Station& station) {
  Json out{{"id", station.id}, {"name", station.name}};
  for (const Person& person : station.people) {
    Json entry{{"id", person.id}, {"name", person.name}};
    if (person.counts != 1.0) entry["counts"] = plain_number(person.counts);
    out["people"].push_back(std::move(entry));
  }
  for (const Equipment& kit : station.equipment) {
    out["equipment"].push_back(Json{{"id", kit.id}, {"name", kit.name}, {"places", kit.places}});
  }
  return out;
}

Json settings_json(const Settings& settings) {
  const Settings usual;
  Json out = Json::object();
  put_span(out, "spread_s", settings.spread, usual.spread);
  put_span(out, "finish_allowance_s", settings.finish_allowance, usual.finish_allowance);
  put_span(out, "freeze_s", settings.freeze, usual.freeze);
  put_span(out, "unanswered_s", settings.unanswered, usual.unanswered);
  put_span(out, "undo_s", settings.undo, usual.undo);
  put_span(out, "undo_fire_s", settings.undo_fire, usual.undo_fire);
  put_span(out, "keep_warning_s", settings.keep_warning, usual.keep_warning);
  put_span(out, "relay_s", settings.relay, usual.relay);
  if (settings.prompt != usual.prompt) out["prompt"] = plain_number(settings.prompt);
  if (settings.word_chance != usual.word_chance) out["word_chance"] = plain_number(settings.word_chance);
  if (settings.load_warning != usual.load_warning) out["load_warning"] = plain_number(settings.load_warning);
  if (settings.covers_cap != usual.covers_cap) out["covers_cap"] = settings.covers_cap;
  if (settings.utc_offset_minutes != 0) out["utc_offset_minutes"] = settings.utc_offset_minutes;
  return out;
}

}  // namespace

std::string to_document(const Kitchen& kitchen) {
  Json out{{"$schema", "kitchen.schema.json"}, {"name", kitchen.name}, {"rules", kitchen.rules}};
  if (Json settings = settings_json(kitchen.settings); !settings.empty()) out["settings"] = std::move(settings);
  for (const Room& room : kitchen.rooms) {
    out["rooms"].push_back(Json{{"id", room.id}, {"name", room.name}, {"walk_s", seconds_of(room.walk)}});
  }
  for (const Table& table : kitchen.tables) {
    out["tables"].push_back(Json{{"id", table.id}, {"room", table.room}, {"seats", table.seats}});
  }
  for (const CourseName& course : kitchen.courses) {
    Json entry{{"id", course.id}, {"name", course.name}};
    if (course.eating) {
      entry["eating"]["mean_min"] = minutes_of(course.eating->mean);
      if (course.eating->sd != Duration::zero()) entry["eating"]["sd_min"] = minutes_of(course.eating->sd);
    }
    out["courses"].push_back(std::move(entry));
  }
  for (const Station& station : kitchen.stations) out["stations"].push_back(station_json(station));
  for (const Component& component : kitchen.components) out["components"].push_back(component_json(component));
  for (const Dish& dish : kitchen.dishes) out["dishes"].push_back(dish_json(dish));
  // Texts come from a reader that refuses what is not UTF-8; a Kitchen made in memory may hold anything.
  return out.dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::string fnv1a_hex(std::string_view bytes) { return fmt::format("{:016x}", fnv1a(bytes)); }

}  // namespace nappe::kitchen
