#include "common/food/chill.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/math/constants/constants.hpp>
#include <cmath>

namespace nappe::food {
namespace {

constexpr double falling_below = 0.85;
constexpr double bound_target_max = 0.6;
constexpr double slab_coefficient_max = 4 / boost::math::constants::pi<double>();

// The run in the only terms that matter: share of the difference left, seconds since the start.
struct Shares {
  const ChillRun& run;
  double of(double celsius) const { return (celsius - run.surround_c) / (run.start_c - run.surround_c); }
  double seconds(const Reading& r) const { return in_seconds(r.at - run.started); }
  double target() const { return of(run.target_c); }
};

Status check(const ChillRun& run) {
  const Status ordered = check_curve(run.readings);
  if (!ordered) return ordered;
  if (!run.readings.empty() && run.readings.front().at < run.started) {
    return Error{Errc::invalid, "a reading is older than the start of cooling: correct the start"};
  }
  if (!(run.surround_c < run.target_c && run.target_c < run.start_c)) {
    return Error{Errc::invalid, fmt::format("cooling goes from warm to cold: the target of {:.1f} °C must lie between "
                                            "the air at {:.1f} °C and the start at {:.1f} °C",
                                            run.target_c, run.surround_c, run.start_c)};
  }
  if (run.limit <= Duration::zero() || !(run.probe_error_c >= 0)) {
    return Error{Errc::invalid, "the time allowed must be positive and the probe's error not negative"};
  }
  return Done{};
}

// Ground (1): the earliest second at which any flat tray with this reading can be at the target. The reading is taken
// as cold as the probe's error allows.
double bound_s(const Shares& shares, const Reading& reading) {
  const double left = shares.of(reading.celsius - shares.run.probe_error_c);
  // A target this close to the start falls into the lag itself, where the first term is no measure.
  if (shares.target() > bound_target_max || left <= shares.target()) return 0;
  if (left >= 1) return 0;  // nothing has been lost yet: with a perfect chiller it could still do anything
  return shares.seconds(reading) * std::log(slab_coefficient_max / shares.target()) /
         std::log(slab_coefficient_max / left);
}

// Ground (2): when a single exponential through two readings reaches the target, each reading moved by the given error.
std::optional<double> arrival_s(const Shares& shares, const Reading& first, const Reading& last, double first_error,
                                double last_error, double* tau_s = nullptr) {
  const double a = shares.of(first.celsius + first_error);
  const double b = shares.of(last.celsius + last_error);
  if (b <= 0 || a <= b) return {};
  const double tau = (shares.seconds(last) - shares.seconds(first)) / std::log(a / b);
  if (tau_s != nullptr) *tau_s = tau;
  return shares.seconds(last) + tau * std::log(b / shares.target());
}

// The readings that count: from the first one that shows the core falling.
Curve counted(const Shares& shares) {
  Curve out;
  for (const Reading& r : shares.run.readings) {
    if (!out.empty() || shares.of(r.celsius) <= falling_below) out.push_back(r);
  }
  return out;
}

// What the record alone decides; nothing while the tray is above the target and the limit is still ahead.
std::optional<ChillState> decided(const ChillRun& run) {
  const Instant due = run.started + run.limit;
  bool above_late = false;
  for (const Reading& r : run.readings) {
    if (r.celsius <= run.target_c)
      return r.at <= due ? ChillState::made : above_late ? ChillState::missed : ChillState::gap;
    above_late = above_late || r.at >= due;
  }
  return above_late ? std::optional(ChillState::missed) : std::nullopt;
}

std::string sentence_of(const ChillRun& run, const ChillOutlook& out) {
  const std::string goal = fmt::format("{:g} °C within {}", run.target_c, limit_text(run.limit));
  const auto after = [&](Instant at) { return span_text(at - run.started); };
  switch (out.state) {
    case ChillState::waiting:
      return fmt::format(
          "Too early to say whether it reaches {}: the core has not begun to fall, or it needs another "
          "reading.",
          goal);
    case ChillState::on_course:
      return fmt::format("On course for {}: expected after {}.", goal, after(*out.expected));
    case ChillState::unsure:
      return fmt::format("May miss {}: expected after {}. Read again soon.", goal, after(*out.expected));
    case ChillState::will_miss: {
      // Before the core falls there is only the bound; where both are there the later one is nearer the truth.
      const bool by_bound = !out.expected || (out.not_before && *out.not_before > *out.expected);
      return fmt::format("Will miss {} as it stands: {} {}. Split it, stir it or use ice now.", goal,
                         by_bound ? "not before" : "expected after", after(by_bound ? *out.not_before : *out.expected));
    }
    case ChillState::made:
      return fmt::format("Reached {}.", goal);
    case ChillState::missed:
      return fmt::format("Did not reach {}.", goal);
    case ChillState::gap:
      return fmt::format(
          "No reading shows whether it reached {}: treat the gap as a miss unless the responsible person "
          "decides otherwise.",
          goal);
  }
  return {};
}

Instant later(const ChillRun& run, double s) {
  // A hopeless estimate (a tray that hardly cools) stays a finite instant.
  return run.started + from_seconds(std::min(s, 365.0 * 86400));
}

void look_ahead(const ChillRun& run, ChillOutlook& out) {
  const Shares shares{run};
  double bound = 0;
  for (const Reading& r : run.readings) bound = std::max(bound, bound_s(shares, r));
  if (bound > 0) out.not_before = later(run, bound);

  const double limit_s = in_seconds(run.limit);
  const Curve falling = counted(shares);
  std::optional<double> fastest;
  std::optional<double> slowest;
  if (falling.size() >= 2) {
    const Reading& a = falling.front();
    const Reading& b = falling.back();
    double tau_s = 0;
    const auto expected = arrival_s(shares, a, b, 0, 0, &tau_s);
    fastest = arrival_s(shares, a, b, run.probe_error_c, -run.probe_error_c);
    slowest = arrival_s(shares, a, b, -run.probe_error_c, run.probe_error_c);
    if (expected) {
      out.time_constant = from_seconds(tau_s);
      out.expected = later(run, *expected);
    }
  }
  if (bound > limit_s || (out.expected && fastest && *fastest > limit_s)) {
    out.state = ChillState::will_miss;
  } else if (!out.expected) {
    out.state = ChillState::waiting;
  } else {
    out.state = slowest && *slowest <= limit_s ? ChillState::on_course : ChillState::unsure;
  }
}

}  // namespace

std::string_view word(ChillState state) {
  switch (state) {
    case ChillState::waiting:
      return "waiting";
    case ChillState::on_course:
      return "on course";
    case ChillState::unsure:
      return "unsure";
    case ChillState::will_miss:
      return "will miss";
    case ChillState::made:
      return "made";
    case ChillState::missed:
      return "missed";
    case ChillState::gap:
      return "gap";
  }
  return "";
}

Result<ChillOutlook> watch_chill(const ChillRun& run) {
  const Status good = check(run);
  if (!good) return good.error();
  ChillOutlook out;
  out.due = run.started + run.limit;
  if (const auto state = decided(run)) {
    out.state = *state;
  } else {
    look_ahead(run, out);
  }
  out.sentence = sentence_of(run, out);
  return out;
}

}  // namespace nappe::food
