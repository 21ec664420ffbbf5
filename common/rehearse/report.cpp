#include "common/rehearse/report.hpp"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <utility>

#include "common/rehearse/helped.hpp"

namespace nappe::rehearse {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::array<std::pair<Rule, std::string_view>, 4> rule_names{
    {{Rule::at_fire, "at_fire"}, {Rule::fixed, "fixed"}, {Rule::alone, "alone"}, {Rule::planner, "planner"}}};

// The error of one night is not known: null.
Json error_of(const Estimate& one) { return one.error_known() ? Json(one.error) : Json(); }

Json json_of(const Estimate& one) { return {{"mean", one.mean}, {"standard_error", error_of(one)}}; }

Json json_of(const Stage& stage, const StationSummary& station) {
  Json load = Json::array();
  for (const SlotLoad& slot : station.load)
    load.push_back({{"from", hour_text(stage, slot.start)},
                    {"mean", slot.mean.mean},
                    {"standard_error", error_of(slot.mean)},
                    {"low", slot.low},
                    {"high", slot.high}});
  return {{"id", station.id},
          {"name", station.name},
          {"hands", station.hands},
          {"worst_quarter_hour", json_of(station.worst)},
          {"nights_over_90_percent", json_of(station.over)},
          {"fullest_from", hour_text(stage, station.fullest)},
          {"fullest_load", station.fullest_load},
          {"move_waits_s", station.waited_s},
          {"last_of_late_courses", station.last_of_late},
          {"load", std::move(load)}};
}

Json json_of(const ComponentSummary& component) {
  return {{"id", component.id},
          {"name", component.name},
          {"keep_s", component.keep_s},
          {"pans_a_night", json_of(component.pans)},
          {"past_window", json_of(component.past)},
          {"standing_s", json_of(component.standing)}};
}

// Both counted over the same nights, so that they may be added.
Json json_of(const Change& change, const std::string& tightest) {
  return {{"name", change.name},
          {"nights", change.nights},
          {"before",
           {{"late_against_the_table_alone", json_of(change.late_alone_before)},
            {"past_window", json_of(change.past_before)}}},
          {"difference",
           {{"late_against_the_table_alone", json_of(change.late_alone)},
            {"past_window", json_of(change.past)},
            {"worst_quarter_hour_of_" + tightest, json_of(change.worst)}}},
          {"told_from_luck",
           {{"late_against_the_table_alone", told_from_luck(change.late_alone)},
            {"past_window", told_from_luck(change.past)}}}};
}

}  // namespace

std::string_view rule_name(Rule rule) {
  return std::find_if(rule_names.begin(), rule_names.end(), [&](const auto& one) { return one.first == rule; })->second;
}

std::optional<Rule> rule_from(std::string_view name) {
  for (const auto& [rule, known] : rule_names)
    if (known == name) return rule;
  return std::nullopt;
}

std::string to_json(const Asked& asked, const Stage& stage, const Summary& summary, const std::vector<Change>& changes,
                    const std::vector<std::string>& sentences, const std::vector<CurvePoint>& curve) {
  Json out;
  out["title"] = asked.title;
  out["kitchen"] = stage.kitchen->version;
  out["seed"] = asked.seed;
  out["nights"] = summary.nights;
  out["covers"] = summary.covers;
  out["plan"] = asked.rule;
  out["prompt"] = asked.prompt;
  out["bias"] = asked.bias;
  out["scatter"] = asked.scatter;
  out["as_booked"] = asked.as_booked;
  out["changed"] = asked.changed;
  out["answers"] = sentences;
  out["late"] = json_of(summary.late);
  out["late_against_the_table_alone"] = json_of(summary.late_alone);
  out["gone_by_the_word"] = json_of(summary.kept);
  out["past_window"] = json_of(summary.past);
  out["standing_s"] = json_of(summary.standing);
  out["spread_s"] = json_of(summary.spread);
  out["fire_to_gone_min"] = json_of(summary.wait);
  out["lateness_min"] = {{"from", summary.lateness_from}, {"courses", summary.lateness}};
  out["unfinished_nights"] = summary.unfinished;
  out["stations"] = Json::array();
  for (const StationSummary& station : summary.stations)
    if (station.works) out["stations"].push_back(json_of(stage, station));
  out["components"] = Json::array();
  for (const ComponentSummary& component : summary.components) out["components"].push_back(json_of(component));
  out["changes"] = Json::array();
  const StationSummary* tight = summary.tightest();
  for (const Change& change : best_first(changes))
    out["changes"].push_back(json_of(change, tight == nullptr ? "nobody" : tight->id));
  for (const CurvePoint& point : curve)
    out["curve"].push_back({{"name", point.name},
                            {"late", json_of(point.late)},
                            {"past_window", json_of(point.past)},
                            {"fire_to_gone_min", json_of(point.wait)}});
  return out.dump(2) + "\n";
}

}  // namespace nappe::rehearse
