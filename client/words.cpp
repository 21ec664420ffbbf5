#include "client/words.hpp"

#include <fmt/format.h>

#include <array>

namespace nappe::client {

std::string ordinal(int n) {
  constexpr std::array<const char*, 13> names{"none",    "first",  "second", "third", "fourth",   "fifth",  "sixth",
                                              "seventh", "eighth", "ninth",  "tenth", "eleventh", "twelfth"};
  return n >= 0 && n < 13 ? names[static_cast<std::size_t>(n)] : fmt::format("{}th", n);
}

std::string cardinal(int n) {
  constexpr std::array<const char*, 13> names{"none",  "one",   "two",  "three", "four",   "five",  "six",
                                              "seven", "eight", "nine", "ten",   "eleven", "twelve"};
  return n >= 0 && n < 13 ? names[static_cast<std::size_t>(n)] : fmt::format("{}", n);
}

std::string countdown(Duration left) { return span_text(left < Duration::zero() ? -left : left); }

std::string hour_minute(Instant at, Duration utc_offset) { return clock_text(at, utc_offset).substr(0, 5); }

std::string upper(std::string text) {
  for (char& c : text) {
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  }
  return text;
}

}  // namespace nappe::client
