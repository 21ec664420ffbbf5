#pragma once
// The durable record of a service, in one SQLite file. Format version 1, readable with plain SQL:
//
//   events    seq         1, 2, 3, ... without gaps: the order in which things happened
//             command_id  the command that brought it; empty: time alone did
//             at_ms       kitchen time at which the line took it in, milliseconds since 1970 (UTC)
//             at          the same as RFC 3339 text
//             name        "step_ended"
//             body        its members as JSON text (common/line/event.hpp says what they mean)
//             chain       SHA-256, in hexadecimal, of: chain of the event before (empty for the first), command_id,
//             seq,
//                         at_ms, name and body, each ended by a line feed. A record altered later no longer fits. It
//                         shows carelessness, not a forger who computes the whole chain anew.
//   commands  id          made by the client; remembered so that a repeated command is answered again, not done again
//             digest      of what was asked: the same id with another digest is a mistake of the client
//             by, at_ms   who, and when the key was pressed
//             seq_first, seq_last   its events; null: it was refused, or there was nothing left to do
//             answer      what the client was told, as JSON text
//   words     seq, place  an event's free words about guests, kept beside the chain (journal_words.hpp): there stand
//             salt, words their digests. They are deleted when their ticket's "words_dropped" is written.
//   meta      key, value  "format": "1"; "clock": the demo clock's anchor
//   record_N  an index of the N kinds of events that are the kitchen's record, so that a batch's past is found at once
//   nights    an index of the openings and closings, so that a start finds the last one at once
//
// WAL with synchronous=FULL: append() returns after the fsync. One process writes (a lock file beside the journal holds
// others off); anybody may read meanwhile.

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/result.hpp"
#include "common/time.hpp"

namespace nappe::server {

struct JournalEvent {
  std::string command_id;  ///< Empty: time alone brought it.
  Instant at{};
  std::string name;
  std::string body;
};

struct JournalCommand {
  std::string id;
  std::string digest;
  std::string by;
  Instant at{};
  std::int64_t first = 0;  ///< Sequence number of its first event; 0: it has none.
  std::int64_t last = 0;
  std::string answer;
};

/// What becomes durable together. Events get the numbers first, first + 1, ...
struct JournalGroup {
  std::int64_t first = 0;
  std::vector<JournalEvent> events;
  std::vector<JournalCommand> commands;
};

struct StoredEvent {
  std::int64_t seq = 0;
  JournalEvent event;
};

struct JournalOptions {
  std::string vfs;    ///< Name of an SQLite VFS; tests inject faults here.
  int page_size = 0;  ///< Of a new file, bytes; 0: SQLite's own choice.
};

/// The writing side. After one failed write or sync it refuses everything: what reached the disk is then unknown, and
/// only a new start (which reads the file) finds out.
class JournalWriter {
 public:
  /// Opens the file, makes it if it is not there. `unavailable` with one sentence when it is locked by another process,
  /// damaged, no journal, or of a newer format.
  static Result<std::unique_ptr<JournalWriter>> open(const std::string& path, const JournalOptions& options = {});
  ~JournalWriter();
  JournalWriter(const JournalWriter&) = delete;
  JournalWriter& operator=(const JournalWriter&) = delete;

  /// Makes the group durable in one transaction, all or nothing. `conflict` if a command id is there already or the
  /// numbers do not continue the record (nothing is written then, but the writer fails for good: its caller is wrong).
  Status append(const JournalGroup& group);
  /// Sets a meta value, durable on return.
  Status set_meta(std::string_view key, std::string_view value);
  /// Number of the last event; 0: none.
  [[nodiscard]] std::int64_t last() const;

 private:
  struct Impl;
  explicit JournalWriter(std::unique_ptr<Impl> impl);
  Status guarded(const std::function<void()>& write);
  std::unique_ptr<Impl> impl_;
};

/// The reading side: sees what is durable. It keeps no transaction open between calls.
class JournalReader {
 public:
  /// Opens an existing journal for reading only. Refuses like JournalWriter::open.
  static Result<std::unique_ptr<JournalReader>> open(const std::string& path, const JournalOptions& options = {});
  ~JournalReader();
  JournalReader(const JournalReader&) = delete;
  JournalReader& operator=(const JournalReader&) = delete;

  /// The remembered command, or nothing.
  Result<std::optional<JournalCommand>> find_command(const std::string& id);
  /// Visits the events after `after`, at most `limit` of them, in order, until the visitor returns an error.
  Status read(std::int64_t after, std::int64_t limit, const std::function<Status(const StoredEvent&)>& visit);
  /// Visits the events of the record (batches, readings, probes, rules) before event `before`, in order.
  Status read_record(std::int64_t before, const std::function<Status(const StoredEvent&)>& visit);
  Result<std::optional<std::string>> meta(std::string_view key);
  Result<std::int64_t> last();
  Result<std::int64_t> count_commands();
  /// Number of the event that opened the last service when it was closed; 0: none. (A "service_opened" while one is
  /// open only brings a new version of the kitchen.)
  Result<std::int64_t> last_opening();
  /// Computes the chain anew and checks that numbers have no gap and every event's command is there; one sentence
  /// naming the first event that does not fit.
  Status check();
  /// Breaks off what is being read: that call fails with `unavailable`. The one call allowed from another thread.
  void interrupt();

 private:
  struct Impl;
  explicit JournalReader(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

/// The digest of a text (SHA-256, hexadecimal).
std::string digest_of(std::string_view text);

}  // namespace nappe::server
