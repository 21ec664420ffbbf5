#include "server/journal.hpp"

#include <sqlite3.h>

#include <catch2/catch.hpp>
#include <fstream>
#include <nlohmann/json.hpp>

#include "server/journal_words.hpp"
#include "tests/server/fault_vfs.hpp"
#include "tests/server/journal_samples.hpp"
#include "tests/server/temporary_folder.hpp"

using namespace nappe;
using namespace nappe::server;
using namespace nappe::tests;

namespace {

/// Runs plain SQL as somebody without this program would.
std::string sql(const std::string& path, const std::string& statement) {
  sqlite3* database = nullptr;
  REQUIRE(sqlite3_open(path.c_str(), &database) == SQLITE_OK);
  std::string out;
  const auto collect = [](void* to, int columns, char** values, char**) {
    for (int column = 0; column < columns; ++column) {
      *static_cast<std::string*>(to) += std::string(column > 0 ? "|" : "") + (values[column] ? values[column] : "null");
    }
    *static_cast<std::string*>(to) += "\n";
    return 0;
  };
  char* error = nullptr;
  const int result = sqlite3_exec(database, statement.c_str(), collect, &out, &error);
  const std::string reason = error != nullptr ? error : "";
  sqlite3_free(error);
  sqlite3_close(database);
  INFO(reason);
  REQUIRE(result == SQLITE_OK);
  return out;
}

}  // namespace

TEST_CASE("events come back in the order they were written") {
  const TemporaryFolder folder;
  const std::string path = folder.file("j.db");
  {
    const auto writer = JournalWriter::open(path).value().release();
    const std::unique_ptr<JournalWriter> owned(writer);
    REQUIRE(owned->append(sample_group(1, 3)));
    REQUIRE(owned->append(sample_group(4, 2)));
    CHECK(owned->last() == 5);
  }
  const auto opened = JournalReader::open(path);
  REQUIRE(opened);
  JournalReader& reader = **opened;
  std::vector<StoredEvent> events;
  REQUIRE(reader.read(0, 100, [&](const StoredEvent& stored) -> Status {
    events.push_back(stored);
    return Done{};
  }));
  REQUIRE(events.size() == 5);
  for (std::size_t at = 0; at < events.size(); ++at) {
    const auto seq = static_cast<std::int64_t>(at) + 1;
    CHECK(events[at].seq == seq);
    CHECK(events[at].event.body == sample_event(seq).body);
    CHECK(events[at].event.at == sample_event(seq).at);
  }
  CHECK(reader.last().value() == 5);
  CHECK(reader.count_commands().value() == 2);
  CHECK(reader.check());
}

TEST_CASE("a command is remembered with its answer, and an unknown one is not found") {
  const TemporaryFolder folder;
  const auto writer = JournalWriter::open(folder.file("j.db"));
  REQUIRE(writer);
  const auto reader = JournalReader::open(folder.file("j.db"));
  REQUIRE(reader);
  CHECK_FALSE((*reader)->find_command("c1").value().has_value());
  REQUIRE((*writer)->append(sample_group(1, 2)));
  const auto found = (*reader)->find_command("c1");
  REQUIRE(found);
  REQUIRE(found->has_value());
  CHECK((*found)->answer == sample_group(1, 2).commands.front().answer);
  CHECK((*found)->first == 1);
  CHECK((*found)->last == 2);
  CHECK_FALSE((*reader)->find_command("c2").value().has_value());
}

TEST_CASE("a refused command is remembered without events") {
  const TemporaryFolder folder;
  const auto writer = JournalWriter::open(folder.file("j.db"));
  REQUIRE(writer);
  JournalGroup group;
  group.first = 1;
  group.commands.push_back({"no", "d", "Ines", from_ms(5), 0, 0, "{}"});
  REQUIRE((*writer)->append(group));
  CHECK(sql(folder.file("j.db"), "SELECT id, seq_first, seq_last FROM commands") == "no|null|null\n");
}

