#include "server/replay.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "common/line/line.hpp"
#include "common/wire/codec.hpp"

namespace nappe::server {

namespace {

Status apply_stored(const StoredEvent& stored, line::State& state) {
  const auto event = wire::read_event(stored.event.name, stored.event.body, stored.event.at);
  if (!event) {
    return Error{Errc::unavailable, fmt::format("event {} ({}) of the journal cannot be read: {} {}", stored.seq,
                                                stored.event.name, event.error().where, event.error().detail)};
  }
  try {
    line::apply(state, *event);
  } catch (const std::exception& cause) {
    return Error{Errc::unavailable, fmt::format("event {} ({}) of the journal does not fit: {}", stored.seq,
                                                stored.event.name, cause.what())};
  }
  return Done{};
}

Result<std::int64_t> fold_from(JournalReader& reader, std::int64_t after, line::State& state) {
  std::int64_t last = after;
  const auto read = reader.read(after, std::numeric_limits<std::int64_t>::max(), [&](const StoredEvent& stored) {
    last = stored.seq;
    return apply_stored(stored, state);
  });
  if (!read) return read.error();
  return last;
}

}  // namespace

Result<std::int64_t> fold_all(JournalReader& reader, line::State& state) { return fold_from(reader, 0, state); }

Result<std::int64_t> fold_last_service(JournalReader& reader, line::State& state) {
  const auto opening = reader.last_opening();
  if (!opening) return opening.error();
  // What outlives a service comes first.
  const auto record =
      reader.read_record(*opening, [&](const StoredEvent& stored) { return apply_stored(stored, state); });
  if (!record) return record.error();
  return fold_from(reader, std::max<std::int64_t>(*opening, 1) - 1, state);
}

}  // namespace nappe::server
