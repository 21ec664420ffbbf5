#include "common/mise/live_stock.hpp"

#include <algorithm>

namespace nappe::mise {
namespace {

constexpr Duration after_last = minutes(30);  // as the list of wants has it (common practice, no source)

// "emulsion" of "emulsion_2".
std::string stem(const std::string& kind) {
  const auto end = kind.find_last_not_of("0123456789");
  if (end == std::string::npos || end + 1 == kind.size() || kind[end] != '_') return kind;
  return kind.substr(0, end);
}

// A batch is an item's by the item's batch, by the item itself, or by the one component it goes into.
bool is_of(const kitchen::PrepItem& item, const std::string& kind) {
  if (stem(kind) == stem(item.id)) return true;
  if (!item.batch.empty()) return stem(kind) == stem(item.batch);
  return item.feeds.size() == 1 && stem(kind) == stem(item.feeds.front());
}

std::string when(Instant at, Duration offset) {
  const std::string text = to_rfc3339(at + offset);
  return text.substr(0, 10) + " " + text.substr(11, 5);
}

kitchen::Stock stock_of(const kitchen::PrepItem& item, const LiveBatch& batch, Instant now, Instant last,
                        Duration offset) {
  kitchen::Stock out;
  out.item = item.id;
  out.batch = batch.id;
  out.where = batch.kept_in;
  out.until = when(batch.use_by, offset);
  out.unfit = batch.unfit;
  out.use_by_days = batch.use_by <= now ? -1 : 0;
  if (out.unfit.empty() && batch.use_by < last) out.unfit = "it ends " + out.until + ", before the last plates";
  if (batch.portions)
    out.portions = *batch.portions;
  else if (batch.grams && item.portion_g > 0)
    out.portions = static_cast<int>(static_cast<double>(*batch.grams) / item.portion_g + 1e-9);
  else if (out.unfit.empty())
    out.unfit = "nobody has counted it";
  return out;
}

}  // namespace

Instant last_plates(const kitchen::Kitchen& kitchen, const kitchen::PrepSheet& sheet,
                    const kitchen::BookingSheet& bookings, Instant now, Duration utc_offset) {
  Duration last = sheet.line_check;
  const int courses = static_cast<int>(kitchen.courses.size());
  for (const kitchen::Booking& booking : bookings.bookings)
    last =
        std::max(last, booking.at + booking.late + sheet.orders_after + sheet.course_after * std::max(0, courses - 1));
  return std::chrono::floor<std::chrono::days>(now + utc_offset) + last + after_last - utc_offset;
}

std::vector<kitchen::Stock> live_stock(const kitchen::PrepSheet& sheet, const std::vector<LiveBatch>& batches,
                                       Instant now, Instant last_plates, Duration utc_offset) {
  std::vector<kitchen::Stock> out;
  for (const LiveBatch& batch : batches) {
    // An item that is the batch by name comes before one it only goes into.
    const auto exact = std::find_if(sheet.items.begin(), sheet.items.end(), [&](const kitchen::PrepItem& item) {
      return stem(item.id) == stem(batch.kind) || (!item.batch.empty() && stem(item.batch) == stem(batch.kind));
    });
    const auto found = exact != sheet.items.end()
                           ? exact
                           : std::find_if(sheet.items.begin(), sheet.items.end(),
                                          [&](const kitchen::PrepItem& item) { return is_of(item, batch.kind); });
    if (found != sheet.items.end()) out.push_back(stock_of(*found, batch, now, last_plates, utc_offset));
  }
  return out;
}

}  // namespace nappe::mise
