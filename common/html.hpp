#pragma once
// Text in the pages that are printed: the rehearsal, the prep list, the record.

#include <string>
#include <string_view>

namespace nappe {

/// The text as it may stand in an HTML element or a quoted attribute: & < > " written as entities.
std::string html_escaped(std::string_view text);

}  // namespace nappe
