#include "server/paper.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <boost/asio/steady_timer.hpp>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>

#include "server/log.hpp"

namespace nappe::server {

namespace {

Status replace_file(const std::filesystem::path& path, const std::string& text) {
  const std::string fresh = path.string() + ".new";
  const auto cannot = [&] {
    return Error{Errc::unavailable, fmt::format("--paper: cannot write {}: {}", path.string(), std::strerror(errno))};
  };
  const int file = ::open(fresh.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0644);
  if (file < 0) return cannot();
  std::size_t done = 0;
  while (done < text.size()) {
    const ssize_t wrote = ::write(file, text.data() + done, text.size() - done);
    if (wrote < 0 && errno == EINTR) continue;
    if (wrote < 0) break;
    done += static_cast<std::size_t>(wrote);
  }
  const bool durable = done == text.size() && ::fsync(file) == 0;
  const int why = errno;
  ::close(file);
  errno = why;
  if (!durable || ::rename(fresh.c_str(), path.c_str()) != 0) return cannot();
  return Done{};
}

}  // namespace

struct PaperKeeper::Impl {
  Impl(boost::asio::io_context& context, PaperParts with) : parts(std::move(with)), timer(context) {}

  PaperParts parts;
  boost::asio::steady_timer timer;
  Instant due{};  ///< When to write again, kitchen time.

  Status write() {
    due = parts.clock().at(std::chrono::steady_clock::now()) + paper_every;
    for (const std::string size : {"roll", "a4"}) {
      const auto path = std::filesystem::path(parts.folder) / ("paper-" + size + ".txt");
      if (const Status written = replace_file(path, parts.text(size)); !written) return written;
    }
    return Done{};
  }

  // Looks once a second: the kitchen's clock may be set, or run fast, in a demo.
  void wait() {
    timer.expires_after(std::chrono::seconds(1));
    timer.async_wait([this](const boost::system::error_code& error) {
      if (error) return;
      const Instant now = parts.clock().at(std::chrono::steady_clock::now());
      if (now >= due || now + paper_every < due) {
        if (const Status written = write(); !written) log_error(written.error().detail);
      }
      wait();
    });
  }
};

PaperKeeper::PaperKeeper(boost::asio::io_context& context, PaperParts parts)
    : impl_(std::make_unique<Impl>(context, std::move(parts))) {}
PaperKeeper::~PaperKeeper() = default;

Status PaperKeeper::start() {
  if (impl_->parts.folder.empty()) return Done{};
  std::error_code ignored;
  std::filesystem::create_directories(impl_->parts.folder, ignored);
  if (const Status written = impl_->write(); !written) return written;
  impl_->wait();
  return Done{};
}

Status PaperKeeper::write() {
  if (impl_->parts.folder.empty()) return Done{};
  return impl_->write();
}

}  // namespace nappe::server
