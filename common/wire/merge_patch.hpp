#pragma once
// JSON Merge Patch (RFC 7396): how a screen's document is kept current.

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>

#include "common/result.hpp"

namespace nappe::wire {

/// The document after the patch: the function MergePatch of RFC 7396 section 2.
nlohmann::json merge_patch_apply(nlohmann::json document, const nlohmann::json& patch);

/// The smallest patch that turns `from` into `to`: apply(from, diff(from, to)) == to. An empty object when nothing
/// changed. A null as an object's member cannot be sent by a merge patch (it deletes), so `to` must hold none; nulls
/// inside arrays are fine, because arrays are replaced whole.
nlohmann::json merge_patch_diff(const nlohmann::json& from, const nlohmann::json& to);

/// The same on JSON text; `invalid` with "line:column" when one of the texts is not JSON.
Result<std::string> merge_patch_apply_text(std::string_view document, std::string_view patch);
Result<std::string> merge_patch_diff_text(std::string_view from, std::string_view to);

}  // namespace nappe::wire
