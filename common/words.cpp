#include "common/words.hpp"

#include <fmt/format.h>

namespace nappe {

std::string counted(std::int64_t n, std::string_view one, std::string_view many) {
  if (n == 1) return fmt::format("1 {}", one);
  return many.empty() ? fmt::format("{} {}s", n, one) : fmt::format("{} {}", n, many);
}

}  // namespace nappe
