#pragma once
// What a rehearsal was asked, to be repeated with its answer.

#include <cstdint>
#include <string>
#include <vector>

#include "common/rehearse/stage.hpp"

namespace nappe::rehearse {

struct Asked {
  std::string title;  ///< Of the house and the sheets.
  std::uint64_t seed = 1;
  std::string rule = "planner";  ///< "planner", "alone", ...
  double prompt = 0.5;
  double bias = 1;
  double scatter = 1;
  bool as_booked = false;
  std::vector<std::string> changed;  ///< "without Pudding", "Garnish: 3 pairs of hands instead of 2, ..."
};

/// "Larkfold, Friday, 48 covers"; says how many they come to when that is not what the sheet was made for.
std::string title_of(const std::string& house, const std::string& sheets, int sheets_added, int booked, int covers);

/// What the variant changes, against the house as its files have it; also what was asked for and is so already.
std::vector<std::string> changes_in_words(const kitchen::Kitchen& house, const Stage& stage, const Variant& variant);

/// The rest of it and the changes, in one sentence.
std::string asked_sentence(const Asked& asked);

}  // namespace nappe::rehearse
