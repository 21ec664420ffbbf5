#include "common/food/window.hpp"

#include <fmt/format.h>

namespace nappe::food {

Result<PlateWindow> plate_window(const std::vector<PartClock>& parts, Duration walk) {
  if (parts.empty()) return Error{Errc::invalid, "a plate needs at least one part"};
  if (walk < Duration::zero()) return Error{Errc::invalid, "the walk to the table cannot be negative"};
  PlateWindow out;
  bool first = true;
  for (const PartClock& part : parts) {
    if (part.latest && *part.latest < part.earliest) {
      return Error{Errc::invalid, fmt::format("{} is at its end ({}) before it is ready ({}): correct its window",
                                              part.part, span_text(*part.latest), span_text(part.earliest))};
    }
    const Duration opens = part.zero + part.earliest;
    if (first || opens > out.earliest) {
      out.earliest = opens;
      out.opens_with = part.part;
    }
    if (part.latest) {
      const Duration closes = part.zero + *part.latest - walk;
      if (!out.latest || closes < *out.latest) {
        out.latest = closes;
        out.closes_with = part.part;
      }
    }
    first = false;
  }
  if (out.latest && *out.latest < out.earliest) {
    return Error{
        Errc::refused,
        fmt::format("this plate has no moment: {} is ready at {} and {} has to leave by {} with a walk of {}",
                    out.opens_with, span_text(out.earliest), out.closes_with, span_text(*out.latest), span_text(walk))};
  }
  return out;
}

Moment moment(const PlateWindow& window, Duration at) {
  if (at < window.earliest) return Moment::too_early;
  if (window.latest && at > *window.latest) return Moment::too_late;
  return Moment::within;
}

}  // namespace nappe::food
