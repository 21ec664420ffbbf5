// The page of a rehearsal: HTML with drawings in SVG, nothing to fetch, nothing to run.
#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "common/html.hpp"
#include "common/rehearse/helped.hpp"
#include "common/rehearse/report.hpp"
#include "common/rehearse/sentences.hpp"

namespace nappe::rehearse {
namespace {

using Out = std::back_insert_iterator<std::string>;

// Grey, and one colour for what is over the limit, which the words beside it say too. Contrast on white at least 4.5
// for text and 3 for lines (WCAG 2.2, 1.4.3 and 1.4.11).
constexpr std::string_view style = R"(<style>
:root { color-scheme: light; --ink: #1d1d1f; --soft: #5c5c62; --line: #75757c; --band: #d4d4d9; --over: #8a3b00; }
body { font: 16px/1.5 system-ui, sans-serif; color: var(--ink); background: #fff; max-width: 60rem; margin: 2rem auto;
  padding: 0 1rem; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.1rem; margin: 2rem 0 .3rem; }
p.note, caption { color: var(--soft); font-size: .875rem; text-align: left; margin: .2rem 0; }
svg { width: 100%; height: auto; display: block; } svg text { font-size: 11px; fill: var(--ink); }
.axis { stroke: var(--line); stroke-width: 1; fill: none; } .limit { stroke: var(--over); stroke-dasharray: 5 4; }
.band { fill: var(--band); } .mean { stroke: var(--ink); stroke-width: 2; fill: none; }
.bar { fill: var(--line); } .bar.over { fill: var(--over); } .whisker { stroke: var(--ink); stroke-width: 1.5; }
table { border-collapse: collapse; width: 100%; } th, td { text-align: right; padding: .2rem .5rem;
  border-bottom: 1px solid var(--band); } th:first-child, td:first-child { text-align: left; }
</style>)";

// Maps a value on [from, to] to a coordinate.
struct Axis {
  double from = 0;
  double to = 1;
  double at_from = 0;
  double at_to = 1;
  [[nodiscard]] double operator()(double value) const {
    return at_from + (std::clamp(value, from, to) - from) / (to - from) * (at_to - at_from);
  }
};

void text_at(Out out, double x, double y, std::string_view anchor, std::string_view text) {
  fmt::format_to(out, R"(<text x="{:.1f}" y="{:.1f}" text-anchor="{}">{}</text>)", x, y, anchor, html_escaped(text));
}

void line_between(Out out, std::string_view kind, double x1, double y1, double x2, double y2) {
  fmt::format_to(out, R"(<line class="{}" x1="{:.1f}" y1="{:.1f}" x2="{:.1f}" y2="{:.1f}"/>)", kind, x1, y1, x2, y2);
}

void begin_svg(Out out, int width, int height, const std::string& says) {
  fmt::format_to(out, R"(<svg viewBox="0 0 {} {}" role="img" aria-label="{}">)", width, height, html_escaped(says));
}

// One station: the band holds eight nights in ten, the line is the mean.
void draw_ribbon(Out out, const Stage& stage, const StationSummary& station) {
  const std::size_t slots = station.load.size();
  if (slots < 2) return;
  const Axis x{0, static_cast<double>(slots), 44, 880};
  const Axis y{0, 1.1, 130, 12};
  begin_svg(out, 900, 160,
            fmt::format("Load of {} by quarter-hour; fullest at {} with {:.0f} % on average", station.name,
                        hour_text(stage, station.fullest), 100 * station.fullest_load));
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
  line_between(out, "axis", 44, 130, 880, 130);
  line_between(out, "axis limit", 44, y(full_load), 880, y(full_load));
  for (const double level : {0.0, 0.5, full_load})
    text_at(out, 40, y(level) + 4, "end", fmt::format("{:.0f} %", 100 * level));
  for (std::size_t i = 0; i < slots; i += 2)
    text_at(out, x(static_cast<double>(i)), 146, "middle", hour_text(stage, station.load[i].start));
  fmt::format_to(out, "</svg>\n");
}

void draw_lateness(Out out, const Summary& summary) {
  const std::size_t bins = summary.lateness.size();
  const double most =
      static_cast<double>(std::max(1, *std::max_element(summary.lateness.begin(), summary.lateness.end())));
  const Axis x{static_cast<double>(summary.lateness_from),
               static_cast<double>(summary.lateness_from + static_cast<int>(bins)), 20, 880};
  const Axis y{0, most, 130, 12};
  begin_svg(out, 900, 160,
            fmt::format("Courses by minutes against the first word; {} late", percent_text(summary.late)));
  for (std::size_t i = 0; i < bins; ++i) {
    const int minute = summary.lateness_from + static_cast<int>(i);
    const double top = y(summary.lateness[i]);
    fmt::format_to(out, R"(<rect class="bar{}" x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}"/>)",
                   minute >= 5 ? " over" : "", x(minute) + 1, top, x(1) - x(0) - 2, 130 - top);
    if (minute % 5 == 0) text_at(out, x(minute), 146, "middle", fmt::format("{:+d}", minute));
  }
  line_between(out, "axis", 20, 130, 880, 130);
  line_between(out, "mean", x(0), 12, x(0), 130);
  text_at(out, x(0) + 4, 20, "start", "the word");
  line_between(out, "axis limit", x(5), 12, x(5), 130);
  text_at(out, x(5) + 4, 20, "start", "late");
  fmt::format_to(out, "</svg>\n");
}

// Of each station, how full its worst quarter-hour was, night by night.
void draw_worst(Out out, const Summary& summary) {
  std::vector<const StationSummary*> stations;
  for (const StationSummary& station : summary.stations)
    if (station.works) stations.push_back(&station);
  const int height = static_cast<int>(stations.size()) * 46 + 30;
  const Axis x{0, 1.1, 110, 880};
  begin_svg(out, 900, height, "Worst quarter-hour of each night, by station");
  const int bins = 22;
  double row = 40;
  for (const StationSummary* station : stations) {
    std::vector<int> count(bins, 0);
    for (const double worst : station->worsts)
      ++count[static_cast<std::size_t>(std::clamp(static_cast<int>(worst * 20), 0, bins - 1))];
    for (int i = 0; i < bins; ++i) {
      const double tall = 34.0 * count[static_cast<std::size_t>(i)] / std::max(1, summary.nights);
      fmt::format_to(out, R"(<rect class="bar{}" x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}"/>)",
                     i >= 18 ? " over" : "", x(i * 0.05) + 1, row - tall, x(0.05) - x(0) - 2, tall);
    }
    line_between(out, "axis", 110, row, 880, row);
    text_at(out, 104, row - 4, "end", station->name);
    row += 46;
  }
  line_between(out, "axis limit", x(full_load), 6, x(full_load), height - 26);
  for (const double level : {0.0, 0.25, 0.5, 0.75, full_load})
    text_at(out, x(level), height - 10, "middle", fmt::format("{:.0f} %", 100 * level));
  fmt::format_to(out, "</svg>\n");
}

