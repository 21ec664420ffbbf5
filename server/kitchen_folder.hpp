#pragma once
// The house as it stands in its folder of JSON files.

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "common/kitchen/kitchen.hpp"
#include "common/result.hpp"

namespace nappe::server {

/// Where the files are.
struct KitchenFolders {
  std::filesystem::path house;
  std::filesystem::path rules;  ///< Of the rule sets there are (config/rules).
};

/// The house, or what is wrong with its files, one line each as a person reads them.
struct KitchenRead {
  std::optional<kitchen::Kitchen> kitchen;
  std::vector<std::string> faults;
};

/// Reads every *.json under the folders, in the order of their names, and checks the house.
KitchenRead read_kitchen(const KitchenFolders& folders);

/// What the house wants checked before a service opens: the items of its prep file, if that says so; else nothing.
Result<std::vector<std::string>> read_line_check(const KitchenFolders& folders);

/// The document of the folder's house, or the first fault and how many more there are.
Result<std::string> read_kitchen_document(const KitchenFolders& folders);

}  // namespace nappe::server
