#include "server/journal.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <SQLiteCpp/VariadicBind.h>
#include <fcntl.h>
#include <fmt/format.h>
#include <sodium.h>
#include <sqlite3.h>
#include <sys/file.h>
#include <unistd.h>

#include <array>
#include <limits>
#include <map>
#include <nlohmann/json.hpp>

#include "common/wire/codec.hpp"
#include "server/journal_words.hpp"

namespace nappe::server {

namespace {

constexpr int format_version = 1;
constexpr int busy_ms = 5000;

constexpr const char* tables = R"sql(
CREATE TABLE meta(key TEXT PRIMARY KEY NOT NULL, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE commands(id TEXT PRIMARY KEY NOT NULL, digest TEXT NOT NULL, by TEXT NOT NULL, at_ms INTEGER NOT NULL,
                      seq_first INTEGER, seq_last INTEGER, answer TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE events(seq INTEGER PRIMARY KEY NOT NULL, command_id TEXT NOT NULL, at_ms INTEGER NOT NULL,
                    at TEXT NOT NULL, name TEXT NOT NULL, body TEXT NOT NULL, chain TEXT NOT NULL) STRICT;
CREATE INDEX nights ON events(seq, name) WHERE name IN ('service_opened', 'service_closed');
)sql";

/// "'batch_made', 'batch_split', ..."
const std::string& record_names() {
  static const std::string names = fmt::format("'{}'", fmt::join(wire::record_event_names(), "', '"));
  return names;
}

std::string record_index() {
  return fmt::format("CREATE INDEX IF NOT EXISTS record_{} ON events(seq, name) WHERE name IN ({})",
                     wire::record_event_names().size(), record_names());
}

constexpr const char* words_table =
    "CREATE TABLE IF NOT EXISTS words(seq INTEGER NOT NULL, place TEXT NOT NULL, ticket INTEGER NOT NULL, "
    "salt TEXT NOT NULL, words TEXT NOT NULL, PRIMARY KEY(seq, place)) STRICT, WITHOUT ROWID";

std::string hex(const std::array<unsigned char, crypto_hash_sha256_BYTES>& hash) {
  std::array<char, crypto_hash_sha256_BYTES * 2 + 1> text{};
  sodium_bin2hex(text.data(), text.size(), hash.data(), hash.size());
  return {text.data()};
}

std::string next_chain(const std::string& before, std::int64_t seq, const JournalEvent& event) {
  return digest_of(
      fmt::format("{}\n{}\n{}\n{}\n{}\n{}\n", before, event.command_id, seq, to_ms(event.at), event.name, event.body));
}

Error failure(const std::string& path, const std::exception& cause) {
  return {Errc::unavailable, fmt::format("journal {}: {}", path, cause.what())};
}

/// Nothing if the file may be used: it is a journal of a format we know. An empty file is format 0.
Result<int> format_of(SQLite::Database& database, const std::string& path) {
  if (!database.tableExists("meta")) {
    const int tables_there = database.execAndGet("SELECT count(*) FROM sqlite_master").getInt();
    if (tables_there == 0) return 0;
    return Error{Errc::unavailable, "journal " + path + ": this is another program's database, name another file"};
  }
  SQLite::Statement find(database, "SELECT value FROM meta WHERE key = 'format'");
  const int format = find.executeStep() ? std::atoi(find.getColumn(0).getText()) : 0;
  if (format < 1) return Error{Errc::unavailable, "journal " + path + ": it does not say which format it has"};
  if (format > format_version) {
    return Error{Errc::unavailable,
                 fmt::format("journal {}: its format is {}, this napped reads up to {}; start a newer napped, or name "
                             "another file with --journal",
                             path, format, format_version)};
  }
  return format;
}

/// Holds other servers off as long as it lives; the system lets go of it when the process dies.
class LockFile {
 public:
  explicit LockFile(const std::string& path) : file_(::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600)) {
    held_ = file_ >= 0 && ::flock(file_, LOCK_EX | LOCK_NB) == 0;
  }
  ~LockFile() {
    if (file_ >= 0) ::close(file_);
  }
  LockFile(const LockFile&) = delete;
  LockFile& operator=(const LockFile&) = delete;
  [[nodiscard]] bool held() const { return held_; }

 private:
  int file_;
  bool held_ = false;
};

}  // namespace

std::string digest_of(std::string_view text) {
  std::array<unsigned char, crypto_hash_sha256_BYTES> hash{};
  crypto_hash_sha256(hash.data(), reinterpret_cast<const unsigned char*>(text.data()), text.size());
  return hex(hash);
}

// --- writing ---

struct JournalWriter::Impl {
  Impl(std::string where, const JournalOptions& options)
      : path(std::move(where)),
        lock(path + ".lock"),
        database(path, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE, busy_ms, options.vfs) {}