void draw_components(Out out, const Summary& summary) {
  std::vector<const ComponentSummary*> order;
  for (const ComponentSummary& component : summary.components) order.push_back(&component);
  std::stable_sort(order.begin(), order.end(),
                   [](const auto* a, const auto* b) { return a->past.mean > b->past.mean; });
  double most = 0.05;
  for (const auto* component : order) most = std::max(most, component->past.mean + component->past.error);
  const int height = static_cast<int>(order.size()) * 20 + 24;
  const Axis x{0, most, 130, 800};
  begin_svg(out, 900, height, "Share of each component past its window");
  double row = 4;
  for (const auto* component : order) {
    text_at(out, 124, row + 12, "end", component->name);
    fmt::format_to(out, R"(<rect class="bar" x="130" y="{:.1f}" width="{:.1f}" height="14"/>)", row,
                   x(component->past.mean) - 130);
    line_between(out, "whisker", x(component->past.mean - component->past.error), row + 7,
                 x(component->past.mean + component->past.error), row + 7);
    text_at(out, x(component->past.mean + component->past.error) + 6, row + 12, "start", percent_text(component->past));
    row += 20;
  }
  fmt::format_to(out, "</svg>\n");
}

void write_tables(Out out, const Stage& stage, const Summary& summary, const std::vector<Change>& changes) {
  fmt::format_to(out,
                 "<h2>Stations</h2>\n<table><caption>Load is hand time over the hands there, by quarter-hour. ± is one "
                 "standard error.</caption>\n<tr><th>station</th><th>hands</th><th>worst quarter-hour</th><th>nights "
                 "over 90 %</th><th>fullest from</th><th>a move waits</th><th>last of late courses</th></tr>\n");
  for (const StationSummary& station : summary.stations)
    if (station.works)
      fmt::format_to(out,
                     "<tr><td>{}</td><td>{:.2f}</td><td>{}</td><td>{}</td><td>{}</td><td>{:.0f} s</td><td>{:.0f} "
                     "%</td></tr>\n",
                     html_escaped(station.name), station.hands, percent_text(station.worst), percent_text(station.over),
                     hour_text(stage, station.fullest), station.waited_s, 100 * station.last_of_late);
  fmt::format_to(out,
                 "</table>\n<h2>Components</h2>\n<table><tr><th>component</th><th>pans a "
                 "night</th><th>keeps</th><th>stands</th><th>past its window</th></tr>\n");
  for (const ComponentSummary& one : summary.components)
    fmt::format_to(out, "<tr><td>{}</td><td>{:.1f}</td><td>{}</td><td>{:.0f} ± {:.0f} s</td><td>{}</td></tr>\n",
                   html_escaped(one.name), one.pans.mean, span_text(from_seconds(one.keep_s)), one.standing.mean,
                   one.standing.error, percent_text(one.past));
  fmt::format_to(out, "</table>\n");
  if (changes.empty()) return;
  fmt::format_to(
      out,
      "<h2>What would help</h2>\n<table><caption>{} Differences in points.</caption>\n<tr><th>change</th><th>late by "
      "that count</th><th>past window</th><th>worst quarter-hour</th></tr>\n",
      html_escaped(yardstick_sentence(changes)));
  const auto points = [](Estimate one) { return fmt::format("{:+.1f} ± {:.1f}", 100 * one.mean, 100 * one.error); };
  for (const Change& change : best_first(changes))
    fmt::format_to(out, "<tr><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>\n", html_escaped(change.name),
                   points(change.late_alone), points(change.past), points(change.worst));
  fmt::format_to(out, "</table>\n");
}

}  // namespace

