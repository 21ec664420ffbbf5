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

std::string link_sentence(const Link& link, Duration utc_offset) {
  if (link.up) return {};
  std::string kept;
  if (link.kept > 0) kept = fmt::format(", {} {} kept", link.kept, link.kept == 1 ? "press" : "presses");
  if (!link.alone_since) return "no server yet" + kept;
  return fmt::format("on its own since {}{}", clock_text(*link.alone_since, utc_offset), kept);
}

void draw_box(Grid& grid, const Look& look, const std::string& title, const std::vector<std::string>& lines) {
  int width = columns_of(title) + 6;
  for (const std::string& line : lines) width = std::max(width, columns_of(line) + 4);
  const Size size = grid.size();
  width = std::min(width, size.columns);
  const int height = std::min(static_cast<int>(lines.size()) + 2, size.rows);
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
  for (int i = 0; i < height - 2; ++i) {
    grid.put(top + 1 + i, left + 2, lines[static_cast<std::size_t>(i)], Tone::normal, width - 4);
  }
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
  const int width = grid.size().columns - 2 - columns_of(tail);
  const int end = grid.put(row, 1, notice.text, notice.refused ? Tone::reverse : Tone::strong, width);
  grid.put(row, end, tail, Tone::strong);
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
