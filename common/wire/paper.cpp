#include "common/wire/paper.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <optional>
#include <string_view>
#include <vector>

#include "common/words.hpp"

namespace nappe::wire {
namespace {

using nlohmann::json;

constexpr std::string_view station_prefix = "station:";

std::string text(const json& in, const char* name) {
  const auto found = in.find(name);
  return found != in.end() && found->is_string() ? found->get<std::string>() : std::string();
}

std::optional<Instant> instant(const json& in, const char* name) {
  const auto found = in.find(name);
  if (found == in.end() || !found->is_number_integer()) return std::nullopt;
  return from_ms(found->get<std::int64_t>());
}

int whole(const json& in, const char* name) {
  const auto found = in.find(name);
  return found != in.end() && found->is_number_integer() ? found->get<int>() : 0;
}

bool yes(const json& in, const char* name) {
  const auto found = in.find(name);
  return found != in.end() && found->is_boolean() && found->get<bool>();
}

const json& part(const json& in, const char* name) {
  static const json nothing = json::object();
  const auto found = in.find(name);
  return found != in.end() && found->is_object() ? *found : nothing;
}

/// Letters of Latin scripts without their accents, anything else as '?'.
std::string ascii(std::string_view in) {
  constexpr std::string_view from_c0 = "AAAAAAACEEEEIIIIDNOOOOOxOUUUUYTsaaaaaaaceeeeiiiidnooooo/ouuuuyty";
  std::string out;
  for (std::size_t at = 0; at < in.size(); ++at) {
    const auto byte = static_cast<unsigned char>(in[at]);
    if (byte < 0x80) {
      out += byte < 0x20 || byte == 0x7f ? ' ' : in[at];
    } else if (byte == 0xc3 && at + 1 < in.size()) {
      out += from_c0[static_cast<unsigned char>(in[++at]) & 0x3fU];
    } else if (byte >= 0xc0) {
      out += '?';
    }
  }
  return out;
}

/// Lines of one width, and pages.
class Paper {
 public:
  Paper(PaperSize size, Duration utc_offset) : size_(size), offset_(utc_offset) {}

  /// A line; words that do not fit go on in the next one, indented. `right` stands at the right edge of the first.
  void line(std::string_view left, std::string_view right = {}, int indent = 0) {
    for (std::string& one : broken(left, right, indent)) put(std::move(one));
  }
  /// The same as rows, not written yet.
  [[nodiscard]] std::vector<std::string> broken(std::string_view left, std::string_view right, int indent) const {
    const std::string all = ascii(left);
    const std::string edge = ascii(right);
    const auto columns = static_cast<std::size_t>(size_.columns);
    const std::size_t room = edge.empty() ? columns : columns - std::min(columns / 2, edge.size() + 1);
    std::vector<std::string> rows;
    std::size_t at = 0;
    do {
      const bool first = rows.empty();
      const std::size_t wide = first ? room : columns;
      const std::size_t shift = first ? 0 : static_cast<std::size_t>(indent);
      std::string piece = std::string(shift, ' ') + cut(all, at, wide - shift);
      if (first && !edge.empty()) {
        piece.resize(columns - std::min(columns / 2, edge.size()), ' ');
        piece += edge.substr(0, columns / 2);
      }
      rows.push_back(std::move(piece));
    } while (at < all.size());
    return rows;
  }
  /// Rows that belong together: never with a page's end between them, as far as a page holds them.
  void together(std::vector<std::string> rows) {
    keep_together(static_cast<int>(rows.size()));
    for (std::string& one : rows) put(std::move(one));
  }
  void rule(char letter) { put(std::string(static_cast<std::size_t>(size_.columns), letter)); }
  void blank() { put({}); }
  /// Begins a new page unless `lines` more fit on this one; on a roll a blank line.
  void keep_together(int lines) {
    if (size_.lines == 0 || line_ + lines <= size_.lines) return;
    end_page();
  }
  void end_page() {
    if (size_.lines == 0 || line_ == 0) return;
    text_ += '\f';
    line_ = 0;
  }
  [[nodiscard]] std::string clock(Instant at) const { return clock_text(at, offset_); }
  [[nodiscard]] std::string finished() && { return std::move(text_); }

