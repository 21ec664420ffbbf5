// The prep list as a page to be printed and as figures.
#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <nlohmann/json.hpp>

#include "common/html.hpp"
#include "common/mise/prep_list.hpp"
#include "common/mise/prep_words.hpp"
#include "common/words.hpp"

namespace nappe::mise {
namespace {

using Json = nlohmann::ordered_json;
using Out = std::back_insert_iterator<std::string>;

// Black on white, boxes to be crossed with a pen; a page break never falls inside a line. Contrast of the soft grey on
// white is 7 (WCAG 2.2, 1.4.3).
constexpr std::string_view style = R"(<style>
:root { color-scheme: light; --ink: #000; --soft: #55555c; --line: #8a8a90; }
body { font: 13pt/1.35 system-ui, sans-serif; color: var(--ink); background: #fff; max-width: 52rem;
  margin: 1.5rem auto; padding: 0 1rem; }
h1 { font-size: 20pt; margin: 0 0 .2rem; } h2 { font-size: 14pt; margin: 1.4rem 0 .3rem; border-bottom: 2px solid; }
table { border-collapse: collapse; width: 100%; } td, th { text-align: left; vertical-align: top; padding: .25rem .4rem;
  border-bottom: 1px solid var(--line); } tr { break-inside: avoid; } th { font-size: 10pt; color: var(--soft); }
td.box { width: 1.4rem; } td.box span { display: inline-block; width: 1rem; height: 1rem; border: 2px solid; }
td.when { width: 3.4rem; font-variant-numeric: tabular-nums; font-weight: 600; } td.who { width: 5.5rem; }
td.count { width: 7rem; border-bottom: 1px dotted; }
small { color: var(--soft); font-size: 10.5pt; display: block; }
tr.crossed td { text-decoration: line-through; } p.note { margin: .2rem 0; }
p.caution { border: 2px solid; padding: .5rem .7rem; margin: 1.2rem 0; }
@media print { body { margin: 0; max-width: none; font-size: 11pt; } h2 { break-after: avoid; } }
</style>)";

void write_small(Out out, const std::string& small) {
  if (!small.empty()) fmt::format_to(out, "<small>{}</small>", html_escaped(small));
}

void write_amounts(Out out, const PrepList& list) {
  fmt::format_to(out, "<h2>How much</h2>\n<table>\n");
  for (const Line& line : amounts_of(list)) {
    fmt::format_to(out, R"(<tr><td class="who">{}</td><td>{})", html_escaped(line.station), html_escaped(line.text));
    write_small(out, line.small);
    fmt::format_to(out, "</td></tr>\n");
  }
  fmt::format_to(out, "</table>\n<h2>From the store, before trimming</h2>\n<p>");
  for (std::size_t i = 0; i < list.raw.size(); ++i)
    fmt::format_to(out, "{}{} {}", i == 0 ? "" : "; ", weight_text(list.raw[i].grams),
                   html_escaped(list.raw[i].ingredient));
  fmt::format_to(out, "</p>\n");
}

void write_chiller(Out out, const PrepList& list) {
  const auto lines = chiller_of(list);
  if (lines.empty()) return;
  fmt::format_to(out, "<h2>In the chiller</h2>\n<table>\n");
  for (const Line& line : lines) {
    fmt::format_to(out, R"(<tr><td class="when">{}</td><td>{})", line.when, html_escaped(line.text));
    write_small(out, line.small);
    fmt::format_to(out, "</td></tr>\n");
  }
  fmt::format_to(out, "</table>\n");
}

void write_part(Out out, const Part& part, const std::vector<std::string>& crossed) {
  std::string heading = part.heading;
  heading.front() = static_cast<char>(heading.front() >= 'a' && heading.front() <= 'z' ? heading.front() - 'a' + 'A'
                                                                                       : heading.front());
  fmt::format_to(out, "<h2>{}</h2>\n<table>\n", html_escaped(heading));
  for (const Line& line : part.lines) {
    const bool done = std::find(crossed.begin(), crossed.end(), line.id) != crossed.end();
    const bool check = line.id.rfind("check/", 0) == 0;
    fmt::format_to(out, R"(<tr{}><td class="box"><span></span></td>)", done ? R"( class="crossed")" : "");
    if (!line.when.empty()) fmt::format_to(out, R"(<td class="when">{}</td>)", line.when);
    fmt::format_to(out, R"(<td class="who">{}</td><td>{})", html_escaped(line.station), html_escaped(line.text));
    write_small(out, line.small);
    fmt::format_to(out, "</td>{}</tr>\n", check ? R"(<td class="count"><small>counted, C, by</small></td>)" : "");
  }
  fmt::format_to(out, "</table>\n");
}

}  // namespace

std::string prep_page(const PrepList& list, const std::vector<std::string>& crossed) {
  std::string text;
  const Out out(text);
  fmt::format_to(out, "<!doctype html>\n<html lang=\"en-GB\">\n<head><meta charset=\"utf-8\">");
  fmt::format_to(out,
                 "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>Prep: {}</title>\n",
                 html_escaped(list.title));
  text += style;
  fmt::format_to(out, "\n</head>\n<body>\n<h1>{}: {}</h1>\n", html_escaped(list.house), html_escaped(list.title));
  fmt::format_to(out,
                 "<p class=\"note\">{}, {}. Enough for {:.0f} nights in 100 of each thing. Line check at "
                 "{}.</p>\n",
                 counted(list.covers, "cover"), counted(list.parties, "party", "parties"), 100 * list.ratio,
                 day_text(list.line_check));
  fmt::format_to(out, "<p class=\"caution\">{}</p>\n", html_escaped(prep_caution()));
  for (const std::string& remark : remarks_of(list))
    fmt::format_to(out, "<p class=\"note\">{}.</p>\n", html_escaped(remark));
  const auto parts = parts_of(list);
  write_amounts(out, list);
  write_chiller(out, list);
  for (const Part& part : parts) write_part(out, part, crossed);
  fmt::format_to(out, "</body>\n</html>\n");
  return text;
}

std::string prep_json(const PrepList& list) {
  Json out{{"house", list.house},
           {"title", list.title},
           {"covers", list.covers},
           {"parties", list.parties},
           {"ratio", list.ratio},
           {"as_booked", list.as_booked},
           {"line_check_at", day_text(list.line_check)}};
  out["items"] = Json::array();
  for (const Need& need : list.needs) {
    Json one{{"item", need.item},        {"name", need.name},
             {"station", need.station},  {"mean", need.mean},
             {"ratio", need.ratio},      {"wanted", need.wanted},
             {"usable", need.usable},    {"past_date", need.past_date},
             {"more", need.more},        {"made_portions", need.made_portions},
             {"short_by", need.short_by}};
    one[need.weighed ? "batches_g" : "batches_portions"] = need.batches;
    for (const RawNeed& raw : need.raw) one["raw"].push_back({{"ingredient", raw.ingredient}, {"grams", raw.grams}});
    for (const Birth& birth : need.births)
      one["births"].push_back(
          {{"at", day_text(birth.at)}, {"dies", day_text(birth.dies)}, {"portions", birth.portions}});
    out["items"].push_back(std::move(one));
  }
  out["work"] = Json::array();
  for (const Task& task : list.work.tasks) {
    Json one{{"id", task.id()},
             {"item", task.item},
             {"batch", task.batch},
             {"of", task.of},
             {"word", task.word},
             {"station", task.station},
             {"hands", task.hands},
             {"from", day_text(task.begin)},
             {"until", day_text(task.end)},
             {"equipment", task.equipment}};
    if (!task.detail.empty()) one["detail"] = task.detail;
    out["work"].push_back(std::move(one));
  }
  out["remarks"] = remarks_of(list);
  out["line_check"] = Json::array();
  for (const CheckLine& line : list.check)
    out["line_check"].push_back({{"item", line.item},
                                 {"name", line.name},
                                 {"station", line.station},
                                 {"portions", line.portions},
                                 {"grams", line.grams},
                                 {"kept_in", line.kept_in}});
  out["caution"] = prep_caution();
  // Names come from readers that refuse what is not UTF-8; a list made in memory may hold anything.
  return out.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace nappe::mise
