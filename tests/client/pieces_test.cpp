// The small parts: cells, big letters, words, addresses, the file of presses.
#include <unistd.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>

#include "client/address.hpp"
#include "client/bigtext.hpp"
#include "client/draw.hpp"
#include "client/kept_file.hpp"
#include "client/words.hpp"

using namespace nappe;
using namespace nappe::client;

TEST_CASE("UTF-8: good characters come through, broken bytes become one replacement each") {
  CHECK(decode_utf8("a\u00E9\u20AC\U0001F35E") == U"a\u00E9\u20AC\U0001F35E");
  // Overlong, surrogate, beyond U+10FFFF, cut short: The Unicode Standard 3.9, table 3-7, calls all ill-formed.
  for (const char* bad : {"\xC0\x80", "\xED\xA0\x80", "\xF4\x90\x80\x80", "\xE2\x82", "\xFF"}) {
    for (const char32_t c : decode_utf8(bad)) CHECK(c == U'\uFFFD');
  }
  CHECK(columns_of("e\u0301x") == 2);
  CHECK(columns_of("\u5BFF\u53F8") == 4);
}

TEST_CASE("text is clipped with an ellipsis and never leaves its row") {
  Grid grid(Size{2, 8});
  CHECK(grid.put(0, 2, "swede puree") == 8);
  CHECK(grid.text() == "  swede\u2026\n\n");
  grid.put_right(1, 8, "0:40");
  CHECK(grid.text() == "  swede\u2026\n    0:40\n");
  grid.put(5, 0, "nowhere");
  grid.set(-1, -1, {U'x', Tone::normal});
  CHECK(grid.text() == "  swede\u2026\n    0:40\n");
}

TEST_CASE("the big word is broad where it fits, narrow where not, and plain when it is too long") {
  CHECK(letters_that_fit("ladle", 44) == Letters::broad);
  CHECK(letters_that_fit("skin down", 44) == Letters::narrow);
  CHECK(letters_that_fit("foam and spoon", 44) == Letters::line);
  CHECK(letters_that_fit("\u6E29", 44) == Letters::line);
  CHECK(letters_that_fit("ladle", 10) == Letters::line);
  Grid grid(Size{5, 20});
  put_big(grid, 0, 0, "to", Letters::broad, U'#', Tone::normal);
  CHECK(grid.text() ==
        "######  ####\n"
        "  ##   ##  ##\n"
        "  ##   ##  ##\n"
        "  ##   ##  ##\n"
        "  ##    ####\n");
}

TEST_CASE("of a move too long for big letters the first words are big") {
  const BigWord one = big_word_that_fits("foam and spoon", 44);
  CHECK(one.big == "foam");
  CHECK(one.behind == "and spoon");
  CHECK(one.letters == Letters::broad);
  CHECK(big_word_that_fits("skin down", 44).big == "skin down");
  CHECK(big_word_that_fits("incomprehensible", 20).letters == Letters::line);
}

TEST_CASE("every glyph is one rectangle") {
  for (const Letters letters : {Letters::broad, Letters::narrow}) {
    for (const std::string word : {"abcdefghijklm", "nopqrstuvwxyz", "0123456789", "' - , ."}) {
      Grid grid(Size{5, 200});
      const int end = put_big(grid, 0, 0, word, letters, U'#', Tone::normal);
      CHECK(end > 0);
      // The cell behind the last glyph stays empty in every row.
      for (int row = 0; row < 5; ++row) CHECK(grid.at(row, end).letter == U' ');
    }
  }
}

TEST_CASE("numbers and times as people say them") {
  CHECK(ordinal(5) == "fifth");
  CHECK(ordinal(13) == "13th");
  CHECK(cardinal(7) == "seven");
  CHECK(countdown(seconds(-75)) == "1:15");
  CHECK(counted(1, "plate") == "1 plate");
  CHECK(counted(4, "plate") == "4 plates");
  CHECK(hour_minute(from_ms(1764966660000), minutes(60)) == "21:31");
}

TEST_CASE("lines are broken at blanks, and long words where they must be") {
  CHECK(wrapped("CLEAN PAN, NO MILK, position 2", 19) == std::vector<std::string>{"CLEAN PAN, NO MILK,", "position 2"});
  CHECK(wrapped("abcdefghij", 4) == std::vector<std::string>{"abcd", "efgh", "ij"});
  CHECK(wrapped("", 4).empty());
}

TEST_CASE("addresses") {
  CHECK(address_text(*read_address("127.0.0.1:7450")) == "127.0.0.1:7450");
  CHECK(address_text(*read_address("kitchen.local")) == "kitchen.local:7450");
  CHECK(address_text(*read_address("[::1]:80")) == "[::1]:80");
  CHECK(address_text(*read_address("[::1]")) == "[::1]:7450");
  for (const char* bad :
       {"", ":7450", "a:b", "a:0", "a:70000", "::1", "[::1", "ftp://x", "https://", "a b", "a:", "a:1:2"}) {
    INFO(bad);
    const auto read = read_address(bad);
    CHECK_FALSE(read);
    if (!read) CHECK(read.error().detail.find("127.0.0.1:7450") != std::string::npos);
  }
}

TEST_CASE("the file of presses is replaced whole, and each screen has its own") {
  const auto folder = std::filesystem::temp_directory_path() / ("nappe-kept-" + std::to_string(getpid()));
  {
    auto first = KeptFile::open(folder, "127.0.0.1:7450_station:garnish");
    REQUIRE(first);
    CHECK(first->read().empty());
    REQUIRE(first->write("one\n"));
    REQUIRE(first->write("two\n"));
    CHECK(first->read() == "two\n");
    auto second = KeptFile::open(folder, "127.0.0.1:7450_station:garnish");
    REQUIRE(second);
    CHECK(second->path() != first->path());
    CHECK(second->read().empty());
  }
  // The lock went with its holder: the next screen finds what was kept.
  auto again = KeptFile::open(folder, "127.0.0.1:7450_station:garnish");
  REQUIRE(again);
  CHECK(again->read() == "two\n");
  std::filesystem::remove_all(folder);
}

TEST_CASE("a folder that cannot be written is one sentence") {
  const auto file = std::filesystem::temp_directory_path() / ("nappe-file-" + std::to_string(getpid()));
  std::ofstream(file) << "no folder";
  const auto kept = KeptFile::open(file / "inside", "x");
  REQUIRE_FALSE(kept);
  CHECK(kept.error().detail.find("cannot write") == 0);
  std::filesystem::remove(file);
}
