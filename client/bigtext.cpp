#include "client/bigtext.hpp"

#include <algorithm>
#include <array>
#include <string>
#include <vector>

namespace nappe::client {
namespace {

struct Glyph {
  char letter;
  std::array<std::string_view, big_rows> rows;
};

constexpr std::array broad_glyphs{
    Glyph{'A', {" #### ", "##  ##", "######", "##  ##", "##  ##"}},
    Glyph{'B', {"##### ", "##  ##", "##### ", "##  ##", "##### "}},
    Glyph{'C', {" #####", "##    ", "##    ", "##    ", " #####"}},
    Glyph{'D', {"##### ", "##  ##", "##  ##", "##  ##", "##### "}},
    Glyph{'E', {"######", "##    ", "##### ", "##    ", "######"}},
    Glyph{'F', {"######", "##    ", "##### ", "##    ", "##    "}},
    Glyph{'G', {" #####", "##    ", "## ###", "##  ##", " #####"}},
    Glyph{'H', {"##  ##", "##  ##", "######", "##  ##", "##  ##"}},
    Glyph{'I', {"##", "##", "##", "##", "##"}},
    Glyph{'J', {"    ##", "    ##", "    ##", "##  ##", " #### "}},
    Glyph{'K', {"##  ##", "## ## ", "####  ", "## ## ", "##  ##"}},
    Glyph{'L', {"##   ", "##   ", "##   ", "##   ", "#####"}},
    Glyph{'M', {"##   ##", "### ###", "## # ##", "##   ##", "##   ##"}},
    Glyph{'N', {"##   ##", "###  ##", "## # ##", "##  ###", "##   ##"}},
    Glyph{'O', {" #### ", "##  ##", "##  ##", "##  ##", " #### "}},
    Glyph{'P', {"##### ", "##  ##", "##### ", "##    ", "##    "}},
    Glyph{'Q', {" #### ", "##  ##", "##  ##", "## ## ", " ## ##"}},
    Glyph{'R', {"##### ", "##  ##", "##### ", "## ## ", "##  ##"}},
    Glyph{'S', {" #####", "##    ", " #### ", "    ##", "##### "}},
    Glyph{'T', {"######", "  ##  ", "  ##  ", "  ##  ", "  ##  "}},
    Glyph{'U', {"##  ##", "##  ##", "##  ##", "##  ##", " #### "}},
    Glyph{'V', {"##  ##", "##  ##", "##  ##", " #### ", "  ##  "}},
    Glyph{'W', {"##   ##", "##   ##", "## # ##", "### ###", "##   ##"}},
    Glyph{'X', {"##  ##", " #### ", "  ##  ", " #### ", "##  ##"}},
    Glyph{'Y', {"##  ##", "##  ##", " #### ", "  ##  ", "  ##  "}},
    Glyph{'Z', {"######", "   ## ", "  ##  ", " ##   ", "######"}},
    Glyph{'0', {" #### ", "##  ##", "##  ##", "##  ##", " #### "}},
    Glyph{'1', {" ## ", "### ", " ## ", " ## ", "####"}},
    Glyph{'2', {"##### ", "    ##", " #### ", "##    ", "######"}},
    Glyph{'3', {"##### ", "    ##", " #### ", "    ##", "##### "}},
    Glyph{'4', {"##  ##", "##  ##", "######", "    ##", "    ##"}},
    Glyph{'5', {"######", "##    ", "##### ", "    ##", "##### "}},
    Glyph{'6', {" #### ", "##    ", "##### ", "##  ##", " #### "}},
    Glyph{'7', {"######", "    ##", "   ## ", "  ##  ", "  ##  "}},
    Glyph{'8', {" #### ", "##  ##", " #### ", "##  ##", " #### "}},
    Glyph{'9', {" #### ", "##  ##", " #####", "    ##", " #### "}},
    Glyph{' ', {"   ", "   ", "   ", "   ", "   "}},
    Glyph{'-', {"    ", "    ", "####", "    ", "    "}},
    Glyph{',', {"  ", "  ", "  ", "##", "# "}},
    Glyph{'.', {"  ", "  ", "  ", "  ", "##"}},
    Glyph{'\'', {"##", "# ", "  ", "  ", "  "}},
};

constexpr std::array narrow_glyphs{
    Glyph{'A', {" # ", "# #", "###", "# #", "# #"}},
    Glyph{'B', {"## ", "# #", "## ", "# #", "## "}},
    Glyph{'C', {" ##", "#  ", "#  ", "#  ", " ##"}},
    Glyph{'D', {"## ", "# #", "# #", "# #", "## "}},
    Glyph{'E', {"###", "#  ", "## ", "#  ", "###"}},
    Glyph{'F', {"###", "#  ", "## ", "#  ", "#  "}},
    Glyph{'G', {" ###", "#   ", "# ##", "#  #", " ###"}},
    Glyph{'H', {"# #", "# #", "###", "# #", "# #"}},
    Glyph{'I', {"#", "#", "#", "#", "#"}},
    Glyph{'J', {"  #", "  #", "  #", "# #", " # "}},
    Glyph{'K', {"#  #", "# # ", "##  ", "# # ", "#  #"}},
    Glyph{'L', {"#  ", "#  ", "#  ", "#  ", "###"}},
    Glyph{'M', {"#   #", "## ##", "# # #", "#   #", "#   #"}},
    Glyph{'N', {"#  #", "## #", "# ##", "#  #", "#  #"}},
    Glyph{'O', {" ## ", "#  #", "#  #", "#  #", " ## "}},
    Glyph{'P', {"## ", "# #", "## ", "#  ", "#  "}},
    Glyph{'Q', {" ## ", "#  #", "#  #", "# # ", " # #"}},
    Glyph{'R', {"## ", "# #", "## ", "# #", "# #"}},
    Glyph{'S', {" ##", "#  ", " # ", "  #", "## "}},
    Glyph{'T', {"###", " # ", " # ", " # ", " # "}},
    Glyph{'U', {"#  #", "#  #", "#  #", "#  #", " ## "}},
    Glyph{'V', {"# #", "# #", "# #", "# #", " # "}},
    Glyph{'W', {"#   #", "#   #", "# # #", "## ##", "#   #"}},
    Glyph{'X', {"# #", "# #", " # ", "# #", "# #"}},
    Glyph{'Y', {"# #", "# #", " # ", " # ", " # "}},
    Glyph{'Z', {"###", "  #", " # ", "#  ", "###"}},
    Glyph{'0', {"###", "# #", "# #", "# #", "###"}},
    Glyph{'1', {" #", "##", " #", " #", " #"}},
    Glyph{'2', {"## ", "  #", " # ", "#  ", "###"}},
    Glyph{'3', {"## ", "  #", "## ", "  #", "## "}},
    Glyph{'4', {"# #", "# #", "###", "  #", "  #"}},
    Glyph{'5', {"###", "#  ", "## ", "  #", "## "}},
    Glyph{'6', {" ##", "#  ", "###", "# #", "###"}},
    Glyph{'7', {"###", "  #", " # ", " # ", " # "}},
    Glyph{'8', {"###", "# #", "###", "# #", "###"}},
    Glyph{'9', {"###", "# #", "###", "  #", "## "}},
    Glyph{' ', {"  ", "  ", "  ", "  ", "  "}},
    Glyph{'-', {"  ", "  ", "##", "  ", "  "}},
    Glyph{',', {" ", " ", " ", "#", "#"}},
    Glyph{'.', {" ", " ", " ", " ", "#"}},
    Glyph{'\'', {"#", "#", " ", " ", " "}},
};

std::u32string capitals(std::string_view word) {
  std::u32string letters = decode_utf8(word);
  for (char32_t& c : letters) {
    c = to_ascii(c);
    if (c >= U'a' && c <= U'z') c -= U'a' - U'A';
  }
  return letters;
}

// The word as glyphs, or nothing when one of its letters has none.
std::vector<const Glyph*> set_in(std::string_view word, Letters letters) {
  const Glyph* first = letters == Letters::broad ? broad_glyphs.data() : narrow_glyphs.data();
  const Glyph* last = first + (letters == Letters::broad ? broad_glyphs.size() : narrow_glyphs.size());
  std::vector<const Glyph*> out;
  for (const char32_t c : capitals(word)) {
    const Glyph* glyph =
        std::find_if(first, last, [c](const Glyph& g) { return static_cast<char32_t>(g.letter) == c; });
    if (glyph == last) return {};
    out.push_back(glyph);
  }
  return out;
}

int width_of(const std::vector<const Glyph*>& glyphs) {
  int width = -1;
  for (const Glyph* glyph : glyphs) width += static_cast<int>(glyph->rows[0].size()) + 1;
  return width;
}

}  // namespace

Letters letters_that_fit(std::string_view word, int columns) {
  for (const Letters letters : {Letters::broad, Letters::narrow}) {
    const auto glyphs = set_in(word, letters);
    if (!glyphs.empty() && width_of(glyphs) <= columns) return letters;
  }
  return Letters::line;
}

BigWord big_word_that_fits(std::string_view word, int columns) {
  if (const Letters whole = letters_that_fit(word, columns); whole != Letters::line)
    return {std::string(word), {}, whole};
  // Of what cannot stand whole, rather one broad word than two narrow ones.
  for (const Letters letters : {Letters::broad, Letters::narrow}) {
    for (std::size_t end = word.rfind(' '); end != std::string_view::npos && end > 0; end = word.rfind(' ', end - 1)) {
      if (letters_that_fit(word.substr(0, end), columns) > letters) continue;
      return {std::string(word.substr(0, end)), std::string(word.substr(end + 1)), letters};
    }
  }
  return {std::string(word), {}, Letters::line};
}

int put_big(Grid& grid, int row, int column, std::string_view word, Letters letters, char32_t ink, Tone tone) {
  if (letters == Letters::line) {
    std::string text;
    for (const char32_t c : capitals(word)) append_utf8(text, c);
    return grid.put(row + big_rows / 2, column, text, tone);
  }
  for (const Glyph* glyph : set_in(word, letters)) {
    for (int line = 0; line < big_rows; ++line) {
      const std::string_view cells = glyph->rows[static_cast<std::size_t>(line)];
      for (std::size_t i = 0; i < cells.size(); ++i) {
        if (cells[i] == '#') grid.set(row + line, column + static_cast<int>(i), {ink, tone});
      }
    }
    column += static_cast<int>(glyph->rows[0].size()) + 1;
  }
  return column - 1;
}

}  // namespace nappe::client
