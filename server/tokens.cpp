#include "server/tokens.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <SQLiteCpp/VariadicBind.h>
#include <fcntl.h>
#include <fmt/format.h>
#include <sodium.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <map>

#include "server/journal.hpp"

namespace nappe::server {

namespace {

constexpr const char* tables = R"sql(
CREATE TABLE IF NOT EXISTS devices(name TEXT NOT NULL, role TEXT NOT NULL, station TEXT NOT NULL,
  paired_by TEXT NOT NULL, paired_ms INTEGER NOT NULL, revoked_ms INTEGER, digest TEXT NOT NULL UNIQUE) STRICT;
CREATE UNIQUE INDEX IF NOT EXISTS devices_here ON devices(name) WHERE revoked_ms IS NULL;
)sql";

Error failure(const std::string& path, const std::exception& cause) {
  return {Errc::unavailable, fmt::format("devices {}: {}", path, cause.what())};
}

/// Letters of a name that is shown on screens and typed in a shell: no control characters, no blanks at its ends.
Status check_name(const std::string& name) {
  const bool plain = std::all_of(name.begin(), name.end(), [](unsigned char c) { return c >= 0x20 && c != 0x7f; });
  if (plain && !name.empty() && name.size() <= device_name_max && name.front() != ' ' && name.back() != ' ' &&
      name.find('/') == std::string::npos) {
    return Done{};
  }
  return Error{
      Errc::invalid,
      fmt::format("a device's name has 1 to {} letters, without / and without blanks at its ends", device_name_max),
      "/name"};
}

}  // namespace

std::string new_token() {
  std::array<unsigned char, 32> bits{};
  randombytes_buf(bits.data(), bits.size());
  std::array<char, sodium_base64_ENCODED_LEN(32, sodium_base64_VARIANT_URLSAFE_NO_PADDING)> text{};
  sodium_bin2base64(text.data(), text.size(), bits.data(), bits.size(), sodium_base64_VARIANT_URLSAFE_NO_PADDING);
  return text.data();
}

struct TokenBook::Impl {
  explicit Impl(const std::string& where) : path(where), database(where, SQLite::OPEN_READWRITE) {}

  std::string path;
  SQLite::Database database;
  std::map<std::string, std::shared_ptr<Device>> by_digest;  ///< Only those that may come in.

  void load() {
    database.setBusyTimeout(2000);
    database.exec("PRAGMA synchronous = FULL");
    database.exec(tables);
    SQLite::Statement all(database,
                          "SELECT name, role, station, paired_by, paired_ms, digest FROM devices "
                          "WHERE revoked_ms IS NULL");
    while (all.executeStep()) {
      const auto role = role_named(all.getColumn(1).getString());
      if (!role) continue;  // Of a newer napped: it may not come in here.
      auto device = std::make_shared<Device>();
      device->name = all.getColumn(0).getString();
      device->role = *role;
      device->station = all.getColumn(2).getString();
      device->by = all.getColumn(3).getString();
      device->paired = from_ms(all.getColumn(4).getInt64());
      by_digest.emplace(all.getColumn(5).getString(), std::move(device));
    }
  }

  [[nodiscard]] bool in_use(const std::string& name) const {
    return std::any_of(by_digest.begin(), by_digest.end(),
                       [&](const auto& known) { return known.second->name == name; });
  }

  [[nodiscard]] std::string free_name(const std::string& stem) const {
    std::string name = stem;
    for (int n = 2; in_use(name); ++n) name = fmt::format("{} {}", stem, n);
    return name;
  }
};

TokenBook::TokenBook(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
TokenBook::~TokenBook() = default;

Result<std::unique_ptr<TokenBook>> TokenBook::open(const std::string& path) {
  // Made by ourselves, so that nobody else may read it, whatever the umask is.
  const int file = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (file < 0) return Error{Errc::unavailable, "devices " + path + ": the file cannot be written"};
  ::close(file);
  try {
    auto impl = std::make_unique<Impl>(path);
    impl->load();
    return std::unique_ptr<TokenBook>(new TokenBook(std::move(impl)));
  } catch (const SQLite::Exception& cause) {
    return failure(path, cause);
  }
}

Result<TokenBook::Paired> TokenBook::add(Device device) {
  if (impl_->by_digest.size() >= devices_max) {
    return Error{Errc::too_many, fmt::format("{} devices are paired: end the pairing of one first", devices_max)};
  }
  if (device.name.empty()) {
    device.name = impl_->free_name(device.role == Role::station ? device.station : std::string(role_name(device.role)));
  }
  if (const Status fine = check_name(device.name); !fine) return fine.error();
  if (impl_->in_use(device.name)) {
    return Error{Errc::conflict, fmt::format("\"{}\" is paired already: give this one another name", device.name),
                 "/name"};
  }
  Paired paired{std::make_shared<const Device>(device), new_token()};
  const std::string digest = digest_of(paired.token);
  try {
    SQLite::Statement keep(impl_->database, "INSERT INTO devices VALUES(?,?,?,?,?,NULL,?)");
    SQLite::bind(keep, device.name, std::string(role_name(device.role)), device.station, device.by,
                 to_ms(device.paired), digest);
    keep.exec();
  } catch (const SQLite::Exception& cause) {
    return failure(impl_->path, cause);
  }
  auto kept = std::make_shared<Device>(std::move(device));
  paired.device = kept;
  impl_->by_digest.emplace(digest, std::move(kept));
  return paired;
}

DevicePtr TokenBook::find(std::string_view token) const {
  // By its digest: how long the search takes says nothing about a token.
  const auto found = impl_->by_digest.find(digest_of(token));
  return found == impl_->by_digest.end() ? nullptr : found->second;
}

std::vector<DevicePtr> TokenBook::list() const {
  std::vector<DevicePtr> all;
  for (const auto& [digest, device] : impl_->by_digest) all.push_back(device);
  std::sort(all.begin(), all.end(), [](const DevicePtr& a, const DevicePtr& b) { return a->name < b->name; });
  return all;
}

Result<DevicePtr> TokenBook::revoke(const std::string& name, Instant wall) {
  const auto found = std::find_if(impl_->by_digest.begin(), impl_->by_digest.end(),
                                  [&](const auto& known) { return known.second->name == name; });
  if (found == impl_->by_digest.end()) {
    return Error{Errc::unknown, fmt::format("no device is called \"{}\"; nappe devices lists them", name)};
  }
  try {
    SQLite::Statement end(impl_->database, "UPDATE devices SET revoked_ms = ? WHERE digest = ?");
    SQLite::bind(end, to_ms(wall), found->first);
    end.exec();
  } catch (const SQLite::Exception& cause) {
    return failure(impl_->path, cause);
  }
  found->second->revoked = true;
  const DevicePtr gone = found->second;
  impl_->by_digest.erase(found);
  return gone;
}

}  // namespace nappe::server
