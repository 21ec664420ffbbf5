#pragma once
// napped --verify: is this journal whole, and does it replay?

#include <string>

namespace nappe::server {

/// Checks the chain, replays the events, prints "events=N commands=M last=RFC3339 fingerprint=..."; answers the exit
/// code: 0, or 1 after one sentence on stderr.
int verify_journal(const std::string& path);

}  // namespace nappe::server
