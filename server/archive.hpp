#pragma once
// Reads the record's pages beside the kitchen: a thread and a reader of its own, so that a year of readings costs no
// station a moment.

#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>

#include "server/record_pages.hpp"

namespace nappe::server {

struct ArchiveLimits {
  std::size_t waiting_max = 16;  ///< Pages asked for and not yet read; more are refused.
};

class Archive {
 public:
  using Ready = std::function<void(HttpResponse)>;

  /// `reader` is used by the archive's thread alone.
  Archive(boost::asio::io_context& context, std::unique_ptr<JournalReader> reader, ArchiveLimits limits = {});
  /// Breaks off what is being read.
  ~Archive();
  Archive(const Archive&) = delete;
  Archive& operator=(const Archive&) = delete;

  /// Reads the page; `ready` is called once on the context's thread, perhaps before this returns (too many wait).
  void page(RecordAsked asked, Ready ready);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace nappe::server
