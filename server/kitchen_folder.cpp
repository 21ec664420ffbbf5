#include "server/kitchen_folder.hpp"

#include <algorithm>
#include <fstream>
#include <sstream>

#include "common/food/rules.hpp"
#include "common/kitchen/batches.hpp"
#include "common/kitchen/load.hpp"
#include "common/kitchen/prep.hpp"

namespace nappe::server {

namespace {

std::vector<std::filesystem::path> json_files(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> files;
  std::error_code error;
  for (std::filesystem::recursive_directory_iterator at(folder, error), end; !error && at != end; at.increment(error)) {
    if (at->is_regular_file(error) && at->path().extension() == ".json") files.push_back(at->path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

/// The file's text; a fault when it cannot be read.
std::optional<std::string> read_text(const std::filesystem::path& path, std::vector<std::string>& faults) {
  std::ifstream stream(path, std::ios::binary);
  std::ostringstream text;
  text << stream.rdbuf();
  if (stream) return text.str();
  faults.push_back(path.string() + ": it cannot be read");
  return std::nullopt;
}

std::vector<std::string> rule_set_ids(const std::filesystem::path& folder, std::vector<std::string>& faults) {
  std::vector<std::string> ids;
  for (const auto& path : json_files(folder)) {
    const auto text = read_text(path, faults);
    if (!text) continue;
    const auto rules = food::parse_rule_set(*text);
    if (rules) {
      ids.push_back(rules->id);
    } else {
      faults.push_back(path.string() + ":" + rules.error().where + ": " + rules.error().detail);
    }
  }
  return ids;
}

}  // namespace

KitchenRead read_kitchen(const KitchenFolders& folders) {
  KitchenRead read;
  const auto rules = rule_set_ids(folders.rules, read.faults);
  const auto paths = json_files(folders.house);
  if (paths.empty()) read.faults.push_back(folders.house.string() + ": there are no kitchen files here (*.json)");
  std::vector<kitchen::File> files;
  for (const auto& path : paths) {
    if (auto text = read_text(path, read.faults)) files.push_back({path.string(), std::move(*text)});
  }
  if (!read.faults.empty()) return read;
  auto loaded = kitchen::load_kitchen(files, rules);
  for (const auto& fault : loaded.faults) read.faults.push_back(kitchen::to_string(fault));
  read.kitchen = std::move(loaded.value);
  return read;
}

Result<std::string> read_kitchen_document(const KitchenFolders& folders) {
  const auto read = read_kitchen(folders);
  if (read.kitchen) return kitchen::to_document(*read.kitchen);
  std::string detail = read.faults.empty() ? "the kitchen files cannot be used" : read.faults.front();
  if (read.faults.size() > 1) detail += " (and " + std::to_string(read.faults.size() - 1) + " more)";
  return Error{Errc::invalid, detail};
}

Result<std::vector<std::string>> read_line_check(const KitchenFolders& folders) {
  const auto read = read_kitchen(folders);
  if (!read.kitchen)
    return Error{Errc::invalid, read.faults.empty() ? "the kitchen files cannot be used" : read.faults.front()};
  std::vector<std::string> unread;
  std::optional<kitchen::File> prep;
  kitchen::BatchSheet batches;
  for (const auto& path : json_files(folders.house)) {
    auto text = read_text(path, unread);
    if (!text) return Error{Errc::unavailable, unread.front()};
    const kitchen::File file{path.string(), std::move(*text)};
    const auto root = kitchen::read_document(file);
    const kitchen::Node* schema = root ? root.value->find("$schema") : nullptr;
    const std::string leaf = schema == nullptr ? "" : std::filesystem::path(schema->text).filename().string();
    if (leaf == "prep.schema.json") prep = file;
    if (leaf != "batches.schema.json") continue;
    auto loaded = kitchen::load_batches(file, *read.kitchen);
    if (!loaded) return Error{Errc::invalid, kitchen::to_string(loaded.faults.front())};
    batches = std::move(*loaded.value);
  }
  std::vector<std::string> wanted;
  if (!prep) return wanted;
  const auto sheet = kitchen::load_prep(*prep, *read.kitchen, batches);
  if (!sheet) return Error{Errc::invalid, kitchen::to_string(sheet.faults.front())};
  if (!sheet.value->open_needs_check) return wanted;
  for (const kitchen::PrepItem& item : sheet.value->items) wanted.push_back(item.id);
  return wanted;
}

}  // namespace nappe::server