 private:
  /// As many words from `at` on as fit; a word that is longer than a line is broken.
  static std::string cut(const std::string& all, std::size_t& at, std::size_t wide) {
    while (at < all.size() && all[at] == ' ' && at > 0) ++at;
    if (all.size() - at <= wide) {
      std::string rest = all.substr(at);
      at = all.size();
      return rest;
    }
    std::size_t end = all.rfind(' ', at + wide);
    if (end == std::string::npos || end <= at) end = at + wide;
    std::string piece = all.substr(at, end - at);
    at = end;
    return piece;
  }
  void put(std::string one) {
    one.erase(one.find_last_not_of(' ') + 1);
    text_ += one + '\n';
    if (++line_ == size_.lines) end_page();
  }

  PaperSize size_;
  Duration offset_;
  std::string text_;
  int line_ = 0;
};

/// The entries of a keyed collection, by an instant of theirs.
std::vector<const json*> by_time(const json& collection, const char* member) {
  std::vector<const json*> all;
  for (const auto& one : collection) {
    if (one.is_object()) all.push_back(&one);
  }
  std::stable_sort(all.begin(), all.end(), [&](const json* a, const json* b) {
    return instant(*a, member).value_or(Instant{}) < instant(*b, member).value_or(Instant{});
  });
  return all;
}

std::string tables_text(const json& item) {
  const std::string tables = text(item, "tables");
  return tables.empty() ? "" : "t" + tables;
}

void write_move(Paper& paper, const json& item) {
  const std::string letter = text(item, "letter");
  const bool doing = text(item, "state") == "doing";
  const std::string when = doing ? "now     " : paper.clock(instant(item, "at_ms").value_or(Instant{}));
  std::string move = fmt::format("{} {} {}", when, text(item, "move"), text(item, "what"));
  if (!letter.empty()) move += fmt::format(" ({})", letter);
  if (whole(item, "n") > 1) move += fmt::format(" x{}", whole(item, "n"));
  std::vector<std::string> rows = paper.broken(move, tables_text(item), 9);
  const auto add = [&](const std::string& left) {
    for (std::string& row : paper.broken(left, {}, 9)) rows.push_back(std::move(row));
  };
  // What must not be missed stands on a line of its own, marked without colour.
  if (const std::string words = text(item, "words"); !words.empty()) add("      !! " + words);
  if (const std::string change = text(item, "change"); !change.empty()) add("         " + change);
  if (const std::string how = text(item, "how"); !how.empty()) add("         " + how);
  const json& cue = part(item, "cue");
  if (const std::string look = text(cue, "look"); !look.empty()) add("         until: " + look);
  paper.together(std::move(rows));
}

void write_station(Paper& paper, const json& station, Instant now) {
  std::string people;
  for (const auto& person : part(station, "hands")) {
    if (yes(person, "present")) people += (people.empty() ? "" : ", ") + text(person, "name");
  }
  std::string name = text(part(station, "station"), "name");
  std::transform(name.begin(), name.end(), name.begin(),
                 [](unsigned char c) { return static_cast<char>(c >= 'a' && c <= 'z' ? c - 32 : c); });
  paper.keep_together(6);
  paper.rule('=');
  paper.line(name + "  " + people, paper.clock(now));
  int moves = 0;
  for (const json* item : by_time(part(station, "list"), "at_ms")) {
    const auto at = instant(*item, "at_ms");
    if (!at || *at > now + paper_ahead) continue;
    write_move(paper, *item);
    ++moves;
  }
  if (moves == 0) paper.line("nothing for these hands in 20 minutes");
  const auto heat = by_time(part(station, "heat"), "next_ms");
  if (!heat.empty()) paper.line("- on the heat");
  for (const json* pan : heat) {
    paper.line(fmt::format("{} {} {}: {}", paper.clock(instant(*pan, "next_ms").value_or(Instant{})),
                           text(*pan, "letter"), text(*pan, "what"), text(*pan, "then")),
               tables_text(*pan), 9);
  }
  const auto standing = by_time(part(station, "standing"), "until_ms");
  if (!standing.empty()) paper.line("- stands here, good until");
  for (const json* one : standing) {
    paper.line(fmt::format("{} {}", paper.clock(instant(*one, "until_ms").value_or(Instant{})), text(*one, "what")),
               tables_text(*one), 9);
  }
  paper.blank();
}

std::string course_state(const Paper& paper, const json& course) {
  const std::string state = text(course, "state");
  if (state == "gone") {
    const auto at = instant(course, "gone_ms");
    return at ? "gone " + paper.clock(*at) : "gone";
  }
  if (state == "waiting") return "not fired";
  const auto meet = instant(course, "expected_ms");
  const auto promised = instant(course, "meet_ms");
  const auto at = meet ? meet : promised;
  return (state == "held" ? "HELD, meets " : "meets ") + (at ? paper.clock(*at) : "?");
}

void write_plate(Paper& paper, const std::string& position, const json& plate) {
  const std::string state = text(plate, "state");
  std::string says = state;
  if (state == "standing") {
    const auto until = instant(plate, "until_ms");
    says = "at the pass" + (until ? " until " + paper.clock(*until) : std::string());
  } else if (state == "blocked") {
    says = "BLOCKED";
  } else if (const std::string missing = text(plate, "missing"); !missing.empty()) {
    says = "wants " + missing;
  }
  std::string line = fmt::format("  {} {}: {}", position, text(plate, "name"), says);
  if (const std::string change = text(plate, "change"); !change.empty()) line += " (" + change + ")";
  paper.line(line, {}, 4);
  if (const std::string words = text(plate, "words"); !words.empty()) paper.line("  !! " + words, {}, 4);
}

void write_table(Paper& paper, const json& table) {
  std::vector<const json*> courses;
  for (const auto& course : part(table, "courses")) courses.push_back(&course);
  std::stable_sort(courses.begin(), courses.end(),
                   [](const json* a, const json* b) { return whole(*a, "order") < whole(*b, "order"); });
  paper.keep_together(4);
  paper.line(fmt::format("TABLE {}  {}  {}", text(table, "table"), counted(whole(table, "covers"), "cover"),
                         text(table, "room")),
             fmt::format("ticket {}", whole(table, "ticket")));
  if (const std::string note = text(table, "note"); !note.empty()) paper.line("  " + note, {}, 2);
  const json& allergies = part(table, "allergies");
  for (const auto& [position, what] : allergies.items()) {
    paper.line(fmt::format("  !! position {}: NO {}", position, what.is_string() ? what.get<std::string>() : ""), {},
               5);
  }
  for (const json* course : courses) {
    paper.line(fmt::format(" {} ({})", text(*course, "name"), whole(*course, "covers")), course_state(paper, *course));
    const std::string state = text(*course, "state");
    if (state != "fired" && state != "held") continue;
    for (const auto& [position, plate] : part(*course, "plates").items()) {
      if (text(plate, "state") != "gone") write_plate(paper, position, plate);
    }
  }
  paper.blank();
}

}  // namespace

std::string paper_text(const std::map<std::string, json>& documents, Instant now, Duration utc_offset, PaperSize size) {
  Paper paper(size, utc_offset);
  const auto pass = documents.find("pass");
  const json nothing = json::object();
  const json& run_in = pass == documents.end() ? nothing : pass->second;
  const json& service = part(run_in, "service");
  paper.line(yes(service, "open") ? text(service, "name") : "no service is open", paper.clock(now));
  paper.line("What was planned when this was printed. Cross off what is done; the food says when.");
  paper.blank();
  // The stations in the order of the kitchen, each a slip to tear off.
  std::vector<std::pair<int, std::string>> stations;
  for (const auto& [id, station] : part(run_in, "stations").items()) stations.emplace_back(whole(station, "order"), id);
  std::sort(stations.begin(), stations.end());
  for (const auto& [order, id] : stations) {
    const auto found = documents.find(std::string(station_prefix) + id);
    if (found != documents.end()) write_station(paper, found->second, now);
  }
  paper.end_page();
  paper.rule('=');
  paper.line("TABLES", paper.clock(now));
  paper.blank();
  std::vector<const json*> tables;
  for (const auto& table : part(run_in, "tables")) tables.push_back(&table);
  std::stable_sort(tables.begin(), tables.end(),
                   [](const json* a, const json* b) { return whole(*a, "ticket") < whole(*b, "ticket"); });
  for (const json* table : tables) write_table(paper, *table);
  if (tables.empty()) paper.line("no table has a ticket");
  for (const auto& dish : part(run_in, "off")) {
    paper.line(whole(dish, "left") == 0 ? "OFF: " + text(dish, "name")
                                        : fmt::format("{} left: {}", whole(dish, "left"), text(dish, "name")));
  }
  return std::move(paper).finished();
}

}  // namespace nappe::wire
