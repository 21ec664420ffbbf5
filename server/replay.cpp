#include "server/replay.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "common/line/line.hpp"
#include "common/wire/codec.hpp"

namespace nappe::server {

namespace {

Result<line::Event> read_stored(const StoredEvent& stored) {
  auto event = wire::read_event(stored.event.name, stored.event.body, stored.event.at);
  if (event) return event;
  return Error{Errc::unavailable, fmt::format("event {} ({}) of the journal cannot be read: {} {}", stored.seq,
                                              stored.event.name, event.error().where, event.error().detail)};
}

/// Decodes the event and hands it on; a sentence with its place when it does not fit.
template <class Take>
Status with_event(const StoredEvent& stored, Take take) {
  const auto event = read_stored(stored);
  if (!event) return event.error();
  try {
    take(*event);
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
    return with_event(stored, [&](const line::Event& event) { line::apply(state, event); });
  });
  if (!read) return read.error();
  return last;
}

}  // namespace

Result<std::int64_t> fold_all(JournalReader& reader, line::State& state) { return fold_from(reader, 0, state); }

Result<std::int64_t> fold_last_service(JournalReader& reader, line::State& state) {
  const auto opening = reader.last_opening();
  if (!opening) return opening.error();
  // What outlives a service comes first, into one record: applying event by event would copy all of it each time.
  auto kept = std::make_shared<line::Record>(state.record());
  bool any = false;
  const auto record = reader.read_record(*opening, [&](const StoredEvent& stored) {
    return with_event(stored, [&](const line::Event& event) {
      line::apply_record(*kept, event.what, event.at);
      state.now = event.at;
      any = true;
    });
  });
  if (!record) return record.error();
  if (any) state.kept = std::move(kept);
  return fold_from(reader, std::max<std::int64_t>(*opening, 1) - 1, state);
}

}  // namespace nappe::server
