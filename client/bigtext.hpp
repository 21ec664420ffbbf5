#pragma once
// Big letters for the next move: our own block letters, five rows high, broad where there is room and narrow where not.

#include <string>
#include <string_view>

#include "client/grid.hpp"

namespace nappe::client {

enum class Letters {
  broad,   ///< Strokes two cells wide: as heavy upright as across in a usual terminal font.
  narrow,  ///< Strokes one cell wide.
  line     ///< Not block letters: the word itself in capitals.
};

inline constexpr int big_rows = 5;

/// The broadest letters in which the whole word fits into `columns`. Words with letters we have no block for, or too
/// long for both sets, are `line`.
Letters letters_that_fit(std::string_view word, int columns);

/// The word cut where it must be: what stands in big letters, and the words behind that do not fit ("foam", "and
/// spoon").
struct BigWord {
  std::string big;
  std::string behind;
  Letters letters = Letters::line;
};
BigWord big_word_that_fits(std::string_view word, int columns);

/// Draws the word with its top left corner at (row, column); returns the column behind it. A `line` word stands in the
/// middle row.
int put_big(Grid& grid, int row, int column, std::string_view word, Letters letters, char32_t ink, Tone tone);

}  // namespace nappe::client
