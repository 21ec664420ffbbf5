#pragma once
// A probe's reading as it is posted: {"probe": "blue", "batch": "swede_puree-20261120", "celsius": 72.4}.

#include <string>
#include <string_view>

#include "common/line/command.hpp"
#include "common/result.hpp"

namespace nappe::server {

/// Reads it: "probe" and "celsius", one of "batch" and "place", and if wanted "by" (else the device answers for it),
/// "taken_ms" (else now) and "id" (else made from the rest and the instant).
Result<line::Command> read_reading(std::string_view body, const std::string& device, Instant now);

}  // namespace nappe::server
