#pragma once
// The token of whoever sits at the server: in a file that only the user napped runs as can read.

#include <string>

#include "common/result.hpp"

namespace nappe::server {

/// Writes a fresh token to the file (mode 0600, replaced whole) and returns it.
Result<std::string> write_console_token(const std::string& path);

}  // namespace nappe::server
