#include "server/record_house.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "common/food/rules.hpp"
#include "common/kitchen/batches.hpp"
#include "common/kitchen/near.hpp"
#include "server/journal.hpp"

namespace nappe::server {

namespace {

namespace fs = std::filesystem;

std::vector<kitchen::File> json_files(const fs::path& folder) {
  std::vector<kitchen::File> files;
  std::error_code error;
  for (fs::recursive_directory_iterator at(folder, error), end; !error && at != end; at.increment(error)) {
    if (!at->is_regular_file(error) || at->path().extension() != ".json") continue;
    std::ifstream in(at->path(), std::ios::binary);
    files.push_back({at->path().string(), {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()}});
  }
  std::sort(files.begin(), files.end(), [](const auto& a, const auto& b) { return a.path < b.path; });
  return files;
}

/// "rules" for a file whose "$schema" ends in "rules.schema.json".
bool has_schema(const kitchen::File& file, const std::string& kind) {
  const auto json = nlohmann::json::parse(file.text, nullptr, false, true);
  if (!json.is_object()) return false;
  const auto schema = json.find("$schema");
  return schema != json.end() && schema->is_string() &&
         schema->get<std::string>().ends_with("/" + kind + ".schema.json");
}

std::optional<int> whole_minutes(const std::optional<Duration>& span) {
  if (!span) return {};
  return static_cast<int>(std::chrono::duration_cast<std::chrono::minutes>(*span).count());
}

/// The batch of that kind; "emulsion" is also the first of "emulsion_1", "emulsion_2".
const kitchen::Batch* find_kind(const kitchen::BatchSheet& sheet, const std::string& kind) {
  if (const kitchen::Batch* exact = sheet.find(kind)) return exact;
  for (const kitchen::Batch& batch : sheet.batches)
    if (kitchen::stem_of(batch.id) == kind) return &batch;
  return nullptr;
}

void fill(const kitchen::Batch& known, const kitchen::Kitchen& kitchen, line::MakeBatch& batch) {
  const auto keep = [](auto& said, const auto& otherwise) {
    if (!said) said = otherwise;
  };
  keep(batch.named, known.name);
  keep(batch.kept_in, known.kept_in);
  if (known.kept_c) keep(batch.kept_c, known.kept_c);
  keep(batch.allergens, known.allergens);
  keep(batch.free_from, known.free_from);
  if (!batch.life_min && !batch.use_by_days) {
    batch.life_min = whole_minutes(known.life);
    batch.use_by_days = known.use_by_days;
  }
  if (batch.station) return;
  for (const auto& station : kitchen.stations)
    for (const auto& person : station.people)
      if (person.id == known.by) batch.station = station.id;
}

using Sheet = std::optional<kitchen::BatchSheet>;

Result<Sheet> read_sheet(const KitchenFolders& folders, const kitchen::Kitchen& kitchen) {
  for (const kitchen::File& file : json_files(folders.house)) {
    if (!has_schema(file, "batches")) continue;
    auto sheet = kitchen::load_batches(file, kitchen);
    if (!sheet) return Error{Errc::invalid, kitchen::to_string(sheet.faults.front())};
    return Sheet(std::move(*sheet.value));
  }
  return Sheet();
}

Status known_kind(const kitchen::BatchSheet& sheet, const kitchen::Kitchen& kitchen, const std::string& kind) {
  if (find_kind(sheet, kind) != nullptr || kitchen.find_component(kind) != nullptr) return Done{};
  std::vector<std::string> known;
  for (const kitchen::Batch& batch : sheet.batches)
    if (const std::string stem = kitchen::stem_of(batch.id); std::find(known.begin(), known.end(), stem) == known.end())
      known.push_back(stem);
  const std::string near = kitchen::suggest(kind, known);
  return Error{Errc::unknown,
               fmt::format("the house's sheet of batches has no \"{}\"; {}{} Something new is said with --sure "
                           "(\"sure\": true)",
                           kind, near, near.ends_with('?') ? "" : "."),
               "/kind"};
}

/// A place somebody has named before: on the sheet, for a batch, or for a reading.
Status known_place(const kitchen::BatchSheet& sheet, const line::Record& record, const std::string& place,
                   const char* where) {
  std::vector<std::string> known;
  const auto add = [&](const std::string& name) {
    if (!name.empty() && std::find(known.begin(), known.end(), name) == known.end()) known.push_back(name);
  };
  for (const kitchen::Batch& batch : sheet.batches) add(batch.kept_in);
  for (const auto& [id, batch] : record.batches) add(batch.kept_in);
  for (const auto& [name, read] : record.places) add(name);
  if (known.empty() || std::find(known.begin(), known.end(), place) != known.end()) return Done{};
  const std::string near = kitchen::suggest(place, known);
  return Error{Errc::unknown,
               fmt::format("nothing is kept in a place called \"{}\"; {}{} A new place is said with --sure "
                           "(\"sure\": true)",
                           place, near, near.ends_with('?') ? "" : "."),
               where};
}

Status complete_batch(const kitchen::BatchSheet& sheet, const line::State& state, line::MakeBatch& batch) {
  const kitchen::Kitchen& kitchen = *state.kitchen;
  if (!batch.sure) {
    if (Status fine = known_kind(sheet, kitchen, batch.kind); !fine) return fine;
    if (batch.kept_in) {
      if (Status fine = known_place(sheet, state.record(), *batch.kept_in, "/kept_in"); !fine) return fine;
    }
  }
  if (const kitchen::Batch* known = find_kind(sheet, batch.kind)) fill(*known, kitchen, batch);
  return Done{};
}

}  // namespace

Result<RuleTexts> read_rule_texts(const KitchenFolders& folders, const std::string& rules_id) {
  RuleTexts texts;
  for (const kitchen::File& file : json_files(folders.rules)) {
    const auto rules = food::parse_rule_set(file.text);
    if (rules && rules->id == rules_id) texts.rule_set = file.text;
  }
  if (texts.rule_set.empty())
    return Error{Errc::invalid,
                 fmt::format("{}: no file of rule sets here is called \"{}\"", folders.rules.string(), rules_id)};
  for (const kitchen::File& file : json_files(folders.house))
    if (has_schema(file, "rules")) texts.house = file.text;
  texts.digest = digest_of(texts.rule_set + '\n' + texts.house);
  return texts;
}

Status complete_action(const KitchenFolders& folders, const line::State& state, line::Action& action) {
  auto* const make = std::get_if<line::MakeBatch>(&action);
  const auto* const move = std::get_if<line::MoveBatch>(&action);
  const auto* const reading = std::get_if<line::TakeReading>(&action);
  if (make == nullptr && move == nullptr && reading == nullptr) return Done{};
  const auto sheet = read_sheet(folders, *state.kitchen);
  if (!sheet) return sheet.error();
  if (!*sheet) return Done{};  // the house keeps no sheet: nothing to be held against
  if (make != nullptr) return complete_batch(**sheet, state, *make);
  if (move != nullptr)
    return move->sure ? Status(Done{}) : known_place(**sheet, state.record(), move->kept_in, "/kept_in");
  if (!reading->place || reading->sure) return Done{};
  return known_place(**sheet, state.record(), *reading->place, "/place");
}

}  // namespace nappe::server
