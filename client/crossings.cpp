#include "client/crossings.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <iterator>
#include <sstream>
#include <utility>

#include "client/kept_file.hpp"
#include "common/kitchen/load.hpp"

namespace nappe::client {
namespace {

Error cannot(const std::filesystem::path& path) {
  return Error{Errc::unavailable,
               fmt::format("what is crossed out cannot be kept in {}: {}", path.string(), std::strerror(errno))};
}

}  // namespace

Crossings Crossings::read(const std::string& text) {
  Crossings out;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    if (line.size() < 2 || (line.front() != '+' && line.front() != '-')) continue;
    out.acts_.push_back({line.substr(1), line.front() == '+'});
  }
  return out;
}

std::string Crossings::write() const {
  std::string out;
  for (const Act& act : acts_) out += (act.cross ? "+" : "-") + act.id + "\n";
  return out;
}

bool Crossings::crossed(const std::string& id) const {
  const auto last = std::find_if(acts_.rbegin(), acts_.rend(), [&](const Act& act) { return act.id == id; });
  return last != acts_.rend() && last->cross;
}

std::vector<std::string> Crossings::all() const {
  std::vector<std::string> out;
  for (const Act& act : acts_) {
    const auto there = std::find(out.begin(), out.end(), act.id);
    if (act.cross && there == out.end()) out.push_back(act.id);
    if (!act.cross && there != out.end()) out.erase(there);
  }
  return out;
}

void Crossings::toggle(const std::string& id) { acts_.push_back({id, !crossed(id)}); }

std::string Crossings::undo() {
  if (acts_.empty()) return {};
  std::string id = acts_.back().id;
  acts_.pop_back();
  return id;
}

Result<CrossingsFile> CrossingsFile::open(const std::filesystem::path& path) {
  std::error_code failed;
  if (path.has_parent_path()) std::filesystem::create_directories(path.parent_path(), failed);
  CrossingsFile file;
  file.path_ = path;
  const std::filesystem::path lock = path.string() + ".lock";
  file.lock_ = ::open(lock.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (file.lock_ < 0) return cannot(path);
  if (flock(file.lock_, LOCK_EX | LOCK_NB) != 0)
    return Error{Errc::conflict, "another screen of this machine has this prep list: close it, or cross out there"};
  std::ifstream in(path, std::ios::binary);
  file.crossings = Crossings::read({std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()});
  return file;
}

CrossingsFile::CrossingsFile(CrossingsFile&& other) noexcept
    : crossings(std::move(other.crossings)), path_(std::move(other.path_)), lock_(std::exchange(other.lock_, -1)) {}

CrossingsFile::~CrossingsFile() {
  if (lock_ >= 0) ::close(lock_);
}

Status CrossingsFile::save() const {
  const std::filesystem::path fresh = path_.string() + ".new";
  const std::string text = crossings.write();
  const int file = ::open(fresh.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  if (file < 0) return cannot(path_);
  std::size_t done = 0;
  while (done < text.size()) {
    const ssize_t wrote = ::write(file, text.data() + done, text.size() - done);
    if (wrote < 0) {
      const Error failure = cannot(path_);
      ::close(file);
      return failure;
    }
    done += static_cast<std::size_t>(wrote);
  }
  const bool durable = ::fsync(file) == 0;
  ::close(file);
  if (!durable || ::rename(fresh.c_str(), path_.c_str()) != 0) return cannot(path_);
  return Done{};
}

std::filesystem::path crossings_path(const std::string& house, const std::string& title) {
  return state_folder() / ("prep-" + kitchen::fnv1a_hex(house + "\n" + title) + ".crossed");
}

}  // namespace nappe::client