  std::string path;
  LockFile lock;
  SQLite::Database database;
  std::unique_ptr<SQLite::Statement> insert_event;
  std::unique_ptr<SQLite::Statement> insert_command;
  std::int64_t last = 0;
  std::string chain;
  bool log_holds_words = false;  ///< Deleted ones: the log of writes has to be emptied.
  std::optional<Error> failed;

  Status prepare(int page_size);
  void write(const JournalGroup& group);
  std::string kept_body(std::int64_t seq, const JournalEvent& event);
  bool forget_words(const JournalEvent& event);
  void empty_log();
};

Status JournalWriter::Impl::prepare(int page_size) {
  if (page_size > 0) database.exec(fmt::format("PRAGMA page_size = {}", page_size));
  const auto format = format_of(database, path);
  if (!format) return format.error();
  const std::string mode = database.execAndGet("PRAGMA journal_mode = WAL").getText();
  if (mode != "wal") return Error{Errc::unavailable, "journal " + path + ": this file system cannot keep it (no WAL)"};
  database.exec("PRAGMA synchronous = FULL");
  if (*format == 0) {
    SQLite::Transaction making(database);
    database.exec(tables);
    database.exec(fmt::format("INSERT INTO meta VALUES('format', '{}')", format_version));
    making.commit();
  }
  database.exec("PRAGMA secure_delete = ON");  // words that are let go of are overwritten, not only unlinked
  database.exec(record_index());               // an older journal gets it now
  database.exec(words_table);
  SQLite::Statement newest(database, "SELECT seq, chain FROM events ORDER BY seq DESC LIMIT 1");
  if (newest.executeStep()) {
    last = newest.getColumn(0).getInt64();
    chain = newest.getColumn(1).getString();
  }
  insert_event = std::make_unique<SQLite::Statement>(database, "INSERT INTO events VALUES(?,?,?,?,?,?,?)");
  insert_command = std::make_unique<SQLite::Statement>(database, "INSERT INTO commands VALUES(?,?,?,?,?,?,?)");
  return Done{};
}

/// The body as it goes into the chain; its words about guests are put beside it.
std::string JournalWriter::Impl::kept_body(std::int64_t seq, const JournalEvent& event) {
  const auto hidden = hide_words(event.name, event.body);
  if (!hidden) return event.body;
  for (const KeptWords& one : hidden->words) {
    SQLite::Statement keep(database, "INSERT INTO words VALUES(?,?,?,?,?)");
    SQLite::bind(keep, seq, one.place, hidden->ticket, one.salt, one.words);
    keep.exec();
  }
  return hidden->body;
}

/// Whether the event let words go. Tickets count from 1 in each service; those of services past have gone with them.
bool JournalWriter::Impl::forget_words(const JournalEvent& event) {
  if (event.name != "words_dropped") return false;
  const auto body = nlohmann::json::parse(event.body, nullptr, false);
  SQLite::Statement drop(database, "DELETE FROM words WHERE ticket = ?");
  drop.bind(1, body.is_object() ? body.value("ticket", std::int64_t{0}) : std::int64_t{0});
  drop.exec();
  return true;
}

void JournalWriter::Impl::write(const JournalGroup& group) {
  SQLite::Transaction writing(database);
  std::int64_t seq = last;
  std::string link = chain;
  bool dropped = false;
  for (const JournalEvent& given : group.events) {
    seq += 1;
    JournalEvent event = given;
    event.body = kept_body(seq, given);
    dropped = forget_words(event) || dropped;
    link = next_chain(link, seq, event);
    insert_event->reset();
    SQLite::bind(*insert_event, seq, event.command_id, to_ms(event.at), to_rfc3339(event.at), event.name, event.body,
                 link);
    insert_event->exec();
  }
  for (const JournalCommand& command : group.commands) {
    insert_command->reset();
    insert_command->clearBindings();
    SQLite::bind(*insert_command, command.id, command.digest, command.by, to_ms(command.at));
    if (command.first > 0) {
      insert_command->bind(5, command.first);
      insert_command->bind(6, command.last);
    }
    insert_command->bind(7, command.answer);
    insert_command->exec();
  }
  insert_event->reset();
  insert_command->reset();
  writing.commit();
  last = seq;
  chain = std::move(link);
  log_holds_words = log_holds_words || dropped;
  if (log_holds_words) empty_log();
}

/// What was deleted still stands in the log of writes until that is emptied. Nobody waits for it: with a reader in the
/// way the next commit tries again.
void JournalWriter::Impl::empty_log() {
  sqlite3* const handle = database.getHandle();
  sqlite3_busy_timeout(handle, 0);
  const int done = sqlite3_wal_checkpoint_v2(handle, nullptr, SQLITE_CHECKPOINT_TRUNCATE, nullptr, nullptr);
  sqlite3_busy_timeout(handle, busy_ms);
  log_holds_words = done != SQLITE_OK;
}

JournalWriter::JournalWriter(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
JournalWriter::~JournalWriter() = default;

Result<std::unique_ptr<JournalWriter>> JournalWriter::open(const std::string& path, const JournalOptions& options) {
  try {
    auto impl = std::make_unique<Impl>(path, options);
    if (!impl->lock.held()) {
      return Error{Errc::unavailable, "journal " + path + ": another napped is using it; stop that one first"};
    }
    const auto ready = impl->prepare(options.page_size);
    if (!ready) return ready.error();
    return std::unique_ptr<JournalWriter>(new JournalWriter(std::move(impl)));
  } catch (const SQLite::Exception& cause) {
    return failure(path, cause);
  }
}

Status JournalWriter::guarded(const std::function<void()>& write) {
  if (impl_->failed) return *impl_->failed;
  try {
    write();
    return Done{};
  } catch (const SQLite::Exception& cause) {
    impl_->failed = failure(impl_->path, cause);
    if (cause.getErrorCode() == SQLITE_CONSTRAINT) impl_->failed->code = Errc::conflict;
    return *impl_->failed;
  }
}

Status JournalWriter::append(const JournalGroup& group) {
  if (!impl_->failed && group.first != impl_->last + 1) {
    impl_->failed = Error{Errc::conflict,
                          fmt::format("journal {}: event {} cannot follow {}", impl_->path, group.first, impl_->last)};
  }
  return guarded([&] { impl_->write(group); });
}

Status JournalWriter::set_meta(std::string_view key, std::string_view value) {
  return guarded([&] {
    SQLite::Statement set(impl_->database, "INSERT OR REPLACE INTO meta VALUES(?,?)");
    SQLite::bind(set, std::string(key), std::string(value));
    set.exec();
  });
}

std::int64_t JournalWriter::last() const { return impl_->last; }

// --- reading ---

struct JournalReader::Impl {
  Impl(std::string where, const JournalOptions& options)
      : path(std::move(where)), database(path, SQLite::OPEN_READONLY, 5000, options.vfs) {}
  std::string path;
  SQLite::Database database;
  std::unique_ptr<SQLite::Statement> find_command;  ///< Made when first used, then kept: it runs for every command.
  std::unique_ptr<SQLite::Statement> find_words;    ///< The same.
  bool has_words = false;                           ///< An older journal that nobody has written to since has none.

  std::vector<KeptWords> words_of(const StoredEvent& stored) {
    std::vector<KeptWords> words;
    if (!has_words || !may_hold_words(stored.event.name)) return words;
    if (!find_words)
      find_words = std::make_unique<SQLite::Statement>(database, "SELECT place, salt, words FROM words WHERE seq = ?");
    find_words->bind(1, stored.seq);
    while (find_words->executeStep())
      words.push_back({find_words->getColumn(0).getString(), find_words->getColumn(1).getString(),
                       find_words->getColumn(2).getString()});
    find_words->reset();
    return words;
  }

  /// The event with its words again, as far as they are kept.
  StoredEvent readable(StoredEvent stored) {
    if (!may_hold_words(stored.event.name)) return stored;
    std::map<std::string, std::string> words;
    for (KeptWords& one : words_of(stored)) words.emplace(std::move(one.place), std::move(one.words));
    stored.event.body = with_words(stored.event.body, words);
    return stored;
  }
};

namespace {

StoredEvent row_to_event(SQLite::Statement& row) {
  StoredEvent stored;
  stored.seq = row.getColumn(0).getInt64();
  stored.event.command_id = row.getColumn(1).getString();
  stored.event.at = from_ms(row.getColumn(2).getInt64());
  stored.event.name = row.getColumn(3).getString();
  stored.event.body = row.getColumn(4).getString();
  return stored;
}

JournalCommand row_to_command(SQLite::Statement& row) {
  JournalCommand command;
  command.id = row.getColumn(0).getString();
  command.digest = row.getColumn(1).getString();
  command.by = row.getColumn(2).getString();
  command.at = from_ms(row.getColumn(3).getInt64());
  command.first = row.getColumn(4).getInt64();  // null reads as 0
  command.last = row.getColumn(5).getInt64();
  command.answer = row.getColumn(6).getString();
  return command;
}

/// Runs a reading body; what SQLite throws becomes an Error naming the file.
template <class Body>
auto reading(const std::string& path, const Body& body) -> decltype(body()) {
  try {
    return body();
  } catch (const SQLite::Exception& cause) {
    return failure(path, cause);
  }
}

}  // namespace

JournalReader::JournalReader(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
JournalReader::~JournalReader() = default;

Result<std::unique_ptr<JournalReader>> JournalReader::open(const std::string& path, const JournalOptions& options) {
  return reading(path, [&]() -> Result<std::unique_ptr<JournalReader>> {
    auto impl = std::make_unique<Impl>(path, options);
    const auto format = format_of(impl->database, path);
    if (!format) return format.error();
    if (*format == 0) return Error{Errc::unavailable, "journal " + path + ": it is empty"};
    impl->has_words = impl->database.tableExists("words");
    return std::unique_ptr<JournalReader>(new JournalReader(std::move(impl)));
  });
}

Result<std::optional<JournalCommand>> JournalReader::find_command(const std::string& id) {
  return reading(impl_->path, [&]() -> Result<std::optional<JournalCommand>> {
    auto& find = impl_->find_command;
    if (!find) {
      find = std::make_unique<SQLite::Statement>(
          impl_->database, "SELECT id, digest, by, at_ms, seq_first, seq_last, answer FROM commands WHERE id = ?");
    }
    find->bind(1, id);
    std::optional<JournalCommand> found;
    if (find->executeStep()) found = row_to_command(*find);
    find->reset();
    return found;
  });
}

Status JournalReader::read(std::int64_t after, std::int64_t limit,
                           const std::function<Status(const StoredEvent&)>& visit) {
  return reading(impl_->path, [&]() -> Status {
    SQLite::Statement rows(impl_->database,
                           "SELECT seq, command_id, at_ms, name, body FROM events WHERE seq > ? ORDER BY seq LIMIT ?");
    SQLite::bind(rows, after, limit);
    while (rows.executeStep()) {
      const auto seen = visit(impl_->readable(row_to_event(rows)));
      if (!seen) return seen.error();
    }
    return Done{};
  });
}

Status JournalReader::read_record(std::int64_t before, const std::function<Status(const StoredEvent&)>& visit) {
  return reading(impl_->path, [&]() -> Status {
    SQLite::Statement rows(impl_->database,
                           fmt::format("SELECT seq, command_id, at_ms, name, body FROM events WHERE name IN ({}) AND "
                                       "seq < ? ORDER BY seq",
                                       record_names()));
    rows.bind(1, before);
    while (rows.executeStep()) {
      const auto seen = visit(row_to_event(rows));
      if (!seen) return seen.error();
    }
    return Done{};
  });
}

Result<std::optional<std::string>> JournalReader::meta(std::string_view key) {
  return reading(impl_->path, [&]() -> Result<std::optional<std::string>> {
    SQLite::Statement find(impl_->database, "SELECT value FROM meta WHERE key = ?");
    find.bind(1, std::string(key));
    std::optional<std::string> value;
    if (find.executeStep()) value = find.getColumn(0).getString();
    return value;
  });
}

Result<std::int64_t> JournalReader::last() {
  return reading(impl_->path, [&]() -> Result<std::int64_t> {
    return impl_->database.execAndGet("SELECT coalesce(max(seq), 0) FROM events").getInt64();
  });
}

Result<std::int64_t> JournalReader::count_commands() {
  return reading(impl_->path, [&]() -> Result<std::int64_t> {
    return impl_->database.execAndGet("SELECT count(*) FROM commands").getInt64();
  });
}

Result<std::int64_t> JournalReader::last_opening() {
  return reading(impl_->path, [&]() -> Result<std::int64_t> {
    SQLite::Statement rows(impl_->database,
                           "SELECT seq, name FROM events WHERE name IN ('service_opened', 'service_closed') "
                           "ORDER BY seq DESC");
    // Backwards: past the closing of the last service, if it is closed, to the last closing before it.
    std::int64_t opening = 0;
    while (rows.executeStep()) {
      const bool opened = std::string_view(rows.getColumn(1).getText()) == "service_opened";
      if (!opened && opening > 0) break;
      if (opened) opening = rows.getColumn(0).getInt64();
    }
    return opening;
  });
}

Status JournalReader::check() {
  return reading(impl_->path, [&]() -> Status {
    SQLite::Statement rows(impl_->database,
                           "SELECT seq, command_id, at_ms, name, body, chain, at, "
                           "command_id = '' OR EXISTS(SELECT 1 FROM commands c WHERE c.id = command_id AND "
                           "seq BETWEEN c.seq_first AND c.seq_last) FROM events ORDER BY seq");
    std::int64_t seq = 0;
    std::string chain;
    while (rows.executeStep()) {
      const StoredEvent stored = row_to_event(rows);
      seq += 1;
      if (stored.seq != seq) {
        return Error{Errc::conflict, fmt::format("journal {}: event {} is missing", impl_->path, seq)};
      }
      chain = next_chain(chain, seq, stored.event);
      if (chain != rows.getColumn(5).getString() || rows.getColumn(6).getString() != to_rfc3339(stored.event.at)) {
        return Error{Errc::conflict, fmt::format("journal {}: event {} ({}) is not as it was written", impl_->path, seq,
                                                 stored.event.name)};
      }
      if (const std::string place = altered_words(stored.event.body, impl_->words_of(stored)); !place.empty()) {
        return Error{Errc::conflict,
                     fmt::format("journal {}: the words {} of event {} ({}) are not as they were written", impl_->path,
                                 place, seq, stored.event.name)};
      }
      if (rows.getColumn(7).getInt() == 0) {
        return Error{Errc::conflict, fmt::format("journal {}: the command of event {} is missing", impl_->path, seq)};
      }
    }
    return Done{};
  });
}

void JournalReader::interrupt() { sqlite3_interrupt(impl_->database.getHandle()); }

}  // namespace nappe::server
