#pragma once
// `nappe check DIR`: reads the files of a house and says everything that is wrong with them.

#include <iosfwd>
#include <string>
#include <vector>

#include "common/kitchen/document.hpp"

namespace nappe::client {

/// Every *.json below a folder, sorted by path; `path` begins with the folder as it was given.
/// A file that cannot be read becomes a fault.
std::vector<kitchen::File> read_json_files(const std::string& dir, std::vector<kitchen::Fault>& faults);

/// Checks the house in `dir`: its kitchen, batches, bookings, events and own rules. Rule sets are read from the folder
/// "rules" beside it. Prints "ok" and a summary and answers 0, or prints one fault a line
/// ("file:line:column: pointer: what; hint") and answers 1.
int check_command(const std::string& dir, std::ostream& out);

/// The same with another folder of rule sets.
int check_command(const std::string& dir, const std::string& rules_dir, std::ostream& out);

}  // namespace nappe::client
