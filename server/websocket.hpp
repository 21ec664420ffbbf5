#pragma once
// One WebSocket (RFC 6455), text frames only. Nothing of Beast is visible here.

#include <chrono>
#include <memory>
#include <string>

#include "common/result.hpp"
#include "server/board.hpp"
#include "server/http.hpp"
#include "server/net.hpp"

namespace nappe::server {

struct WebSocketLimits {
  std::size_t frame_bytes_max = 64U << 10U;
  std::chrono::seconds handshake{5};  ///< Also for the closing handshake.
  std::chrono::seconds idle{20};      ///< A peer that answers no ping for this long is gone.
};

/// Close codes used here (RFC 6455, 7.4.1).
enum class CloseCode : std::uint16_t { normal = 1000, going_away = 1001, unacceptable = 1003, policy = 1008 };

class WebSocket {
 public:
  /// `request` is the upgrade request that was read from the socket.
  WebSocket(tcp::socket socket, HttpRequest request, WebSocketLimits limits);
  ~WebSocket();
  WebSocket(const WebSocket&) = delete;
  WebSocket& operator=(const WebSocket&) = delete;

  /// Answers the upgrade: 101, or the refusal that RFC 6455 asks for (then false).
  Task<bool> accept();
  /// The next whole text message; an error when the peer has closed, broke the protocol, or sent binary.
  Task<Result<std::string>> read();
  /// False when it could not be sent. One write at a time.
  Task<bool> write(Frame frame);
  /// Says goodbye and waits for the peer's goodbye, no longer than the limit.
  Task<> close(CloseCode code, std::string reason);
  [[nodiscard]] asio::any_io_executor executor();
  /// Drops the connection at once.
  void cut();

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace nappe::server
