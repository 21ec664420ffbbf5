#pragma once
// What has to be made for a service: portions by the newsvendor's quantile, less what the fridge holds, raw weights
// through yields, rounded up to the batches the kit allows.

#include <optional>
#include <string>
#include <vector>

#include "common/kitchen/bookings.hpp"
#include "common/kitchen/prep.hpp"

namespace nappe::mise {

/// What is asked besides the files.
struct PrepTerms {
  std::optional<double> ratio;  ///< Instead of the sheet's cu / (cu + co), for every item.
  bool as_booked = false;  ///< Orders that stand on the sheet of bookings are pre-orders; else only the mix counts.
};

/// An ingredient, as it is bought or taken from the shelf.
struct RawNeed {
  std::string ingredient;
  double grams = 0;
  friend bool operator==(const RawNeed&, const RawNeed&) = default;
};

/// Portions one batch of a short-lived thing is for.
struct Birth {
  Duration at{};  ///< Ready by then, since midnight.
  Duration dies{};
  int portions = 0;
  double mean = 0;  ///< Expected orders in its time.
  friend bool operator==(const Birth&, const Birth&) = default;
};

/// One item of the list.
struct Need {
  std::string item;  ///< Id.
  std::string name;
  std::string station;
  double mean = 0;                    ///< Orders expected.
  double ratio = 0;                   ///< Of the quantile taken.
  int wanted = 0;                     ///< Portions to have at the line check.
  int usable = 0;                     ///< Of these in the fridge, within their date.
  int past_date = 0;                  ///< In the fridge, past their date: to be thrown by a named person.
  std::vector<kitchen::Stock> stock;  ///< What was found there, usable or not.
  int more = 0;                       ///< wanted - usable, never below 0.
  bool weighed = false;               ///< `batches` are grams, else portions.
  std::vector<double> batches;        ///< Each batch to make.
  int made_portions = 0;              ///< What these batches give.
  int short_by = 0;                   ///< Portions the kit does not allow today.
  std::vector<RawNeed> raw;           ///< For all batches.
  std::vector<Birth> births;          ///< Of a short-lived item: its batches through the service; `batches` match them.
  friend bool operator==(const Need&, const Need&) = default;
  /// Portions there will be beyond what is wanted.
  [[nodiscard]] int over() const { return made_portions - more > 0 ? made_portions - more : 0; }
  [[nodiscard]] double made() const;
};

/// P(k portions of an item are ordered): the dishes it goes into, by course; courses are independent of each other.
/// Parties are those of these bookings.
std::vector<double> item_orders(const kitchen::Kitchen& kitchen, const kitchen::PrepSheet& sheet,
                                const kitchen::PrepItem& item, const std::vector<kitchen::Booking>& bookings,
                                const PrepTerms& terms);

/// Every item of the sheet, in its order.
std::vector<Need> needs_of(const kitchen::Kitchen& kitchen, const kitchen::PrepSheet& sheet,
                           const kitchen::BookingSheet& bookings, const PrepTerms& terms);

/// portions * grams / ((1 - trim) (1 - loss)).
double raw_grams(const kitchen::Raw& raw, double portions);

/// What to make so that at least `amount` is there: whole steps, spread over as few batches as `most` allows, the
/// larger ones first. `short_of` gets what batches_max leaves undone, in the same unit.
std::vector<double> batches_of(const kitchen::PrepItem& item, double amount, double& short_of);

/// When the batches of a short-lived thing are born: the first one as late as the first plate allows, the next ones
/// ready when the one before has one making time left to live: every (life - making), until the last plate is served.
std::vector<Birth> births_of(Duration first_plate, Duration last_plate, Duration life, Duration making);

}  // namespace nappe::mise
