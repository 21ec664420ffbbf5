#include "client/grid.hpp"

#include <algorithm>
#include <array>

namespace nappe::client {
namespace {

constexpr char32_t replacement = U'\uFFFD';
constexpr char32_t ellipsis = U'\u2026';

bool is_control(char32_t c) { return c < 0x20 || (c >= 0x7F && c < 0xA0) || (c >= 0x202A && c <= 0x202E); }

struct Range {
  char32_t first, last;
};
// The blocks East Asian Width (UAX 11) calls wide that can turn up in a note; enough to keep columns true.
constexpr std::array<Range, 9> wide{{{0x1100, 0x115F},
                                     {0x2E80, 0x303E},
                                     {0x3041, 0xA4CF},
                                     {0xAC00, 0xD7A3},
                                     {0xF900, 0xFAFF},
                                     {0xFE30, 0xFE6F},
                                     {0xFF00, 0xFF60},
                                     {0x1F300, 0x1FAFF},
                                     {0x20000, 0x3FFFD}}};
constexpr std::array<Range, 5> combining{
    {{0x0300, 0x036F}, {0x200B, 0x200F}, {0x20D0, 0x20FF}, {0xFE00, 0xFE0F}, {0xFE20, 0xFE2F}}};

template <std::size_t N>
bool within(const std::array<Range, N>& ranges, char32_t c) {
  return std::any_of(ranges.begin(), ranges.end(), [c](const Range& r) { return c >= r.first && c <= r.last; });
}

// The length a first byte announces; 0 for a byte that cannot begin a character.
std::size_t announced(unsigned char byte) {
  if (byte < 0x80) return 1;
  if (byte >= 0xC2 && byte < 0xE0) return 2;
  if (byte >= 0xE0 && byte < 0xF0) return 3;
  return byte >= 0xF0 && byte < 0xF5 ? 4 : 0;
}

// One character at `at`, or nothing when its bytes are broken, too long for it, or a surrogate.
char32_t take_one(std::string_view text, std::size_t at, std::size_t length) {
  constexpr std::array<unsigned char, 5> mask{0, 0x7F, 0x1F, 0x0F, 0x07};
  constexpr std::array<char32_t, 5> smallest{0, 0, 0x80, 0x800, 0x10000};
  if (length == 0 || at + length > text.size()) return replacement;
  char32_t c = static_cast<unsigned char>(text[at]) & mask[length];
  for (std::size_t i = 1; i < length; ++i) {
    const auto byte = static_cast<unsigned char>(text[at + i]);
    if ((byte & 0xC0U) != 0x80U) return replacement;
    c = (c << 6U) | (byte & 0x3FU);
  }
  const bool bad = c < smallest[length] || c > 0x10FFFF || (c >= 0xD800 && c <= 0xDFFF);
  return bad ? replacement : c;
}

}  // namespace

std::u32string decode_utf8(std::string_view text) {
  std::u32string out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t length = announced(static_cast<unsigned char>(text[at]));
    const char32_t c = take_one(text, at, length);
    out.push_back(c);
    at += c == replacement ? 1 : length;
  }
  return out;
}

void append_utf8(std::string& out, char32_t c) {
  const auto byte = [&out](char32_t value) { out.push_back(static_cast<char>(static_cast<unsigned char>(value))); };
  if (c < 0x80) {
    byte(c);
  } else if (c < 0x800) {
    byte(0xC0 | (c >> 6U));
    byte(0x80 | (c & 0x3FU));
  } else if (c < 0x10000) {
    byte(0xE0 | (c >> 12U));
    byte(0x80 | ((c >> 6U) & 0x3FU));
    byte(0x80 | (c & 0x3FU));
  } else {
    byte(0xF0 | (c >> 18U));
    byte(0x80 | ((c >> 12U) & 0x3FU));
    byte(0x80 | ((c >> 6U) & 0x3FU));
    byte(0x80 | (c & 0x3FU));
  }
}

int columns_of(char32_t c) {
  if (c == 0 || within(combining, c)) return 0;
  return within(wide, c) ? 2 : 1;
}