TEST_CASE("a command id that is there already stops the writer, and nothing of its group is kept") {
  const TemporaryFolder folder;
  const auto writer = JournalWriter::open(folder.file("j.db"));
  REQUIRE(writer);
  REQUIRE((*writer)->append(sample_group(1, 1)));
  JournalGroup again = sample_group(2, 1);
  again.commands.front().id = "c1";
  const auto refused = (*writer)->append(again);
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == Errc::conflict);
  CHECK_FALSE((*writer)->append(sample_group(2, 1)));
  CHECK(sql(folder.file("j.db"), "SELECT count(*) FROM events") == "1\n");
}

TEST_CASE("numbers must continue the record") {
  const TemporaryFolder folder;
  const auto writer = JournalWriter::open(folder.file("j.db"));
  REQUIRE(writer);
  CHECK((*writer)->append(sample_group(3, 1)).error().code == Errc::conflict);
}

TEST_CASE("the journal is readable with plain SQL") {
  const TemporaryFolder folder;
  const std::string path = folder.file("j.db");
  const auto writer = JournalWriter::open(path);
  REQUIRE(writer);
  REQUIRE((*writer)->append(sample_group(1, 1)));
  CHECK(sql(path, "SELECT seq, command_id, at_ms, at, name, json_extract(body, '$.pan') FROM events") ==
        "1|c1|1764966220001|2025-12-05T20:23:40.001Z|step_ended|1\n");
  CHECK(sql(path, "SELECT value FROM meta WHERE key = 'format'") == "1\n");
  // The database's own function agrees with our RFC 3339 text.
  CHECK(sql(path, "SELECT strftime('%Y-%m-%dT%H:%M:%fZ', at_ms / 1000.0, 'unixepoch') = at FROM events") == "1\n");
  CHECK(sql(path, "PRAGMA journal_mode") == "wal\n");
}

TEST_CASE("a newer format is refused in one sentence") {
  const TemporaryFolder folder;
  const std::string path = folder.file("j.db");
  REQUIRE(JournalWriter::open(path));
  sql(path, "UPDATE meta SET value = '2' WHERE key = 'format'");
  const auto writer = JournalWriter::open(path);
  REQUIRE_FALSE(writer);
  CHECK(writer.error().code == Errc::unavailable);
  CHECK(writer.error().detail.find("its format is 2, this napped reads up to 1") != std::string::npos);
  CHECK_FALSE(JournalReader::open(path));
}

TEST_CASE("a file that is no journal is refused and left alone") {
  const TemporaryFolder folder;
  const std::string other = folder.file("other.db");
  sql(other, "CREATE TABLE wine(name)");
  CHECK(JournalWriter::open(other).error().detail.find("another program's database") != std::string::npos);
  CHECK(sql(other, "SELECT group_concat(name) FROM sqlite_master") == "wine\n");
  const std::string text = folder.file("text.db");
  std::ofstream(text) << "this is not a database, only a text of some length to fill its first page";
  CHECK_FALSE(JournalWriter::open(text));
  CHECK_FALSE(JournalWriter::open(folder.file("nowhere/j.db")));
}

TEST_CASE("two servers never write one journal") {
  const TemporaryFolder folder;
  const auto first = JournalWriter::open(folder.file("j.db"));
  REQUIRE(first);
  CHECK(JournalWriter::open(folder.file("j.db")).error().detail.find("another napped") != std::string::npos);
}

