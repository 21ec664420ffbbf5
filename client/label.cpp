#include "client/label.hpp"

#include <fmt/format.h>
#include <qrencode.h>

#include <algorithm>
#include <cctype>
#include <memory>

namespace nappe::client {
namespace {

constexpr int quiet = 4;  // modules of quiet zone on each side, as the standard asks

std::string when(Instant at, Duration offset) {
  const std::string text = to_rfc3339(at + offset);
  return text.substr(0, 10) + " " + text.substr(11, 5);
}

std::string capitals(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  return text;
}

}  // namespace

Result<std::vector<std::vector<bool>>> qr_modules(const std::string& text) {
  const std::unique_ptr<QRcode, void (*)(QRcode*)> code(QRcode_encodeString8bit(text.c_str(), 0, QR_ECLEVEL_M),
                                                        QRcode_free);
  if (!code) return Error{Errc::invalid, "the text does not fit into a QR code"};
  const auto width = static_cast<std::size_t>(code->width);
  std::vector<std::vector<bool>> rows(width, std::vector<bool>(width));
  for (std::size_t y = 0; y < width; ++y)
    for (std::size_t x = 0; x < width; ++x) rows[y][x] = (code->data[y * width + x] & 1U) != 0;
  return rows;
}

Result<std::string> qr_text(const std::string& text, bool inked) {
  const auto code = qr_modules(text);
  if (!code) return code.error();
  std::string out;
  const int width = static_cast<int>(code->size());
  const auto dark = [&](int x, int y) {
    if (x < 0 || y < 0 || x >= width || y >= width) return false;
    return static_cast<bool>((*code)[static_cast<std::size_t>(y)][static_cast<std::size_t>(x)]);
  };
  for (int y = -quiet; y < width + quiet; y += 2) {
    std::string line;
    for (int x = -quiet; x < width + quiet; ++x) {
      const bool above = dark(x, y);
      const bool below = dark(x, y + 1);
      line += above && below ? "█" : above ? "▀" : below ? "▄" : " ";
    }
    out += inked ? "\033[30;107m" + line + "\033[0m\n" : line + "\n";
  }
  return out;
}

Result<std::string> label_text(const Label& label) {
  const auto code = qr_text(label.id, false);
  if (!code) return code.error();
  std::string out =
      fmt::format("{}\n{}\nmade    {}  {}\nUSE BY  {}  ({})\n", capitals(label.name), label.id,
                  when(label.made, label.utc_offset), label.by, when(label.use_by, label.utc_offset), label.ends);
  if (!label.allergens.empty())
    out += fmt::format("HOLDS   {}\n", capitals(fmt::format("{}", fmt::join(label.allergens, ", "))));
  if (!label.free_from.empty()) out += fmt::format("made without {}\n", fmt::join(label.free_from, ", "));
  return out + *code;
}

}  // namespace nappe::client
