#pragma once
// What the house's files add to commands about the record: the rules in force, and what the sheet of batches knows.

#include <string>

#include "common/kitchen/kitchen.hpp"
#include "common/line/command.hpp"
#include "common/line/state.hpp"
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

/// Fills what a command about the record leaves out from the house's sheet of batches, and holds what it names against
/// that sheet: a kind of batch nobody knows, or a place nobody has named before, is `unknown` unless it is said again
/// (`sure`). A house without such a sheet is asked nothing. `state` must have a kitchen.
Status complete_action(const KitchenFolders& folders, const line::State& state, line::Action& action);

}  // namespace nappe::server