int columns_of(std::string_view text) {
  int sum = 0;
  for (const char32_t c : decode_utf8(text)) sum += columns_of(c);
  return sum;
}

char32_t to_ascii(char32_t c) {
  constexpr std::string_view latin1 = "AAAAAAACEEEEIIIIDNOOOOOxOUUUUYTsaaaaaaaceeeeiiiidnooooo/ouuuuyty";
  if (c < 0x80) return c;
  if (c >= 0xC0 && c <= 0xFF) return static_cast<char32_t>(latin1[c - 0xC0]);
  if (c == U'\u2019' || c == U'\u2018') return U'\'';
  if (c == U'\u2013' || c == U'\u2014') return U'-';
  if (c == ellipsis) return U'~';
  if (c == U'\u0153') return U'o';
  return U'?';
}

Grid::Grid(Size size) : size_{std::max(size.rows, 0), std::max(size.columns, 0)} {
  cells_.resize(static_cast<std::size_t>(size_.rows) * static_cast<std::size_t>(size_.columns));
}

const Cell& Grid::at(int row, int column) const {
  return cells_.at(static_cast<std::size_t>(row) * static_cast<std::size_t>(size_.columns) +
                   static_cast<std::size_t>(column));
}

void Grid::set(int row, int column, Cell cell) {
  if (row < 0 || column < 0 || row >= size_.rows || column >= size_.columns) return;
  cells_[static_cast<std::size_t>(row) * static_cast<std::size_t>(size_.columns) + static_cast<std::size_t>(column)] =
      cell;
}

int Grid::put(int row, int column, std::string_view text, Tone tone, int limit) {
  const int edge = limit < 0 ? size_.columns : std::min(size_.columns, column + limit);
  const int needed = columns_of(text);
  const bool cut = column + needed > edge;
  const int last = cut ? edge - 1 : edge;
  if (last < column) return column;
  for (char32_t c : decode_utf8(text)) {
    if (is_control(c)) c = U'?';
    const int width = columns_of(c);
    if (width == 0) continue;
    if (column + width > last) break;
    set(row, column, {c, tone});
    if (width == 2) set(row, column + 1, {0, tone});
    column += width;
  }
  if (cut && column < edge) set(row, column++, {ellipsis, tone});
  return column;
}

void Grid::put_right(int row, int end_column, std::string_view text, Tone tone) {
  put(row, end_column - columns_of(text), text, tone);
}

int Grid::fill(int row, int column, int count, char32_t letter, Tone tone) {
  for (int i = 0; i < count; ++i) set(row, column + i, {letter, tone});
  return column + std::max(count, 0);
}

void Grid::tint(int row, int column, int count, Tone tone) {
  for (int i = column; i < column + count; ++i) {
    if (row >= 0 && row < size_.rows && i >= 0 && i < size_.columns) set(row, i, {at(row, i).letter, tone});
  }
}

void Grid::make_ascii() {
  for (Cell& cell : cells_) {
    if (cell.letter != 0) cell.letter = to_ascii(cell.letter);
  }
}

std::string Grid::text() const {
  std::string out;
  for (int row = 0; row < size_.rows; ++row) {
    std::string line;
    for (int column = 0; column < size_.columns; ++column) {
      if (at(row, column).letter != 0) append_utf8(line, at(row, column).letter);
    }
    line.erase(line.find_last_not_of(' ') + 1);
    out += line + '\n';
  }
  return out;
}

std::string Grid::tones() const {
  std::string out;
  for (int row = 0; row < size_.rows; ++row) {
    std::string line;
    for (int column = 0; column < size_.columns; ++column) {
      const Cell& cell = at(row, column);
      const bool blank =
          cell.letter == U' ' && (cell.tone == Tone::normal || cell.tone == Tone::dim || cell.tone == Tone::strong);
      line += blank ? ' ' : ".dsrC"[static_cast<std::size_t>(cell.tone)];
    }
    line.erase(line.find_last_not_of(' ') + 1);
    out += line + '\n';
  }
  return out;
}

}  // namespace nappe::client
