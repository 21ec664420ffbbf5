// The record's pages as text, HTML and CSV.
#include <fmt/format.h>

#include "common/food/rules.hpp"
#include "common/html.hpp"
#include "common/mise/batch_record.hpp"

namespace nappe::mise {
namespace {

std::string when(Instant at, Duration offset) {
  const std::string text = to_rfc3339(at + offset);
  return text.substr(0, 10) + " " + text.substr(11, 5);
}

// RFC 4180: quoted where it must be, quotes doubled. Words that a spreadsheet would take for a formula get an
// apostrophe in front (OWASP, CSV Injection: cells that begin with = + - @, tab or carriage return); numbers are none.
std::string csv_words(const std::string& given) {
  const bool formula = !given.empty() && std::string_view("=+-@\t\r").find(given.front()) != std::string_view::npos;
  const std::string text = (formula ? "'" : "") + given;
  if (text.find_first_of(",\"\r\n") == std::string::npos && !formula) return text;
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"') out += '"';
    out += c;
  }
  return out + '"';
}

std::string temperature(const ReadingLine& line) {
  std::string out = fmt::format("{:.1f} C", line.celsius);
  if (line.corrected_c) out += fmt::format(", corrected to {:.1f} C ({})", *line.corrected_c, line.corrected);
  return out;
}

std::string doubts(const ReadingLine& line, Duration offset) {
  std::string out;
  if (line.entered_later) out += "entered later, " + when(line.entered, offset);
  if (!line.remark.empty()) out += (out.empty() ? "" : "; ") + line.remark;
  if (line.doubtful) out += std::string(out.empty() ? "" : "; ") + "its probe failed a check next to it";
  return out;
}

std::string cells(const std::vector<std::string>& row, const char* tag) {
  std::string out = "<tr>";
  for (const std::string& cell : row) out += fmt::format("<{0}>{1}</{0}>", tag, html_escaped(cell));
  return out + "</tr>\n";
}

std::string table(const std::vector<std::string>& heads, const std::vector<std::vector<std::string>>& rows) {
  std::string out = "<table>\n" + cells(heads, "th");
  for (const auto& row : rows) out += cells(row, "td");
  return out + "</table>\n";
}

std::string altered_text(const BatchPage& page) {
  return fmt::format("THE RECORD IS NOT AS IT WAS WRITTEN: {}. What follows is what the file says now.", page.altered);
}

constexpr const char* style =
    "@page{size:A4;margin:15mm}body{font:11pt/1.4 serif;color:#000;background:#fff;max-width:180mm;margin:1em auto}"
    "h1{font-size:16pt;margin:0 0 .3em}h2{font-size:12pt;margin:1.2em 0 .3em}table{border-collapse:collapse;width:100%}"
    "th,td{text-align:left;vertical-align:top;padding:.15em .6em .15em 0;border-bottom:1px solid #999}"
    "tr{break-inside:avoid}p.small{font-size:9pt}";

}  // namespace

std::string page_text(const BatchPage& page) {
  std::string out = page.id + "\n";
  if (!page.altered.empty()) out += altered_text(page) + "\n";
  for (const auto& [what, is] : page.facts) out += fmt::format("  {:<15} {}\n", what, is);
  out += fmt::format("  {:<15} {}\n", "rules in force", page.rules);
  for (const std::string& verdict : page.verdicts) out += verdict + "\n";
  out += page.readings.empty() ? "no readings\n" : "readings\n";
  for (const ReadingLine& line : page.readings) {
    out += fmt::format("  {:>4}  {}  {}  probe {} ({})  {}", line.number, when(line.taken, page.utc_offset),
                       temperature(line), line.probe, line.probe_check, line.by);
    const std::string doubt = doubts(line, page.utc_offset);
    out += doubt.empty() ? "\n" : "  [" + doubt + "]\n";
  }
  out += page.plates.empty() ? "no plates\n" : "plates\n";
  for (const PlateLine& line : page.plates)
    out += fmt::format("  {}  table {} {} position {}  {}, {}\n", when(line.at, page.utc_offset), line.table,
                       line.course, line.position, line.dish, line.component);
  out += "what was done\n";
  for (const LogLine& line : page.log)
    out += fmt::format("  {:>6}  {}  {}\n", line.number, when(line.at, page.utc_offset), line.says);
  return out + std::string(food::caution) + "\n";
}

std::string page_html(const BatchPage& page) {
  std::string out = fmt::format(
      "<!doctype html>\n<html lang=\"en-GB\">\n<head><meta charset=\"utf-8\">\n<title>Batch {0}</title>\n"
      "<style>{1}</style></head>\n<body>\n<h1>Batch {0}</h1>\n",
      html_escaped(page.id), style);
  if (!page.altered.empty()) out += fmt::format("<p><strong>{}</strong></p>\n", html_escaped(altered_text(page)));
  std::vector<std::vector<std::string>> facts;
  for (const auto& [what, is] : page.facts) facts.push_back({what, is});
  facts.push_back({"rules in force", page.rules});
  out += table({"", ""}, facts);
  out += "<h2>Verdicts</h2>\n";
  if (page.verdicts.empty()) out += "<p>Nothing of it was held against a limit.</p>\n";
  for (const std::string& verdict : page.verdicts) out += fmt::format("<p>{}</p>\n", html_escaped(verdict));
  std::vector<std::vector<std::string>> rows;
  for (const ReadingLine& line : page.readings)
    rows.push_back({std::to_string(line.number), when(line.taken, page.utc_offset), temperature(line), line.probe,
                    line.probe_check, line.by, doubts(line, page.utc_offset)});
  out += "<h2>Readings</h2>\n" + table({"no.", "taken", "core", "probe", "its last check before", "by", ""}, rows);
  rows.clear();
  for (const PlateLine& line : page.plates)
    rows.push_back({when(line.at, page.utc_offset), line.table, line.course, std::to_string(line.position), line.dish,
                    line.component});
  out += "<h2>Plates</h2>\n" + table({"dressed", "table", "course", "position", "dish", "component"}, rows);
  rows.clear();
  for (const LogLine& line : page.log)
    rows.push_back({std::to_string(line.number), when(line.at, page.utc_offset), line.says});
  out += "<h2>What was done</h2>\n" + table({"no.", "when", ""}, rows);
  out += fmt::format("<p class=\"small\">{}</p>\n", html_escaped(std::string(food::caution)));
  return out + "</body>\n</html>\n";
}

std::string readings_csv(const std::vector<Recorded>& events) {
  std::string out =
      "reading,taken,entered,entered_later,batch,place,probe,celsius,corrected_c,correction,by,doubtful,remark\r\n";
  for (const ReadingLine& line : reading_lines(events)) {
    const std::vector<std::string> row{std::to_string(line.number),
                                       to_rfc3339(line.taken),
                                       to_rfc3339(line.entered),
                                       line.entered_later ? "yes" : "no",
                                       csv_words(line.batch),
                                       csv_words(line.place),
                                       csv_words(line.probe),
                                       fmt::format("{}", line.celsius),
                                       line.corrected_c ? fmt::format("{}", *line.corrected_c) : std::string(),
                                       csv_words(line.corrected),
                                       csv_words(line.by),
                                       line.doubtful ? "yes" : "no",
                                       csv_words(line.remark)};
    for (std::size_t i = 0; i < row.size(); ++i) out += (i == 0 ? "" : ",") + row[i];
    out += "\r\n";
  }
  return out;
}

}  // namespace nappe::mise
