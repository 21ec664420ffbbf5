#pragma once
// What the fridge holds, from the batches of the record instead of a count on the prep sheet.

#include <optional>
#include <string>
#include <vector>

#include "common/kitchen/bookings.hpp"
#include "common/kitchen/prep.hpp"
#include "common/time.hpp"

namespace nappe::mise {

/// A batch of the record of which something is left.
struct LiveBatch {
  std::string id;
  std::string kind;
  std::optional<int> portions;
  std::optional<int> grams;
  std::string kept_in;
  Instant use_by{};
  std::string unfit;  ///< Why it may not be used now; empty: it may.
};

/// When the last plates of the bookings are served, on the day (by the kitchen's clock) that `now` lies in.
Instant last_plates(const kitchen::Kitchen& kitchen, const kitchen::PrepSheet& sheet,
                    const kitchen::BookingSheet& bookings, Instant now, Duration utc_offset);

/// The stock of every item of the sheet: batches of its kind. In date is what lasts to the last plates; portions are
/// whole portions of what was weighed. What ends before, is not counted, has no label or is still being cooled is named
/// and does not count; what is past its use-by at `now` is to be thrown.
std::vector<kitchen::Stock> live_stock(const kitchen::PrepSheet& sheet, const std::vector<LiveBatch>& batches,
                                       Instant now, Instant last_plates, Duration utc_offset);

}  // namespace nappe::mise
