#include "server/archive.hpp"

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/thread_pool.hpp>

#include "server/guarded.hpp"

namespace nappe::server {

namespace asio = boost::asio;

struct Archive::Impl {
  asio::io_context& context;
  std::unique_ptr<JournalReader> reader;
  ArchiveLimits limits;
  std::size_t waiting = 0;
  asio::thread_pool thread{1};
};

Archive::Archive(asio::io_context& context, std::unique_ptr<JournalReader> reader, ArchiveLimits limits)
    : impl_(std::make_unique<Impl>(context, std::move(reader), limits)) {}

Archive::~Archive() {
  impl_->thread.stop();
  impl_->reader->interrupt();
  impl_->thread.join();
}

void Archive::page(RecordAsked asked, Ready ready) {
  if (impl_->waiting >= impl_->limits.waiting_max) {
    return ready(
        problem_response(Error{Errc::too_many, "many pages of the record are being read: ask again in a moment"}));
  }
  impl_->waiting += 1;
  asio::post(impl_->thread, [impl = impl_.get(), work = asio::make_work_guard(impl_->context), asked = std::move(asked),
                             ready = std::move(ready)]() mutable {
    auto read = guarded("record", [&] { return record_page(*impl->reader, asked); });
    HttpResponse page = read ? std::move(read).value() : problem_response(read.error());
    asio::post(impl->context, [impl, page = std::move(page), ready = std::move(ready)]() mutable {
      impl->waiting -= 1;
      ready(std::move(page));
    });
  });
}

}  // namespace nappe::server
