#pragma once
// What the house's files add to commands about the record: the rules in force, and what the sheet of batches knows.

#include <string>

#include "common/kitchen/kitchen.hpp"
#include "common/line/command.hpp"
#include "common/result.hpp"
#include "server/kitchen_folder.hpp"

namespace nappe::server {

struct RuleTexts {
  std::string rule_set;  ///< The file of the rule set that the house names.
  std::string house;     ///< The house's own stricter rules; empty if it has none.
  std::string digest;
};

/// Reads them anew; `invalid` names the file that is missing or wrong.
Result<RuleTexts> read_rule_texts(const KitchenFolders& folders, const std::string& rules_id);

/// Fills what the command leaves out from the house's sheet of batches, if that knows the kind.
Status complete_batch(const KitchenFolders& folders, const kitchen::Kitchen& kitchen, line::MakeBatch& batch);

}  // namespace nappe::server
