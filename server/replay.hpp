#pragma once
// State is the fold of the journal.

#include "common/line/state.hpp"
#include "common/result.hpp"
#include "server/journal.hpp"

namespace nappe::server {

/// Applies every event of the journal to the state, in order; the number of the last one. `unavailable` names the first
/// event that cannot be read or does not fit.
Result<std::int64_t> replay(JournalReader& reader, line::State& state);

}  // namespace nappe::server
