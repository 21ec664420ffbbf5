#pragma once
// A screen as cells: what the drawing functions return and what curses writes. Pure, so that a screen is golden text.

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace nappe::client {

/// How a cell looks. Every tone can be shown without colour; `colour` is the one coloured thing of a screen.
enum class Tone : std::uint8_t {
  normal,
  dim,      ///< Steps back: what needs no eye now.
  strong,   ///< Steps forward.
  reverse,  ///< A bar across: the selected row, a sentence that must be seen.
  colour    ///< The one thing that wants a hand. Without colour: strong and reversed.
};

struct Size {
  int rows = 24;
  int columns = 80;
  friend bool operator==(const Size&, const Size&) = default;
};

struct Cell {
  char32_t letter = U' ';  ///< 0: the right half of a wide letter.
  Tone tone = Tone::normal;
  friend bool operator==(const Cell&, const Cell&) = default;
};

/// Cells in rows and columns, both from 0. Writing outside is clipped, never an error.
class Grid {
 public:
  explicit Grid(Size size);

  [[nodiscard]] Size size() const { return size_; }
  [[nodiscard]] const Cell& at(int row, int column) const;
  void set(int row, int column, Cell cell);

  /// Writes UTF-8 text; control characters and broken bytes become '?', so that no text can steer a terminal. Stops at
  /// `limit` columns (-1: the edge), ending in an ellipsis if something is cut. Returns the column behind the text.
  int put(int row, int column, std::string_view text, Tone tone = Tone::normal, int limit = -1);
  /// The same ending at this column (excluded).
  void put_right(int row, int end_column, std::string_view text, Tone tone = Tone::normal);
  /// `count` times the same letter; returns the column behind.
  int fill(int row, int column, int count, char32_t letter, Tone tone = Tone::normal);
  /// Changes the tone of a stretch and leaves its letters.
  void tint(int row, int column, int count, Tone tone);

  /// Every letter as ASCII shows it, for terminals that know no other.
  void make_ascii();

  /// The letters as UTF-8, rows ended by newlines, without blanks at row ends.
  [[nodiscard]] std::string text() const;
  /// One letter a cell for its tone: '.' normal, 'd', 's', 'r', 'C'; blanks keep ' '. For tests.
  [[nodiscard]] std::string tones() const;

  friend bool operator==(const Grid&, const Grid&) = default;

 private:
  Size size_;
  std::vector<Cell> cells_;
};

/// The code points of UTF-8 text; broken bytes become U+FFFD.
std::u32string decode_utf8(std::string_view text);
void append_utf8(std::string& out, char32_t letter);

/// Columns a letter takes in a terminal: 0 (combining), 1 or 2.
int columns_of(char32_t letter);
/// Columns a text takes.
int columns_of(std::string_view text);

/// Latin letters without their accents, everything else outside ASCII as '?': for terminals that cannot show more.
char32_t to_ascii(char32_t letter);

}  // namespace nappe::client
