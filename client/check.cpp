#include "client/check.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>
#include <ostream>

#include "common/food/rules.hpp"
#include "common/kitchen/allergen.hpp"
#include "common/kitchen/batches.hpp"
#include "common/kitchen/bookings.hpp"
#include "common/kitchen/events.hpp"
#include "common/kitchen/load.hpp"
#include "common/kitchen/near.hpp"
#include "common/kitchen/origin.hpp"
#include "common/kitchen/prep.hpp"
#include "common/kitchen/worth.hpp"
#include "common/words.hpp"

namespace nappe::client {
namespace {

namespace fs = std::filesystem;
using kitchen::Fault;
using kitchen::File;
using kitchen::Kitchen;

// What a file says it holds; the loaders report one that says nothing.
std::string kind_of(const File& file) {
  const auto root = kitchen::read_document(file);
  const kitchen::Node* schema = root ? root.value->find("$schema") : nullptr;
  if (schema == nullptr) return {};
  const std::string leaf = fs::path(schema->text).filename().string();
  return leaf.substr(0, leaf.find('.'));
}

void append(std::vector<Fault>& to, std::vector<Fault> more) {
  std::move(more.begin(), more.end(), std::back_inserter(to));
}

// A rule set's parser answers a pointer; the place is found by reading the file once more.
Fault rules_fault(const File& file, const Error& error) {
  Fault fault{file.path, 1, 1, error.where, error.detail, ""};
  const auto root = kitchen::read_document(file);
  const kitchen::Node* at = root ? &*root.value : nullptr;
  while (at != nullptr && at->pointer != error.where) {
    const auto next = std::find_if(at->items.begin(), at->items.end(), [&](const kitchen::Node& child) {
      return error.where == child.pointer || error.where.rfind(child.pointer + "/", 0) == 0;
    });
    if (next == at->items.end()) break;
    at = &*next;
  }
  if (at != nullptr) {
    fault.line = at->line;
    fault.column = at->column;
  }
  return fault;
}

// Food stands alone and knows no allergens: their names are held against the list here.
void check_groups(const File& file, const food::RuleSet& set, std::vector<Fault>& faults) {
  if (!set.allergens) return;
  for (std::size_t i = 0; i < set.allergens->groups.size(); ++i) {
    const std::string& group = set.allergens->groups[i];
    const kitchen::Allergen* known = kitchen::find_allergen(group);
    if (known != nullptr && known->name == group) continue;
    const auto near = kitchen::nearest_allergen(group);
    faults.push_back(rules_fault(file, Error{Errc::invalid,
                                             fmt::format("\"{}\" is none of the allergens known{}", group,
                                                         near ? fmt::format("; did you mean \"{}\"?", *near) : ""),
                                             fmt::format("/allergens/groups/{}", i)}));
  }
}

std::vector<food::RuleSet> read_rule_sets(const std::string& dir, std::vector<Fault>& faults) {
  std::vector<food::RuleSet> sets;
  if (!fs::is_directory(dir)) {
    faults.push_back({dir, 1, 1, "", "there is no such folder of rule sets", "put the rule sets' files there"});
    return sets;
  }
  for (const File& file : read_json_files(dir, faults)) {
    auto set = food::parse_rule_set(file.text);
    if (set) {
      check_groups(file, *set, faults);
      sets.push_back(std::move(set).value());
    } else {
      faults.push_back(rules_fault(file, set.error()));
    }
  }
  return sets;
}

struct House {
  Kitchen kitchen;
  std::optional<food::RuleSet> in_force;
  kitchen::BatchSheet batches;
  kitchen::BookingSheet bookings;
  std::size_t incidents = 0;
  std::size_t prep_items = 0;
  std::vector<std::string> clocks;  // what was worked out from probe readings
};

// The house's own rules upon the rule set it names.
void check_rules(const std::vector<File>& files, const std::vector<food::RuleSet>& sets, House& house,
                 std::vector<Fault>& faults) {
  const auto named =
      std::find_if(sets.begin(), sets.end(), [&](const food::RuleSet& set) { return set.id == house.kitchen.rules; });
  if (named == sets.end()) return;
  house.in_force = *named;
  for (const File& file : files) {
    if (kind_of(file) != "rules") continue;
    const auto own = food::parse_rule_set(file.text);
    if (!own) {
      faults.push_back(rules_fault(file, own.error()));
      continue;
    }
    const auto both = food::with_house(*house.in_force, *own);
    check_groups(file, *own, faults);
    if (both) {
      house.in_force = *both;
    } else {
      faults.push_back(rules_fault(file, both.error()));
    }
  }
}

// A chill is planned to end where cooling counted from its start must end, or colder and sooner. Stages that count from
// a temperature passed on the way are judged by readings (the record), not by a plan.
void check_chills(const File& file, const kitchen::PrepSheet& sheet, const House& house, std::vector<Fault>& faults) {
  if (!house.in_force || !house.in_force->cooling) return;
  for (const kitchen::PrepItem& item : sheet.items) {
    for (const kitchen::PrepStep& step : item.steps) {
      if (!step.chill) continue;
      for (const food::CoolingStage& stage : house.in_force->cooling->stages) {
        if (stage.from_c || (step.chill->to_c <= stage.to_c && step.chill->within <= stage.within)) continue;
        faults.push_back({file.path, 1, 1, "",
                          fmt::format("{}: chilling to {:g} C within {}, but the limit is {:g} C within {} ({})",
                                      item.id, step.chill->to_c, span_text(step.chill->within), stage.to_c,
                                      span_text(stage.within), house.in_force->cooling->source.text),
                          "chill colder, or plan for less time: the trays become shallower"});
      }
    }
  }
}

void check_sheets(const std::vector<File>& files, House& house, std::vector<Fault>& faults) {
  bool drawn = false;
  for (const File& file : files) {
    const std::string kind = kind_of(file);
    if (kind == "batches") {
      auto loaded = kitchen::load_batches(file, house.kitchen);
      append(faults, std::move(loaded.faults));
      drawn = true;
      if (loaded) house.batches = std::move(*loaded.value);
    } else if (kind == "bookings") {
      auto loaded = kitchen::load_bookings(file, house.kitchen);
      append(faults, std::move(loaded.faults));
      if (!loaded) continue;
      auto& all = house.bookings.bookings;
      std::move(loaded.value->bookings.begin(), loaded.value->bookings.end(), std::back_inserter(all));
    }
  }
  for (const File& file : files) {
    if (kind_of(file) != "events") continue;
    auto loaded = kitchen::load_events(file, house.kitchen, house.bookings);
    append(faults, std::move(loaded.faults));
    if (loaded) house.incidents += loaded.value->incidents.size();
  }
  for (const File& file : files) {
    if (kind_of(file) != "prep") continue;
    auto loaded = kitchen::load_prep(file, house.kitchen, house.batches);
    append(faults, std::move(loaded.faults));
    if (!loaded) continue;
    house.prep_items += loaded.value->items.size();
    check_chills(file, *loaded.value, house, faults);
  }
  const auto draws = std::find_if(house.kitchen.components.begin(), house.kitchen.components.end(),
                                  [](const kitchen::Component& one) { return !one.batches.empty(); });
  if (!drawn && draws != house.kitchen.components.end()) {
    faults.push_back({"", 1, 1, "", fmt::format("\"{}\" is drawn from batches, but no file holds batches", draws->id),
                      "add one whose \"$schema\" is \"../schema/batches.schema.json\""});
  }
}

std::string origin_sentence(const Kitchen& kitchen) {
  const kitchen::OriginTimes times = kitchen::origin_times(kitchen);
  const double all = in_seconds(times.all());
  const auto share = [&](Duration part) { return all > 0 ? 100 * in_seconds(part) / all : 0; };
  return fmt::format(
      "  of the minutes of the card {:.0f} % stand on what somebody said, {:.0f} % were timed, {:.0f} % "
      "learnt\n",
      share(times.said), share(times.timed), share(times.learnt));
}

std::string worth_sentence(const Kitchen& kitchen) {
  const auto tight = kitchen::tightest_stations(kitchen);
  if (tight.empty()) return {};
  std::string out =
      fmt::format("  {} is the tightest station; for each of its minutes (two portions a pan):", tight.front().station);
  const auto worth = kitchen::worth_of(kitchen, tight.front().station);
  for (std::size_t i = 0; i < worth.size(); ++i) {
    out += fmt::format("{} {} {:.2f}", i == 0 ? "" : ",", worth[i].dish, worth[i].pence_per_minute / 100);
  }
  return out + "\n";
}

// Which of the card's allergens the rule set in force wants declared, and which are held besides.
std::string allergen_sentence(const House& house) {
  if (!house.in_force || !house.in_force->allergens) return {};
  std::vector<std::string> declared;
  std::vector<std::string> besides;
  for (const kitchen::Allergen& one : kitchen::allergens()) {
    const std::string name(one.name);
    const bool held = std::any_of(house.kitchen.components.begin(), house.kitchen.components.end(), [&](const auto& c) {
      return std::find(c.allergens.begin(), c.allergens.end(), name) != c.allergens.end();
    });
    if (!held) continue;
    const auto& groups = house.in_force->allergens->groups;
    const bool asked = std::any_of(groups.begin(), groups.end(),
                                   [&](const std::string& group) { return group == one.name || group == one.group; });
    (asked ? declared : besides).push_back(name);
  }
  std::string out =
      fmt::format("  of the {} groups to be declared ({}) the card holds: {}", house.in_force->allergens->groups.size(),
                  house.in_force->allergens->source.text, fmt::join(declared, ", "));
  if (!besides.empty()) out += fmt::format("; besides: {}", fmt::join(besides, ", "));
  return out + "\n";
}

std::string many(std::size_t n, std::string_view one, std::string_view more = {}) {
  return counted(static_cast<std::int64_t>(n), one, more);
}

std::string summary(const House& house) {
  const Kitchen& k = house.kitchen;
  std::size_t people = 0;
  std::size_t steps = 0;
  int covers = 0;
  for (const auto& station : k.stations) people += station.people.size();
  for (const auto& component : k.components) steps += component.steps.size();
  for (const auto& booking : house.bookings.bookings) covers += booking.covers;
  std::string out = fmt::format("ok: {}, version {}\n", k.name, k.version);
  out += fmt::format("  {}, {}, {}\n", many(k.stations.size(), "station"), many(people, "person", "people"),
                     many(k.tables.size(), "table"));
  out += fmt::format("  {}, {}, {}\n", many(k.dishes.size(), "dish", "dishes"), many(k.components.size(), "component"),
                     many(steps, "step"));
  out += origin_sentence(k);
  out += worth_sentence(k);
  for (const std::string& clock : house.clocks) out += fmt::format("  {}\n", clock);
  if (house.in_force) {
    out += fmt::format("  rule set {} ({}), as of {}\n", house.in_force->name, house.in_force->edition,
                       house.in_force->as_of);
  }
  out += allergen_sentence(house);
  out += fmt::format("  {}, {} for {}, {}, {} to prep\n", many(house.batches.batches.size(), "batch", "batches"),
                     many(house.bookings.bookings.size(), "booking"), counted(covers, "cover"),
                     many(house.incidents, "event"), many(house.prep_items, "thing"));
  return out;
}

}  // namespace

std::vector<File> read_json_files(const std::string& dir, std::vector<Fault>& faults) {
  std::vector<File> files;
  std::error_code error;
  for (fs::recursive_directory_iterator at(dir, error), end; !error && at != end; at.increment(error)) {
    if (at->path().extension() != ".json" || !at->is_regular_file(error)) continue;
    std::ifstream in(at->path(), std::ios::binary);
    std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    if (!in.good() && !in.eof()) {
      faults.push_back({at->path().generic_string(), 1, 1, "", "the file cannot be read", "check who may read it"});
      continue;
    }
    files.push_back({at->path().generic_string(), std::move(text)});
  }
  if (error) faults.push_back({dir, 1, 1, "", "the folder cannot be read: " + error.message(), "check its name"});
  std::sort(files.begin(), files.end(), [](const File& a, const File& b) { return a.path < b.path; });
  return files;
}

int check_command(const std::string& dir, std::ostream& out) {
  return check_command(dir, (fs::path(dir) / ".." / "rules").lexically_normal().string(), out);
}

int check_command(const std::string& dir, const std::string& rules_dir, std::ostream& out) {
  std::vector<Fault> faults;
  const std::vector<File> files = read_json_files(dir, faults);
  const std::vector<food::RuleSet> sets = read_rule_sets(rules_dir, faults);
  if (files.empty() && faults.empty()) {
    faults.push_back({dir, 1, 1, "", "there is no kitchen file here", "name the folder that holds house.json"});
  }
  std::vector<std::string> known;
  for (const food::RuleSet& set : sets) known.push_back(set.id);
  if (!files.empty()) {
    auto loaded = kitchen::load_kitchen(files, known);
    append(faults, std::move(loaded.faults));
    if (loaded) {
      House house;
      house.kitchen = std::move(*loaded.value);
      house.clocks = kitchen::clocks_from_readings(files);
      check_rules(files, sets, house, faults);
      check_sheets(files, house, faults);
      if (faults.empty()) {
        out << summary(house);
        return 0;
      }
    } else {
      append(faults,
             {{"", 1, 1, "", "batches, bookings and events were not held against the house", "correct it first"}});
    }
  }
  for (const Fault& fault : faults) out << kitchen::to_string(fault) << '\n';
  return 1;
}

}  // namespace nappe::client
