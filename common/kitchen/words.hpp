#pragma once
// Text that people typed: whether it can be shown, and how much of it a message repeats.

#include <cstddef>
#include <string>
#include <string_view>

namespace nappe::kitchen {

/// How many bytes at its beginning are UTF-8 without line breaks, tabs or other control characters.
std::size_t plain_bytes(std::string_view text);

/// Whether all of it is.
bool plain_words(std::string_view text);

/// At most `bytes` of it, never half a character; "..." behind it when something was cut.
std::string clip(std::string_view text, std::size_t bytes);

}  // namespace nappe::kitchen
