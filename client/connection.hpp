#pragma once
// The WebSocket to the server: opens it, opens it again when it falls, and tells its owner. All Beast stands in the
// .cpp.

#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "client/address.hpp"

namespace nappe::client {

/// One thread: everything happens on the io_context given, which must outlive this.
class Connection {
 public:
  struct Hears {
    std::function<void()> opened;
    std::function<void(std::string frame)> frame;
    std::function<void(const std::string& why)> closed;  ///< Once for each `opened`.
    std::function<void(const std::string& why)> failed;  ///< An attempt did not get as far as `opened`.
    std::function<void()> turned_away;                   ///< The server does not know this device: no more attempts.
  };
  Connection(boost::asio::io_context& io, Address address, Hears hears);
  ~Connection();
  Connection(const Connection&) = delete;
  Connection& operator=(const Connection&) = delete;

  /// Begins, and from then on tries again after 0.25 s, 0.5 s ... at most 5 s (each shortened by chance to spread many
  /// screens).
  void start();
  /// Sends text frames in order; dropped while the link is down (the owner sends again once it is up).
  void send(std::vector<std::string> frames);
  /// Closes for good. The rest of what was sent is still written if that takes no longer than a moment.
  void stop();

  struct Impl;

 private:
  std::shared_ptr<Impl> impl_;
};

}  // namespace nappe::client
