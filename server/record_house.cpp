#include "server/record_house.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "common/food/rules.hpp"
#include "common/kitchen/batches.hpp"
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
  for (const kitchen::Batch& batch : sheet.batches) {
    const std::string& id = batch.id;
    if (id.size() > kind.size() + 1 && id.starts_with(kind + "_") &&
        id.find_first_not_of("0123456789", kind.size() + 1) == std::string::npos)
      return &batch;
  }
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

Status complete_batch(const KitchenFolders& folders, const kitchen::Kitchen& kitchen, line::MakeBatch& batch) {
  for (const kitchen::File& file : json_files(folders.house)) {
    if (!has_schema(file, "batches")) continue;
    const auto sheet = kitchen::load_batches(file, kitchen);
    if (!sheet) return Error{Errc::invalid, kitchen::to_string(sheet.faults.front())};
    if (const kitchen::Batch* known = find_kind(*sheet.value, batch.kind)) fill(*known, kitchen, batch);
  }
  return Done{};
}

}  // namespace nappe::server
