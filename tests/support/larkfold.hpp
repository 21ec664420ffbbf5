#pragma once
// The demo restaurant, read from the files that are shipped. Link nappe_kitchen.

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <stdexcept>
#include <string>
#include <vector>

#include "common/kitchen/load.hpp"

namespace nappe::tests {

inline std::string read_text(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in) throw std::runtime_error("cannot read " + path.string());
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

/// Every JSON file below config/larkfold, its path relative to that folder, sorted.
inline std::vector<kitchen::File> larkfold_files() {
  const std::filesystem::path root = std::filesystem::path(NAPPE_SOURCE_DIR) / "config" / "larkfold";
  std::vector<kitchen::File> files;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(root)) {
    if (entry.path().extension() != ".json") continue;
    files.push_back({std::filesystem::relative(entry.path(), root).generic_string(), read_text(entry.path())});
  }
  std::sort(files.begin(), files.end(), [](const auto& a, const auto& b) { return a.path < b.path; });
  return files;
}

/// Larkfold as it is shipped; throws with every fault if it does not load.
inline kitchen::Kitchen larkfold() {
  auto loaded = kitchen::load_kitchen(larkfold_files(), {"england"});
  if (loaded) return std::move(*loaded.value);
  std::string all = "Larkfold does not load:";
  for (const kitchen::Fault& fault : loaded.faults) all += "\n" + kitchen::to_string(fault);
  throw std::runtime_error(all);
}

}  // namespace nappe::tests
