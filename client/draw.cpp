#include "client/draw.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "client/words.hpp"

namespace nappe::client {

std::vector<FreeTime> free_times(const std::vector<const Item*>& list, int hands, Instant now, Duration least) {
  std::vector<FreeTime> out;
  if (hands < 1) return out;
  std::vector<Instant> busy_until(static_cast<std::size_t>(hands), now);
  Instant before = now;
  for (std::size_t i = 0; i < list.size(); ++i) {
    const Instant at = std::max(list[i]->at, now);
    std::sort(busy_until.begin(), busy_until.end());
    const Instant from = std::max(before, busy_until.front());
    if (at - from >= least) {
      const auto idle = std::count_if(busy_until.begin(), busy_until.end(), [&](Instant end) { return end <= from; });
      out.push_back({i, from, at, static_cast<int>(idle), hands});
    }
    busy_until.front() = std::max(busy_until.front(), at) + list[i]->takes;
    before = at;
  }
  return out;
}

std::string service_words(const Service& service) {
  if (service.open) return service.name;
  if (!service.closed) return "the service is not open: nothing to do yet";
  return fmt::format("{} closed since {}: nothing to do", service.name,
                     hour_minute(*service.closed, service.utc_offset));
}

std::string link_sentence(const Link& link, Duration utc_offset) {
  if (link.up) return {};
  std::string kept;
  if (link.kept > 0) kept = fmt::format(", {} {} kept", link.kept, link.kept == 1 ? "press" : "presses");
  if (!link.alone_since) return "no server yet" + kept;
  return fmt::format("on its own since {}{}", clock_text(*link.alone_since, utc_offset), kept);
}

namespace {

// A line of a box in as many rows as it needs; what follows stands under its text, behind a key's name.
std::vector<std::string> in_box(const std::string& line, int columns) {
  if (columns_of(line) <= columns) return {line};
  const std::size_t gap = line.find("  ");
  const std::size_t text = gap == std::string::npos ? std::string::npos : line.find_first_not_of(' ', gap);
  const std::size_t indent = text == std::string::npos || text > 12 ? 2 : text;
  std::vector<std::string> out;
  for (const std::string& part : wrapped(line.substr(text > 12 ? 0 : indent), columns - static_cast<int>(indent)))
    out.push_back((out.empty() ? line.substr(0, text > 12 ? 0 : indent) : std::string(indent, ' ')) + part);
  return out;
}

}  // namespace

void draw_box(Grid& grid, const Look& look, const std::string& title, const std::vector<std::string>& lines, int page) {
  int width = columns_of(title) + 6;
  for (const std::string& line : lines) width = std::max(width, columns_of(line) + 4);
  const Size size = grid.size();
  width = std::min(width, size.columns);
  std::vector<std::string> rows;
  for (const std::string& line : lines)
    for (std::string& row : in_box(line, width - 4)) rows.push_back(std::move(row));
  const int room = std::max(1, size.rows - 2);
  const int pages = std::max(1, (static_cast<int>(rows.size()) + room - 1) / room);
  const int from = (page % pages) * room;
  const int shown = std::min(room, static_cast<int>(rows.size()) - from);
  const int height = shown + 2;
  const int top = (size.rows - height) / 2;
  const int left = (size.columns - width) / 2;
  for (int row = top; row < top + height; ++row) {
    grid.fill(row, left, width, U' ');
    grid.set(row, left, {look.wall, Tone::dim});
    grid.set(row, left + width - 1, {look.wall, Tone::dim});
  }
  grid.fill(top, left, width, look.rule, Tone::dim);
  grid.fill(top + height - 1, left, width, look.rule, Tone::dim);
  grid.put(top, left + 2, " " + title + " ", Tone::strong, width - 4);
  if (pages > 1)
    grid.put(top + height - 1, left + 2, fmt::format(" {} of {}, space: more ", page % pages + 1, pages), Tone::strong,
             width - 4);
  for (int i = 0; i < shown; ++i)
    grid.put(top + 1 + i, left + 2, rows[static_cast<std::size_t>(from + i)], Tone::normal, width - 4);
}

std::vector<std::string> help_lines(const std::vector<Binding>& table) {
  std::vector<std::string> out;
  for (const Binding& binding : table) {
    if (!binding.name.empty()) out.push_back(fmt::format("{:<9} {}", binding.name, binding.does));
  }
  return out;
}

void draw_notice(Grid& grid, int row, const Notice& notice) {
  const std::string tail = notice.may_insist ? "  [!] anyway" : "";
  const int width = grid.size().columns - 2;
  const Tone tone = notice.refused ? Tone::reverse : Tone::strong;
  std::vector<std::string> lines = wrapped(notice.text, width);
  if (lines.empty()) return;
  if (columns_of(lines.back()) + columns_of(tail) > width) lines.emplace_back();
  const int top = std::max(0, row + 1 - static_cast<int>(lines.size()));
  for (std::size_t i = 0; i < lines.size() && top + static_cast<int>(i) <= row; ++i) {
    const int at = top + static_cast<int>(i);
    grid.fill(at, 0, grid.size().columns, U' ');
    const int end = grid.put(at, 1, lines[i], tone, width);
    if (i + 1 == lines.size()) grid.put(at, end, tail, Tone::strong);
  }
}

void draw_rule(Grid& grid, const Look& look, int row, const std::string& left, const std::string& right) {
  grid.fill(row, 0, grid.size().columns, look.rule, Tone::dim);
  if (!left.empty()) grid.put(row, 1, " " + left + " ", Tone::dim);
  if (!right.empty()) grid.put_right(row, grid.size().columns - 1, " " + right + " ", Tone::dim);
}

std::vector<std::string> wrapped(const std::string& text, int columns) {
  std::vector<std::string> out;
  std::string line;
  int used = 0;
  std::size_t at = 0;
  while (at < text.size() && columns > 0) {
    const std::size_t blank = std::min(text.find(' ', at), text.size());
    std::string word = text.substr(at, blank - at);
    at = blank + 1;
    int width = columns_of(word);
    if (used > 0 && used + 1 + width > columns) {
      out.push_back(std::move(line));
      line.clear();
      used = 0;
    }
    for (; width > columns; width = columns_of(word)) {
      std::u32string letters = decode_utf8(word);
      std::string head;
      word.clear();
      for (std::size_t i = 0; i < letters.size(); ++i) {
        append_utf8(i < static_cast<std::size_t>(columns) ? head : word, letters[i]);
      }
      out.push_back(std::move(head));
    }
    if (used > 0) line += ' ';
    line += word;
    used += width + (used > 0 ? 1 : 0);
  }
  if (!line.empty()) out.push_back(std::move(line));
  return out;
}

std::vector<std::string> wrapped_clauses(const std::string& text, int columns) {
  std::vector<std::string> out;
  std::string line;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t comma = text.find(", ", at);
    const std::size_t end = comma == std::string::npos ? text.size() : comma + 1;
    const std::string clause = text.substr(at, end - at);
    at = comma == std::string::npos ? text.size() : comma + 2;
    const bool fits = line.empty() || columns_of(line) + 1 + columns_of(clause) <= columns;
    if (!fits) {
      for (std::string& part : wrapped(line, columns)) out.push_back(std::move(part));
      line.clear();
    }
    line += (line.empty() ? "" : " ") + clause;
  }
  for (std::string& part : wrapped(line, columns)) out.push_back(std::move(part));
  return out;
}

}  // namespace nappe::client