TEST_CASE("a record altered on disk is found") {
  const TemporaryFolder folder;
  const std::string path = folder.file("j.db");
  {
    const auto writer = JournalWriter::open(path);
    REQUIRE(writer);
    REQUIRE((*writer)->append(sample_group(1, 2)));
    REQUIRE((*writer)->append(sample_group(3, 2)));
  }
  const auto check = [&] { return JournalReader::open(path).value()->check(); };
  REQUIRE(check());
  const std::vector<std::pair<const char*, const char*>> alterations = {
      {"UPDATE events SET body = replace(body, '2', '9') WHERE seq = 2", "event 2 (step_ended)"},
      {"UPDATE events SET at_ms = at_ms - 1000 WHERE seq = 4", "event 4"},
      {"UPDATE events SET at = replace(at, '2025', '2024') WHERE seq = 1", "event 1"},
      {"DELETE FROM events WHERE seq = 3", "event 3 is missing"},
      {"DELETE FROM commands WHERE id = 'c3'", "command of event 3 is missing"}};
  const std::string whole = folder.file("whole.db");
  std::filesystem::copy_file(path, whole);
  for (const auto& [alteration, says] : alterations) {
    std::filesystem::copy_file(whole, path, std::filesystem::copy_options::overwrite_existing);
    sql(path, alteration);
    const auto found = check();
    INFO(alteration);
    REQUIRE_FALSE(found);
    CHECK(found.error().detail.find(says) != std::string::npos);
  }
}

TEST_CASE("meta values are kept and replaced") {
  const TemporaryFolder folder;
  const auto writer = JournalWriter::open(folder.file("j.db"));
  REQUIRE(writer);
  REQUIRE((*writer)->set_meta("clock", "a"));
  REQUIRE((*writer)->set_meta("clock", "b"));
  const auto reader = JournalReader::open(folder.file("j.db"));
  REQUIRE(reader);
  CHECK((*reader)->meta("clock").value() == "b");
  CHECK_FALSE((*reader)->meta("other").value().has_value());
}

