#pragma once
// The paper line: what a kitchen reads when no screen works. Every station's next twenty minutes and every table's
// state, as plain text made from the screens' documents.

#include <map>
#include <nlohmann/json_fwd.hpp>
#include <string>

#include "common/time.hpp"

namespace nappe::wire {

/// Columns of a line: 42 fit an 80 mm till roll in its usual font (576 dots at 12 dots a letter hold 48; 42 leave a
/// margin), 80 an A4 page in a 12-point typewriter font. Common practice, no source.
struct PaperSize {
  int columns = 42;
  int lines = 0;  ///< Of a page; 0: a roll has none.
};
inline constexpr PaperSize paper_roll{42, 0};
inline constexpr PaperSize paper_a4{80, 60};

inline constexpr Duration paper_ahead = minutes(20);

/// `documents` by screen name, as build_screens makes them. Only ASCII (a till printer knows nothing else for sure); no
/// line is longer than `columns`, and words are never cut; a page ends with a form feed. `utc_offset` of the kitchen's
/// clock on the wall.
std::string paper_text(const std::map<std::string, nlohmann::json>& documents, Instant now, Duration utc_offset,
                       PaperSize size);

}  // namespace nappe::wire
