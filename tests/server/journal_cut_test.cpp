// A power cut can leave any part of the write-ahead log behind. Whatever byte it ends at, the journal opens again and
// holds a prefix of the groups, whole groups only, and everything up to the cut.

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>

#include "tests/server/journal_samples.hpp"
#include "tests/server/temporary_folder.hpp"

using namespace nappe;
using namespace nappe::server;
using namespace nappe::tests;

namespace {

std::string read_all(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

void write_all(const std::string& path, std::string_view bytes) { std::ofstream(path, std::ios::binary) << bytes; }

/// How many events are readable when the log has only its first `bytes`; -1: not even the tables are there.
std::int64_t events_after_cut(const std::string& database, std::string_view log, std::size_t bytes,
                              const std::string& path) {
  std::filesystem::remove(path + "-shm");
  write_all(path, database);
  write_all(path + "-wal", log.substr(0, bytes));
  const auto reader = JournalReader::open(path);
  if (!reader) {
    CHECK(reader.error().detail.find("it is empty") != std::string::npos);
    return -1;
  }
  CHECK((*reader)->check());
  return (*reader)->last().value();
}

}  // namespace

TEST_CASE("the log cut at every byte leaves a prefix of whole groups") {
  const TemporaryFolder folder;
  std::string database;
  std::string log;
  std::vector<std::pair<std::size_t, std::int64_t>> durable;  // after this many bytes of log, these events
  {
    const auto writer = JournalWriter::open(folder.file("j.db"), {"", 512});
    REQUIRE(writer);
    durable.emplace_back(std::filesystem::file_size(folder.file("j.db-wal")), 0);
    std::int64_t first = 1;
    for (const std::int64_t count : {1, 3, 2, 5}) {
      REQUIRE((*writer)->append(sample_group(first, count)));
      first += count;
      durable.emplace_back(std::filesystem::file_size(folder.file("j.db-wal")), first - 1);
    }
    database = read_all(folder.file("j.db"));
    log = read_all(folder.file("j.db-wal"));
  }
  REQUIRE(log.size() == durable.back().first);

  const std::string path = folder.file("cut.db");
  for (std::size_t bytes = 0; bytes <= log.size(); ++bytes) {
    std::int64_t expected = -1;
    for (const auto& [size, events] : durable) {
      if (size <= bytes) expected = events;
    }
    const auto found = events_after_cut(database, log, bytes, path);
    // The tables are made before what finds the record's events: a journal cut between the two is whole, and empty.
    if (found != expected && !(expected == -1 && found == 0)) {
      INFO("cut at byte " << bytes);
      REQUIRE(found == expected);
    }
  }
}

TEST_CASE("a journal cut short goes on from its last whole group") {
  const TemporaryFolder folder;
  std::string database;
  std::string log;
  {
    const auto writer = JournalWriter::open(folder.file("j.db"), {"", 512});
    REQUIRE(writer);
    REQUIRE((*writer)->append(sample_group(1, 2)));
    REQUIRE((*writer)->append(sample_group(3, 2)));
    database = read_all(folder.file("j.db"));
    log = read_all(folder.file("j.db-wal"));
  }
  const std::string path = folder.file("cut.db");
  write_all(path, database);
  write_all(path + "-wal", std::string_view(log).substr(0, log.size() - 1));
  const auto writer = JournalWriter::open(path);
  REQUIRE(writer);
  REQUIRE((*writer)->last() == 2);
  REQUIRE((*writer)->append(sample_group(3, 4)));
  const auto reader = JournalReader::open(path);
  REQUIRE(reader);
  CHECK((*reader)->last().value() == 6);
  CHECK((*reader)->check());
}
