#pragma once
// The commands about the record: nappe batch, nappe probe, nappe record, nappe power, nappe close-down,
// nappe handover.

#include <functional>
#include <map>

#include "client/address.hpp"

namespace CLI {
class App;
}

namespace nappe::client {

/// Adds the commands to the program; what each runs. Every one answers 0, or 1 with one sentence on standard error.
std::map<const CLI::App*, std::function<int(const Address&)>> add_record_commands(CLI::App& app);

}  // namespace nappe::client