std::string to_page(const Asked& asked, const Stage& stage, const Summary& summary, const std::vector<Change>& changes,
                    const std::vector<std::string>& sentences, const std::vector<CurvePoint>& curve) {
  std::string page;
  const Out out = std::back_inserter(page);
  fmt::format_to(
      out,
      "<!DOCTYPE html>\n<html lang=\"en-GB\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" "
      "content=\"width=device-width\"><title>Rehearsal: {0}</title>\n{1}\n</head><body><main>\n<h1>Rehearsal: "
      "{0}</h1>\n",
      html_escaped(asked.title), style);
  fmt::format_to(out, "<p class=\"note\">{}</p>\n<ul>\n", html_escaped(asked_sentence(asked)));
  for (const std::string& sentence : sentences) fmt::format_to(out, "<li>{}</li>\n", html_escaped(sentence));
  fmt::format_to(out,
                 "</ul>\n<h2>Load</h2>\n<p class=\"note\">Line: mean. Band: eight nights in ten. Dashed: 90 %.</p>\n");
  for (const StationSummary& station : summary.stations) {
    if (!station.works) continue;
    fmt::format_to(out, "<h3>{}</h3>\n", html_escaped(station.name));
    draw_ribbon(out, stage, station);
  }
  fmt::format_to(out, "<h2>Worst quarter-hour</h2>\n<p class=\"note\">How many nights had it how full.</p>\n");
  draw_worst(out, summary);
  fmt::format_to(out, "<h2>Lateness</h2>\n<p class=\"note\">Courses by minutes against the first word given.</p>\n");
  draw_lateness(out, summary);
  fmt::format_to(out,
                 "<h2>What dies waiting</h2>\n<p class=\"note\">Share of pans that stood longer than they keep, or "
                 "rested too long. Stroke: one standard error to each side.</p>\n");
  draw_components(out, summary);
  if (!curve.empty())
    fmt::format_to(out,
                   "<h2>Fresh … prompt</h2>\n<p class=\"note\">The same nights under each setting of the house, and "
                   "with each table planned alone.</p>\n{}",
                   draw_curve(curve));
  write_tables(out, stage, summary, changes);
  fmt::format_to(out, "</main></body></html>\n");
  return page;
}

}  // namespace nappe::rehearse
