#include "server/verify.hpp"

#include <fmt/format.h>

#include <iostream>
#include <limits>

#include "common/line/line.hpp"
#include "server/journal.hpp"
#include "server/replay.hpp"

namespace nappe::server {

namespace {

int broken(const Error& error) {
  std::cerr << "napped: " << error.detail << '\n';
  return 1;
}

}  // namespace

int verify_journal(const std::string& path) {
  const auto opened = JournalReader::open(path);
  if (!opened) return broken(opened.error());
  JournalReader& reader = **opened;
  if (const auto whole = reader.check(); !whole) return broken(whole.error());
  line::State state;
  const auto last = replay(reader, state);
  if (!last) return broken(last.error());
  const auto commands = reader.count_commands();
  if (!commands) return broken(commands.error());
  std::cout << fmt::format("events={} commands={} last={} fingerprint={}\n", *last, *commands, to_rfc3339(state.now),
                           line::fingerprint(state));
  return 0;
}

}  // namespace nappe::server
