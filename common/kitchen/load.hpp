#pragma once
// From the files of a house to a Kitchen, or everything that is wrong with them.
//
// A house is any number of JSON files; each says by its "$schema" what it holds (config/schema): one "house", and any
// number of "stations", "components" and "dishes". Files of other kinds (bookings, batches, events, prep, rules) are
// only held to being readable here and left to their own loaders.

#include <string>
#include <string_view>
#include <vector>

#include "common/kitchen/document.hpp"
#include "common/kitchen/kitchen.hpp"

namespace nappe::kitchen {

/// Reads and checks a whole house. `rule_sets` are the ids of the food-safety rule sets there are. On any fault there
/// is no Kitchen; all faults found are returned, in the order of files, then of places.
Loaded<Kitchen> load_kitchen(const std::vector<File>& files, const std::vector<std::string>& rule_sets);

/// A line for every time in these files that was worked out from probe readings, in the order of the files: "pudding:
/// rests 4:30 to 6:00 after "unmould" (at 52 C after 4:26, ...)". For files that load without a fault.
std::vector<std::string> clocks_from_readings(const std::vector<File>& files);

/// One canonical JSON document that holds the whole kitchen: keys sorted, no blanks, defaults left out. The same
/// Kitchen gives the same bytes on every machine. `version` is not in it: it is the hash of these bytes.
std::string to_document(const Kitchen& kitchen);

/// Reads what to_document wrote (or a person's own file of kind "kitchen"), with the same checks, except that the rule
/// set is not held against a list: a journal must stay readable when a rule set has gone.
Loaded<Kitchen> from_document(std::string_view text);

/// FNV-1a, 64 bits (Fowler, Noll, Vo; RFC draft draft-eastlake-fnv), as sixteen hexadecimal digits. Tells versions
/// apart; it is no seal against forgery.
std::string fnv1a_hex(std::string_view bytes);

}  // namespace nappe::kitchen
