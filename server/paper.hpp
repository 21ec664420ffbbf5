#pragma once
// Keeps the paper line in a folder: paper-roll.txt and paper-a4.txt, written every ten minutes of kitchen time, so that
// there is something to print when the server is dead.

#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <string>

#include "common/result.hpp"
#include "common/time.hpp"
#include "server/clock.hpp"

namespace nappe::server {

inline constexpr Duration paper_every = minutes(10);

struct PaperParts {
  std::string folder;
  std::function<KitchenClock()> clock;
  /// The text now, for "roll" or "a4".
  std::function<std::string(const std::string& size)> text;
};

class PaperKeeper {
 public:
  PaperKeeper(boost::asio::io_context& context, PaperParts parts);
  ~PaperKeeper();
  PaperKeeper(const PaperKeeper&) = delete;
  PaperKeeper& operator=(const PaperKeeper&) = delete;

  /// Makes the folder, writes both files and goes on every ten minutes. `unavailable` when the folder cannot be used.
  Status start();
  /// Writes both files now (the power is going, the server is asked to end). Each is replaced whole and synced: a
  /// reader finds the old one or the new one.
  Status write();

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace nappe::server
