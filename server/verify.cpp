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
  const auto last = fold_all(reader, state);
  if (!last) return broken(last.error());
  // A start folds the last service only: it must come to the same.
  line::State started;
  const auto same = fold_last_service(reader, started);
  if (!same) return broken(same.error());
  if (line::fingerprint(started) != line::fingerprint(state)) {
    return broken(
        Error{Errc::conflict, "journal " + path + ": its last service alone gives another state than all of it"});
  }
  const auto commands = reader.count_commands();
  if (!commands) return broken(commands.error());
  std::cout << fmt::format("events={} commands={} last={} fingerprint={}\n", *last, *commands, to_rfc3339(state.now),
                           line::fingerprint(state));
  return 0;
}

}  // namespace nappe::server
