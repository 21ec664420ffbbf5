#include "client/kept_file.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <sstream>
#include <utility>

namespace nappe::client {
namespace {

Error cannot(const std::string& what, const std::filesystem::path& path) {
  return Error{Errc::unavailable, fmt::format("{} {}: {}", what, path.string(), std::strerror(errno))};
}

// File names hold only what every file system takes.
std::string plain_name(const std::string& name) {
  std::string out;
  for (const char c : name) {
    const bool fine = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '.';
    out += fine ? c : '_';
  }
  return out;
}

}  // namespace

std::filesystem::path state_folder() {
  const char* state = std::getenv("XDG_STATE_HOME");
  if (state != nullptr && state[0] == '/') return std::filesystem::path(state) / "nappe";
  const char* home = std::getenv("HOME");
  return std::filesystem::path(home == nullptr ? "/tmp" : home) / ".local" / "state" / "nappe";
}

Result<KeptFile> KeptFile::open(const std::filesystem::path& folder, const std::string& name) {
  std::error_code failed;
  std::filesystem::create_directories(folder, failed);
  for (int i = 1; i <= 9; ++i) {
    KeptFile file;
    file.path_ = folder / (plain_name(name) + (i == 1 ? "" : fmt::format("-{}", i)) + ".presses");
    // The lock is a file of its own: the other one is replaced whole at every write.
    const std::filesystem::path lock = file.path_.string() + ".lock";
    file.lock_ = ::open(lock.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (file.lock_ < 0) return cannot("cannot write", lock);
    if (flock(file.lock_, LOCK_EX | LOCK_NB) == 0) return file;
  }
  return Error{Errc::too_many, "nine screens of this name run on this machine already"};
}

KeptFile::KeptFile(KeptFile&& other) noexcept : path_(std::move(other.path_)), lock_(std::exchange(other.lock_, -1)) {}

KeptFile& KeptFile::operator=(KeptFile&& other) noexcept {
  std::swap(path_, other.path_);
  std::swap(lock_, other.lock_);
  return *this;
}

KeptFile::~KeptFile() {
  if (lock_ >= 0) ::close(lock_);
}

std::string KeptFile::read() const {
  std::ifstream in(path_, std::ios::binary);
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

Status KeptFile::write(const std::string& text) const {
  const std::filesystem::path fresh = path_.string() + ".new";
  const int file = ::open(fresh.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  if (file < 0) return cannot("cannot write", fresh);
  std::size_t done = 0;
  while (done < text.size()) {
    const ssize_t wrote = ::write(file, text.data() + done, text.size() - done);
    if (wrote < 0 && errno == EINTR) continue;
    if (wrote < 0) {
      const Error error = cannot("cannot write", fresh);
      ::close(file);
      return error;
    }
    done += static_cast<std::size_t>(wrote);
  }
  const bool durable = ::fsync(file) == 0;
  ::close(file);
  if (!durable || ::rename(fresh.c_str(), path_.c_str()) != 0) return cannot("cannot write", path_);
  return Done{};
}

}  // namespace nappe::client
