#pragma once
// State is the fold of the journal.

#include "common/line/state.hpp"
#include "common/result.hpp"
#include "server/journal.hpp"

namespace nappe::server {

/// Applies every event of the journal to the state, in order; the number of the last one. `unavailable` names the first
/// event that cannot be read or does not fit.
Result<std::int64_t> fold_all(JournalReader& reader, line::State& state);

/// The same state, reached from the opening of the last service: opening a closed service forgets all before it but the
/// record of batches and readings, whose events are read first. So a
/// start takes as long as one night, however many the journal holds.
Result<std::int64_t> fold_last_service(JournalReader& reader, line::State& state);

}  // namespace nappe::server
