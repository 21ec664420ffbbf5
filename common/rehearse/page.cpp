// The page of a rehearsal: HTML with drawings in SVG, nothing to fetch, nothing to run. Made for a screen, a telephone
// and paper: drawings stand in columns of their own width, tables become lists where there is no room for them.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "common/html.hpp"
#include "common/rehearse/figures.hpp"
#include "common/rehearse/helped.hpp"
#include "common/rehearse/report.hpp"
#include "common/rehearse/sentences.hpp"
#include "common/rehearse/svg.hpp"

namespace nappe::rehearse {
namespace {

// Grey, and one colour for what is over the limit, which the words beside it say too. Contrast on white at least 4.5
// for text and 3 for lines that say something (WCAG 2.2, 1.4.3 and 1.4.11).
constexpr std::string_view style = R"(<style>
:root { color-scheme: light; --ink: #1d1d1f; --soft: #5c5c62; --line: #75757c; --band: #cfcfd6; --faint: #e7e7ec;
  --over: #8a3b00; }
* { box-sizing: border-box; }
body { font: 16px/1.5 system-ui, sans-serif; color: var(--ink); background: #fff; max-width: 62rem;
  margin: 2.5rem auto 4rem; padding: 0 1.25rem; font-variant-numeric: tabular-nums; }
h1 { font-size: 1.5rem; line-height: 1.25; margin: 0 0 .3rem; }
h2 { font-size: 1.15rem; margin: 2.75rem 0 .25rem; break-after: avoid; }
p.note { color: var(--soft); font-size: .9rem; margin: 0 0 .9rem; max-width: 44rem; }
p.verdict { font-size: 1.2rem; line-height: 1.4; border-left: 4px solid var(--ink); padding-left: .9rem;
  margin: 1.4rem 0; }
p.verdict.over { border-color: var(--over); }
dl { display: grid; grid-template-columns: repeat(auto-fit, minmax(8.5rem, 1fr)); gap: .75rem 1.5rem; margin: 1.4rem 0;
  padding: .9rem 0; border: solid var(--faint); border-width: 1px 0; }
dl div { display: flex; flex-direction: column; justify-content: flex-end; }
dt { color: var(--soft); font-size: .9rem; line-height: 1.3; } dd { margin: 0; font-size: 1.5rem; line-height: 1.3; }
small { color: var(--soft); font-size: .8125rem; white-space: nowrap; }
ul { margin: 0; padding-left: 1.1rem; max-width: 44rem; } li { margin: .3rem 0; }
.columns { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 22rem), 1fr)); gap: 1.5rem 2.5rem; }
.columns + table { margin-top: 1.5rem; } .columns h2 { margin-top: 1.5rem; }
figure { margin: 0; break-inside: avoid; } figcaption { margin-bottom: .2rem; }
figcaption span { color: var(--soft); font-size: .9rem; }
svg { width: 100%; height: auto; display: block; } svg text { font-size: 12.5px; fill: var(--ink); }
svg text.soft { fill: var(--soft); }
.axis { stroke: var(--line); } .faint { stroke: var(--faint); }
.limit { stroke: var(--over); stroke-width: 1.5; stroke-dasharray: 5 4; }
.band { fill: var(--band); } .mean { stroke: var(--ink); stroke-width: 2; fill: none; stroke-linejoin: round; }
.stroke { stroke: var(--line); stroke-width: 1.5; } .mark { stroke: var(--ink); stroke-width: 2; }
.bar { fill: var(--line); } .bar.over { fill: var(--over); } .dot { fill: var(--ink); }
table { border-collapse: collapse; width: 100%; } th, td { text-align: right; padding: .35rem .5rem; }
th { font-weight: normal; font-size: .9rem; line-height: 1.3; color: var(--soft); vertical-align: bottom; }
tr { border-bottom: 1px solid var(--faint); break-inside: avoid; }
th:first-child, td:first-child { text-align: left; padding-left: 0; }
td.luck { color: var(--soft); }
.share { display: inline-block; width: 8rem; text-align: left; margin-right: .6rem; vertical-align: middle; }
.share i { display: block; height: .6rem; background: var(--line); }
.n { display: inline-block; min-width: 7rem; }
@media screen and (max-width: 42rem) {
  body { margin-top: 1.25rem; }
  svg text { font-size: 15px; }
  table, tbody, tr, td { display: block; } thead { display: none; } tr { padding: .6rem 0; }
  td, td:first-child { display: flex; justify-content: space-between; gap: 1rem; padding: .05rem 0; text-align: right; }
  td:first-child { font-weight: 600; text-align: left; }
  td + td::before { content: attr(data-head); color: var(--soft); text-align: left; }
  .share { display: none; }
}
@media print {
  body { margin: 0; padding: 0; max-width: none; font-size: 10.5pt; }
  .columns { grid-template-columns: 1fr 1fr; gap: 1rem 2rem; } svg text { font-size: 14px; }
  * { print-color-adjust: exact; }
}
</style>)";

