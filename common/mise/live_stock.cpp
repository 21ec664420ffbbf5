#include "common/mise/live_stock.hpp"

#include <algorithm>

#include "common/kitchen/batches.hpp"

namespace nappe::mise {
namespace {

constexpr Duration after_last = minutes(30);  // as the list of wants has it (common practice, no source)

// A batch is an item's by the item's batch, or by the item itself ...
bool is_named(const kitchen::PrepItem& item, const std::string& kind) {
  const std::string stem = kitchen::stem_of(kind);
  return kitchen::stem_of(item.id) == stem || (!item.batch.empty() && kitchen::stem_of(item.batch) == stem);
}

// ... else by the one component it goes into.
bool is_fed_to(const kitchen::PrepItem& item, const std::string& kind) {
  return item.batch.empty() && item.feeds.size() == 1 && kitchen::stem_of(kind) == kitchen::stem_of(item.feeds.front());
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
    const auto first = [&](const auto& is) {
      return std::find_if(sheet.items.begin(), sheet.items.end(),
                          [&](const kitchen::PrepItem& item) { return is(item, batch.kind); });
    };
    auto found = first(is_named);
    if (found == sheet.items.end()) found = first(is_fed_to);
    if (found != sheet.items.end()) out.push_back(stock_of(*found, batch, now, last_plates, utc_offset));
  }
  return out;
}

}  // namespace nappe::mise
