#pragma once
// On what the times of a kitchen stand.

#include "common/kitchen/kitchen.hpp"

namespace nappe::kitchen {

/// The sum of usual times by where they come from.
struct OriginTimes {
  Duration said{};
  Duration timed{};
  Duration learnt{};
  [[nodiscard]] Duration all() const { return said + timed + learnt; }
  /// Of all, the share that stands on what somebody said; 0 when there is nothing.
  [[nodiscard]] double said_share() const;
  friend bool operator==(const OriginTimes&, const OriginTimes&) = default;
};

/// Of one component for n portions: usual times, usual number of rounds, rests at their minimum.
OriginTimes origin_times(const Component& component, int portions);

/// Of one portion of every dish of the card.
OriginTimes origin_times(const Kitchen& kitchen);

}  // namespace nappe::kitchen