// "1.2 % ±0.3", the error set back.
std::string figure(const Estimate& one, double scale, int digits, std::string_view unit) {
  std::string text = fmt::format("{:.{}f}\u00a0{}", scale * one.mean, digits, unit);
  if (error_shown(one)) text += fmt::format(" <small>±{:.{}f}</small>", scale * one.error, digits);
  return text;
}
std::string percent(const Estimate& share) { return figure(share, 100, 1, "%"); }

// "−1.9 ±0.4"
std::string points(const Estimate& difference) {
  const double value = 100 * difference.mean;
  const std::string_view sign = value < -0.05 ? "−" : value > 0.05 ? "+" : "";
  std::string text = fmt::format("{}{:.1f}", sign, std::abs(value));
  if (error_shown(difference)) text += fmt::format(" <small>±{:.1f}</small>", 100 * difference.error);
  return text;
}

// Numbers stay with their units and errors at the end of a line.
std::string sentence_html(std::string_view sentence) {
  std::string out = html_escaped(sentence);
  for (const std::string_view kept : {" %", " s ", " s;", " s)", " min ", " (±"})
    for (std::size_t at = out.find(kept); at != std::string::npos; at = out.find(kept, at + 1))
      out.replace(at, 1, "\u00a0");
  return out;
}

// A cell is HTML; one that luck could have made is set back.
struct Cell {
  std::string html;
  bool luck = false;
};

class Table {
 public:
  Table(Out out, std::vector<std::string> heads) : out_(out), heads_(std::move(heads)) {
    fmt::format_to(out_, "<table><thead><tr>");
    for (const std::string& head : heads_) fmt::format_to(out_, R"(<th scope="col">{}</th>)", html_escaped(head));
    fmt::format_to(out_, "</tr></thead><tbody>\n");
  }
  void row(const std::vector<Cell>& cells) {
    fmt::format_to(out_, "<tr>");
    for (std::size_t i = 0; i < cells.size(); ++i)
      fmt::format_to(out_, R"(<td{} data-head="{}"><span>{}</span></td>)", cells[i].luck ? R"( class="luck")" : "",
                     html_escaped(heads_.at(i)), cells[i].html);
    fmt::format_to(out_, "</tr>\n");
  }
  void end() { fmt::format_to(out_, "</tbody></table>\n"); }

 private:
  Out out_;
  std::vector<std::string> heads_;
};

void heading(Out out, std::string_view title, std::string_view note) {
  fmt::format_to(out, "<h2>{}</h2>\n<p class=\"note\">{}</p>\n", html_escaped(title), sentence_html(note));
}

void write_answer(Out out, const Stage& stage, const Summary& summary) {
  const bool carried = summary.unfinished == 0 && !too_many(summary.late.mean);
  fmt::format_to(out, "<p class=\"verdict{}\">{}</p>\n<dl>", carried ? "" : " over",
                 sentence_html(verdict_sentence(summary)));
  const auto key = [&](std::string_view name, const std::string& value) {
    fmt::format_to(out, "<div><dt>{}</dt><dd>{}</dd></div>", name, value);
  };
  key("courses late", percent(summary.late));
  key("gone by the first word", percent(summary.kept));
  key("past their window", percent(summary.past));
  key("from fire to gone", figure(summary.wait, 1, 1, "min"));
  fmt::format_to(out, "</dl>\n<ul>\n");
  for (const std::string& one : figure_sentences(stage, summary))
    fmt::format_to(out, "<li>{}</li>\n", sentence_html(one));
  fmt::format_to(out, "</ul>\n");
}

void write_changes(Out out, const Summary& summary, const std::vector<Change>& changes) {
  if (changes.empty()) return;
  const StationSummary* tight = summary.tightest();
  heading(out, "What would help",
          yardstick_sentence(changes) +
              " Differences in points, best first; grey: no difference that these nights could tell from luck.");
  Table table(out, {"with", "courses late by that count", "components past their window",
                    fmt::format("worst quarter-hour of {}", tight == nullptr ? "nobody" : tight->name)});
  const auto cell = [](const Estimate& one) { return Cell{points(one), !told_from_luck(one)}; };
  for (const Change& change : best_first(changes))
    table.row({{html_escaped(change.name)}, cell(change.late_alone), cell(change.past), cell(change.worst)});
  table.end();
}

