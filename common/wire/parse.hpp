#pragma once
// JSON text to values and back, with the limits every text from outside is held to.

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>

#include "common/result.hpp"

namespace nappe::wire {

/// Deepest nesting of arrays and objects that is read: ours needs seven.
inline constexpr int json_depth_max = 64;

/// Reads RFC 8259 JSON. `invalid` with "line:column" in Error.where when the text is not JSON, is not UTF-8, nests
/// deeper than json_depth_max, or names a member of an object twice.
Result<nlohmann::json> parse_json(std::string_view text);

/// Compact JSON text, members in alphabetical order. Bytes that are not UTF-8 are written as U+FFFD.
std::string write_json(const nlohmann::json& value);

}  // namespace nappe::wire
