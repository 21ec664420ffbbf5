#pragma once
// Numbers with their words, for every sentence that counts.

#include <cstdint>
#include <string>
#include <string_view>

namespace nappe {

/// "1 cover", "2 covers"; where the plural is no -s: counted(n, "dish", "dishes").
std::string counted(std::int64_t n, std::string_view one, std::string_view many = {});

}  // namespace nappe