void write_loads(Out out, const Stage& stage, const Summary& summary) {
  heading(out, "Load", "Line: mean of all nights. Band: eight nights in ten. Dashed: 90 %.");
  fmt::format_to(out, "<div class=\"columns\">\n");
  for (const StationSummary* station : fullest_first(summary))
    fmt::format_to(out,
                   "<figure><figcaption>{} <span>fullest from {}, {:.0f} % on average</span></figcaption>{}</figure>\n",
                   html_escaped(station->name), hour_text(stage, station->fullest), 100 * station->fullest_load,
                   draw_load(stage, *station));
  fmt::format_to(out, "</div>\n<div class=\"columns\">\n<figure>");
  heading(out, "Worst quarter-hour of a night",
          "Stroke: all nights. Bar: eight nights in ten. Mark: the night in the middle. Dashed: 90 %.");
  fmt::format_to(out, "{}</figure>\n<figure>", draw_worst(summary));
  heading(out, "Lateness", "A course is late when it goes more than five minutes after the first word given.");
  fmt::format_to(out, "{}</figure>\n</div>\n", draw_lateness(summary));
}

void write_stations(Out out, const Stage& stage, const Summary& summary) {
  heading(out, "Stations", "Load is hand time over the hands there, by quarter-hour. ± is one standard error.");
  Table table(out, {"station", "hands", "worst quarter-hour", "nights over 90 %", "fullest from", "a move waits",
                    "last of late courses"});
  for (const StationSummary* one : fullest_first(summary))
    table.row({{html_escaped(one->name)},
               {fmt::format("{:.3g}", one->hands)},
               {percent(one->worst)},
               {percent(one->over)},
               {hour_text(stage, one->fullest)},
               {fmt::format("{:.0f} s", one->waited_s)},
               {fmt::format("{:.0f} %", 100 * one->last_of_late)}});
  table.end();
}

void write_components(Out out, const Summary& summary) {
  heading(out, "What dies waiting",
          "Share of each component past its window: it stood longer than it keeps, or rested too long.");
  std::vector<const ComponentSummary*> order;
  for (const ComponentSummary& component : summary.components) order.push_back(&component);
  std::stable_sort(order.begin(), order.end(),
                   [](const auto* a, const auto* b) { return a->past.mean > b->past.mean; });
  const double most = order.empty() ? 1 : std::max(0.05, order.front()->past.mean);
  Table table(out, {"component", "pans a night", "keeps", "stands", "past its window"});
  for (const auto* one : order)
    table.row({{html_escaped(one->name)},
               {fmt::format("{:.1f}", one->pans.mean)},
               {span_text(from_seconds(one->keep_s))},
               {figure(one->standing, 1, 0, "s")},
               {fmt::format(R"(<span class="share"><i style="width:{:.1f}%"></i></span><span class="n">{}</span>)",
                            100 * one->past.mean / most, percent(one->past))}});
  table.end();
}

void write_curve(Out out, const std::vector<CurvePoint>& curve) {
  if (curve.empty()) return;
  heading(out, "Fresh … prompt",
          "The same nights under each setting of the house; dashed: each table planned alone. Strokes: one standard "
          "error to each side.");
  fmt::format_to(out, "<div class=\"columns\">\n");
  for (const CurveFigure& one : draw_curve(curve))
    fmt::format_to(out, "<figure><figcaption>{}</figcaption>{}</figure>\n", html_escaped(one.name), one.svg);
  fmt::format_to(out, "</div>\n");
  Table table(out, {"setting", "components past their window", "courses late", "from fire to gone"});
  for (const CurvePoint& point : curve)
    table.row(
        {{html_escaped(point.name)}, {percent(point.past)}, {percent(point.late)}, {figure(point.wait, 1, 1, "min")}});
  table.end();
}

}  // namespace

std::string to_page(const Asked& asked, const Stage& stage, const Summary& summary, const std::vector<Change>& changes,
                    const std::vector<CurvePoint>& curve) {
  std::string page;
  const Out out = std::back_inserter(page);
  fmt::format_to(
      out,
      "<!DOCTYPE html>\n<html lang=\"en-GB\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" "
      "content=\"width=device-width\"><title>Rehearsal: {0}</title>\n{1}\n</head><body><main>\n<h1>Rehearsal: "
      "{0}</h1>\n<p class=\"note\">{2}</p>\n",
      html_escaped(asked.title), style, sentence_html(asked_sentence(asked)));
  write_answer(out, stage, summary);
  write_changes(out, summary, changes);
  write_loads(out, stage, summary);
  write_stations(out, stage, summary);
  write_components(out, summary);
  write_curve(out, curve);
  fmt::format_to(out, "</main></body></html>\n");
  return page;
}

}  // namespace nappe::rehearse