TEST_CASE("the digest is SHA-256") {
  // FIPS 180-2, appendix B.1: the digest of "abc".
  CHECK(digest_of("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

TEST_CASE("after a failed write or sync the journal refuses everything and holds all it acknowledged") {
  // Fails the n-th write, then the n-th sync, for every n until a whole run passes without a fault.
  for (const bool at_sync : {false, true}) {
    for (int n = 0;; ++n) {
      const TemporaryFolder folder;
      const std::string path = folder.file("j.db");
      REQUIRE(JournalWriter::open(path));
      faults() = {};
      int acknowledged = 0;
      bool refused = false;
      {
        const auto writer = JournalWriter::open(path, {fault_vfs(), 0});
        REQUIRE(writer);
        (at_sync ? faults().syncs_left : faults().writes_left) = n;
        for (int group = 0; group < 5; ++group) {
          if ((*writer)->append(sample_group(2 * group + 1, 2))) {
            CHECK_FALSE(refused);  // nothing is taken again after a failure
            acknowledged = group + 1;
          } else {
            refused = true;
            faults() = {};  // the disk recovers; the journal must not
          }
        }
      }
      const bool injected = refused;
      faults() = {};
      INFO((at_sync ? "sync " : "write ") << n);
      const auto reader = JournalReader::open(path);
      REQUIRE(reader);
      CHECK((*reader)->check());
      const auto last = (*reader)->last().value();
      CHECK(last >= 2 * acknowledged);
      CHECK(last <= 2 * acknowledged + 2);
      CHECK(last % 2 == 0);
      if (!injected) {
        CHECK(acknowledged == 5);
        CHECK(n >= 5);  // at least one write and one sync a group: acknowledging without a sync would show here
        break;
      }
    }
  }
}

TEST_CASE("the last opening is that of the last service, open or closed, not the adoption of a new kitchen") {
  const std::vector<std::pair<std::vector<const char*>, std::int64_t>> cases = {
      {{}, 0},
      {{"service_opened", "ticket_sent"}, 1},
      {{"service_opened", "service_closed"}, 1},
      {{"service_opened", "service_closed", "service_opened", "ticket_sent"}, 3},
      {{"service_opened", "service_closed", "service_opened", "service_opened", "ticket_sent"}, 3},
      {{"service_opened", "service_closed", "service_opened", "service_opened", "service_closed"}, 3},
      {{"service_opened", "ticket_sent", "service_opened", "ticket_sent"}, 1}};
  for (const auto& [names, opening] : cases) {
    const TemporaryFolder folder;
    const auto writer = JournalWriter::open(folder.file("j.db"));
    REQUIRE(writer);
    JournalGroup group;
    group.first = 1;
    for (const char* name : names) group.events.push_back({"", from_ms(1), name, "{}"});
    REQUIRE((*writer)->append(group));
    const auto reader = JournalReader::open(folder.file("j.db"));
    REQUIRE(reader);
    CHECK((*reader)->last_opening().value() == opening);
  }
}

TEST_CASE("words about guests stand beside the chain, come back with their event, and are in no file once let go of") {
  const TemporaryFolder folder;
  const std::string path = folder.file("j.db");
  const auto writer = JournalWriter::open(path);
  REQUIRE(writer);
  const std::string body =
      R"({"order":{"courses":[{"course":"mains","plates":[{"change":"no dill","dish":"pollack","position":1}]}],)"
      R"("note":"Ms Quince"},"ticket":7,"version":"1"})";
  JournalGroup group;
  group.first = 1;
  group.events = {{"", from_ms(1000), "ticket_sent", body}, sample_event(2)};
  REQUIRE((*writer)->append(group));
  const auto reader = JournalReader::open(path);
  REQUIRE(reader);
  const auto first_body = [&] {
    std::string found;
    REQUIRE((*reader)->read(0, 1, [&](const StoredEvent& stored) -> Status {
      found = stored.event.body;
      return Done{};
    }));
    return found;
  };
  CHECK(nlohmann::json::parse(first_body()) == nlohmann::json::parse(body));
  const std::string in_chain = sql(path, "SELECT body FROM events WHERE seq = 1");
  CHECK_THAT(in_chain, !Catch::Contains("Quince") && !Catch::Contains("dill") && Catch::Contains("words:"));
  CHECK((*reader)->check());

  // Let go of: the chain is whole, the words are nowhere, and what is left says nothing of them.
  JournalGroup gone;
  gone.first = 3;
  gone.events = {{"", from_ms(2000), "words_dropped", R"({"ticket":7})"}};
  REQUIRE((*writer)->append(gone));
  CHECK((*reader)->check());
  CHECK_THAT(first_body(), Catch::Contains("\"note\":\"\"") && !Catch::Contains("words:"));
  for (const std::string end : {"", "-wal"}) {
    std::ifstream file(path + end, std::ios::binary);
    const std::string bytes{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
    CHECK(bytes.find("Quince") == std::string::npos);
    CHECK(bytes.find("no dill") == std::string::npos);
  }
}

TEST_CASE("words that were changed, or added later, are named; a journal from before they were kept apart is read") {
  const TemporaryFolder folder;
  const std::string path = folder.file("j.db");
  const auto writer = JournalWriter::open(path);
  REQUIRE(writer);
  JournalGroup group;
  group.first = 1;
  group.events = {{"", from_ms(1000), "ticket_cancelled", R"({"reason":"ill","ticket":3})"}};
  REQUIRE((*writer)->append(group));
  const auto reader = JournalReader::open(path);
  REQUIRE(reader);
  REQUIRE((*reader)->check());
  sql(path, "UPDATE words SET words = 'rude'");
  CHECK_THAT((*reader)->check().error().detail, Catch::Contains("the words /reason of event 1 (ticket_cancelled)"));
  // As it was written before: the words in the event itself.
  CHECK(with_words(R"({"reason":"ill","ticket":3})", {}) == R"({"reason":"ill","ticket":3})");
  CHECK_FALSE(hide_words("step_ended", R"({"reason":"ill"})"));
  CHECK_FALSE(hide_words("ticket_cancelled", R"({"reason":"","ticket":3})"));
}
