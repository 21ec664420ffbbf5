#pragma once

namespace nappe::server {

inline constexpr const char* version_text = "0.1.0";

}  // namespace nappe::server
