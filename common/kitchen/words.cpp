#include "common/kitchen/words.hpp"

#include <boost/locale/utf.hpp>

namespace nappe::kitchen {

std::size_t plain_bytes(std::string_view text) {
  namespace utf = boost::locale::utf;
  auto at = text.begin();
  while (at != text.end()) {
    const auto from = static_cast<std::size_t>(at - text.begin());
    const auto point = utf::utf_traits<char>::decode(at, text.end());
    if (point == utf::illegal || point == utf::incomplete) return from;
    if (point < 0x20 || (point >= 0x7F && point < 0xA0)) return from;
  }
  return text.size();
}

bool plain_words(std::string_view text) { return plain_bytes(text) == text.size(); }

std::string clip(std::string_view text, std::size_t bytes) {
  if (text.size() <= bytes) return std::string(text);
  while (bytes > 0 && (static_cast<unsigned char>(text[bytes]) & 0xC0U) == 0x80U) --bytes;
  return std::string(text.substr(0, bytes)) + "...";
}

}  // namespace nappe::kitchen
