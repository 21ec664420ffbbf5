#pragma once
// Takes connections on one port.

#include <string>

#include "common/result.hpp"
#include "server/connection.hpp"

namespace nappe::server {

/// "127.0.0.1:7450", "[::1]:7450", ":0" (loopback, a free port).
struct ListenAddress {
  std::string host = "127.0.0.1";
  std::uint16_t port = 7450;
};
Result<ListenAddress> read_listen_address(const std::string& text);
/// Whether only this machine can reach it.
bool is_loopback(const ListenAddress& address);

class Listener {
 public:
  Listener(asio::io_context& context, House& house);

  /// Binds; `unavailable` in one sentence when it cannot.
  Status open(const ListenAddress& address);
  [[nodiscard]] std::uint16_t port() const;
  /// Accepts until stop().
  Task<> run();
  void stop();

 private:
  tcp::acceptor acceptor_;
  House& house_;
};

}  // namespace nappe::server
