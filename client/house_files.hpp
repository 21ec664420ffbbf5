#pragma once
// A house's files read from its folder for the commands that reckon in advance.

#include <string>
#include <vector>

#include "common/kitchen/batches.hpp"
#include "common/kitchen/bookings.hpp"
#include "common/kitchen/kitchen.hpp"
#include "common/result.hpp"

namespace nappe::client {

/// All faults as one error, a line each.
Error faults_in_words(const std::vector<kitchen::Fault>& faults);

Result<kitchen::File> read_kitchen_file(const std::string& path);

/// The house in this folder and the JSON files found there. Which rule set it names does not matter here (`nappe check`
/// holds it against those there are).
struct HouseFiles {
  std::vector<kitchen::File> files;
  kitchen::Kitchen kitchen;
};
Result<HouseFiles> read_house_files(const std::string& folder);

/// What a file says it holds: "prep" for "../schema/prep.schema.json"; empty if it does not say.
std::string kind_of_file(const kitchen::File& file);

/// The sheets at these paths added up (none: the folder's bookings.json).
Result<kitchen::BookingSheet> read_booking_sheets(const std::string& folder, const std::vector<std::string>& paths,
                                                  const kitchen::Kitchen& kitchen);

}  // namespace nappe::client
