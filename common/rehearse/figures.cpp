#include "common/rehearse/figures.hpp"

#include <fmt/format.h>

#include <cmath>

#include "common/rehearse/helped.hpp"
#include "common/rehearse/svg.hpp"

namespace nappe::rehearse {
namespace {

constexpr double left = 54, right = 450;

// The bins of lateness that are drawn: whole fives of minutes around all that hold anything, the word and the limit.
struct Bins {
  int from = 0;
  int to = 0;
};
Bins bins_drawn(const Summary& summary) {
  int first = -5;
  int last = 10;
  for (std::size_t i = 0; i < summary.lateness.size(); ++i) {
    if (summary.lateness[i] == 0) continue;
    const int minute = summary.lateness_from + static_cast<int>(i);
    first = std::min(first, minute);
    last = std::max(last, minute + 1);
  }
  const int end = summary.lateness_from + static_cast<int>(summary.lateness.size());
  return {std::max(summary.lateness_from, static_cast<int>(std::floor(first / 5.0)) * 5),
          std::min(end, static_cast<int>(std::ceil(last / 5.0)) * 5)};
}

std::string minute_text(const Summary& summary, int minute) {
  const int end = summary.lateness_from + static_cast<int>(summary.lateness.size()) - 1;
  const std::string number = fmt::format("{}{}", minute < 0 ? "−" : "", std::abs(minute));
  if (minute >= end) return "≥ " + number;
  return minute == summary.lateness_from ? "≤ " + number : number;
}

}  // namespace

std::string draw_load(const Stage& stage, const StationSummary& station) {
  const std::size_t slots = station.load.size();
  if (slots < 2) return {};
  constexpr double top = 24, bottom = 130;
  std::string svg;
  const Out out = std::back_inserter(svg);
  const Axis x{0, static_cast<double>(slots), left, right};
  const Axis y{0, 1, bottom, top};
  begin_svg(out, 154,
            fmt::format("Load of {} by quarter-hour; fullest at {} with {:.0f} % on average", station.name,
                        hour_text(stage, station.fullest), 100 * station.fullest_load));
  text_at(out, 0, 12, "start", "share of its hands at work", "soft");
  for (const double level : {0.0, 0.5, 1.0}) {
    line_between(out, level == 0 ? "axis" : "faint", left, y(level), right, y(level));
    text_at(out, left - 6, y(level) + 4, "end", fmt::format("{:.0f} %", 100 * level));
  }
  std::string band;
  std::string mean;
  for (std::size_t i = 0; i < slots; ++i) {
    const double middle = x(static_cast<double>(i) + 0.5);
    fmt::format_to(std::back_inserter(band), "{:.1f},{:.1f} ", middle, y(station.load[i].high));
    fmt::format_to(std::back_inserter(mean), "{:.1f},{:.1f} ", middle, y(station.load[i].mean.mean));
  }
  for (std::size_t i = slots; i-- > 0;)
    fmt::format_to(std::back_inserter(band), "{:.1f},{:.1f} ", x(static_cast<double>(i) + 0.5), y(station.load[i].low));
  fmt::format_to(out, R"(<polygon class="band" points="{}"/><polyline class="mean" points="{}"/>)", band, mean);
  line_between(out, "limit", left, y(full_load), right, y(full_load));
  // Whole hours, at most seven of them.
  const std::size_t hours = slots / 4 / 7 + 1;
  for (std::size_t i = 0; i < slots; ++i) {
    const auto since = std::chrono::duration_cast<std::chrono::minutes>(station.load[i].start - stage.midnight).count();
    if (since % static_cast<std::int64_t>(60 * hours) != 0) continue;
    line_between(out, "axis", x(static_cast<double>(i)), bottom, x(static_cast<double>(i)), bottom + 4);
    text_at(out, x(static_cast<double>(i)), bottom + 19, "middle", hour_text(stage, station.load[i].start));
  }
  end_svg(out);
  return svg;
}

std::string draw_worst(const Summary& summary) {
  const auto stations = fullest_first(summary);
  if (stations.empty()) return {};
  constexpr double row_height = 46;
  std::string svg;
  const Out out = std::back_inserter(svg);
  const double bottom = row_height * static_cast<double>(stations.size()) + 8;
  const Axis x{0, 1, 4, right - 8};
  begin_svg(out, static_cast<int>(bottom) + 44, "Worst quarter-hour of each night, by station");
  for (const double level : {0.0, 0.25, 0.5, 0.75, 1.0}) line_between(out, "faint", x(level), 4, x(level), bottom);
  line_between(out, "limit", x(full_load), 4, x(full_load), bottom);
  double row = 22;
  for (const StationSummary* station : stations) {
    const auto at = [&](double p) { return x(sample_quantile(station->worsts, p)); };
    text_at(out, 4, row - 4, "start", station->name);
    line_between(out, "stroke", at(0), row + 8, at(1), row + 8);
    box_at(out, "bar", at(0.1), row + 3, std::max(1.0, at(0.9) - at(0.1)), 10);
    line_between(out, "mark", at(0.5), row, at(0.5), row + 16);
    row += row_height;
  }
  line_between(out, "axis", x(0), bottom, x(1), bottom);
  for (const double level : {0.0, 0.25, 0.5, 0.75, full_load})
    text_at(out, x(level), bottom + 17, level == 0 ? "start" : "middle", fmt::format("{:.0f} %", 100 * level));
  text_at(out, x(1), bottom + 38, "end", "share of the station's hands wanted", "soft");
  end_svg(out);
  return svg;
}

std::string draw_lateness(const Summary& summary) {
  double all = 0;
  double most = 0;
  for (const int count : summary.lateness) {
    all += count;
    most = std::max(most, static_cast<double>(count));
  }
  if (all == 0) return {};
  constexpr double top = 50, bottom = 196;
  std::string svg;
  const Out out = std::back_inserter(svg);
  const Bins bins = bins_drawn(summary);
  const auto levels = round_ticks(0, 100 * most / all, 4);
  const Axis x{static_cast<double>(bins.from), static_cast<double>(bins.to), left, right};
  const Axis y{0, levels.back(), bottom, top};
  begin_svg(out, 240, fmt::format("Courses by minutes against the first word; {:.1f} % late", 100 * summary.late.mean));
  text_at(out, 0, 12, "start", "share of courses", "soft");
  for (const double level : levels) {
    line_between(out, level == 0 ? "axis" : "faint", left, y(level), right, y(level));
    text_at(out, left - 6, y(level) + 4, "end", fmt::format("{:.3g} %", level));
  }
  for (int minute = bins.from; minute < bins.to; ++minute) {
    const int count = summary.lateness[static_cast<std::size_t>(minute - summary.lateness_from)];
    const double at = y(100 * count / all);
    if (count > 0) box_at(out, minute >= 5 ? "bar over" : "bar", x(minute) + 0.5, at, x(1) - x(0) - 1, bottom - at);
  }
  const int step = bins.to - bins.from <= 30 ? 5 : bins.from % 10 == 0 ? 10 : 15;
  for (int minute = bins.from; minute <= bins.to; ++minute) {
    if (minute % step != 0) continue;
    line_between(out, "axis", x(minute), bottom, x(minute), bottom + 4);
    const bool near_right = x(minute) > right - 30;
    text_at(out, x(minute), bottom + 18,
            near_right            ? "end"
            : minute == bins.from ? "start"
                                  : "middle",
            minute_text(summary, minute));
  }
  text_at(out, right, bottom + 38, "end", "minutes against the first word given", "soft");
  line_between(out, "mark", x(0), top - 22, x(0), bottom);
  text_at(out, x(0) - 5, top - 12, "end", "the word");
  line_between(out, "limit", x(5), top - 22, x(5), bottom);
  text_at(out, x(5) + 5, top - 12, "start", "late");
  end_svg(out);
  return svg;
}

}  // namespace nappe::rehearse
