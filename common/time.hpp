#pragma once
// Time as the core knows it: it is always handed in, never asked for.

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace nappe {

/// A length of time, whole milliseconds.
using Duration = std::chrono::milliseconds;

/// A moment of kitchen time (UTC), whole milliseconds since 1970. In a rehearsal or a demo it is virtual time.
using Instant = std::chrono::sys_time<Duration>;

/// Whole seconds, rounded towards zero.
constexpr Duration seconds(std::int64_t n) { return std::chrono::seconds(n); }
constexpr Duration minutes(std::int64_t n) { return std::chrono::minutes(n); }

/// Milliseconds since 1970, as screens and commands carry an instant.
constexpr std::int64_t to_ms(Instant at) { return at.time_since_epoch().count(); }
constexpr Instant from_ms(std::int64_t ms) { return Instant(Duration(ms)); }

/// A duration in seconds, with its fraction.
constexpr double in_seconds(Duration d) { return static_cast<double>(d.count()) / 1000.0; }

/// The nearest whole millisecond to this many seconds.
Duration from_seconds(double s);

/// RFC 3339 in UTC with milliseconds: "2026-11-20T19:42:25.000Z".
std::string to_rfc3339(Instant at);

/// Reads RFC 3339 (any offset, any number of fraction digits); nothing if it is not one.
std::optional<Instant> from_rfc3339(std::string_view text);

/// "19:42:25" at this offset from UTC.
std::string clock_text(Instant at, Duration utc_offset = Duration::zero());

/// "4:13" or "1:02:05"; a minus sign in front when negative. Rounds to the nearest second.
std::string span_text(Duration d);

}  // namespace nappe
