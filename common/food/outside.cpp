#include "common/food/outside.hpp"

#include <algorithm>

namespace nappe::food {

OutsideClock went_out(OutsideClock clock, Instant at) {
  if (clock.since) return clock;
  clock.since = at;
  ++clock.periods;
  return clock;
}

OutsideClock came_back(OutsideClock clock, Instant at) {
  if (!clock.since) return clock;
  clock.spent = outside_for(clock, at);
  clock.since.reset();
  return clock;
}

Duration outside_for(const OutsideClock& clock, Instant now) {
  return clock.spent + (clock.since ? std::max(now - *clock.since, Duration::zero()) : Duration::zero());
}

std::optional<Instant> used_up_at(const OutsideClock& clock, Duration allowance) {
  if (!clock.since) return {};
  return *clock.since + std::max(allowance - clock.spent, Duration::zero());
}

OutsideClock inherited(const std::vector<OutsideClock>& from, Instant at) {
  OutsideClock out;
  for (const OutsideClock& parent : from) {
    out.spent = std::max(out.spent, outside_for(parent, at));
    out.periods = std::max(out.periods, parent.periods);
    if (parent.since) out.since = at;
  }
  return out;
}

}  // namespace nappe::food
