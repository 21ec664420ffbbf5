#pragma once
// A batch's label: what it is, by whom and when it was made, until when it may be used, what it holds; and its id as a
// QR code (ISO/IEC 18004, by libqrencode) that a telephone or a scanner reads back.

#include <cstdint>
#include <string>
#include <vector>

#include "common/result.hpp"
#include "common/time.hpp"

namespace nappe::client {

struct Label {
  std::string id;
  std::string name;
  std::string by;
  Instant made{};
  Instant use_by{};
  std::string ends;  ///< What ends it.
  std::vector<std::string> allergens;
  std::vector<std::string> free_from;
  Duration utc_offset{};
};

/// The modules of the text's QR code, rows of true for dark, without the quiet zone. `invalid` when it does not fit.
Result<std::vector<std::vector<bool>>> qr_modules(const std::string& text);

/// The text's QR code in half blocks, two modules a line, with its quiet zone of four. `inked`: black on white by
/// terminal colours, so that it can be read from a dark screen; without, as ink on paper.
Result<std::string> qr_text(const std::string& text, bool inked);

/// The label as lines of plain text, the code in half blocks, two modules a line, with its quiet zone of four.
Result<std::string> label_text(const Label& label);

}  // namespace nappe::client
