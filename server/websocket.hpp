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
  virtual ~WebSocket() = default;

  /// Answers the upgrade: 101, or the refusal that RFC 6455 asks for (then false).
  virtual Task<bool> accept() = 0;
  /// The next whole text message; an error when the peer has closed, broke the protocol, or sent binary.
  virtual Task<Result<std::string>> read() = 0;
  /// False when it could not be sent. One write at a time.
  virtual Task<bool> write(Frame frame) = 0;
  /// Says goodbye and waits for the peer's goodbye, no longer than the limit.
  virtual Task<> close(CloseCode code, std::string reason) = 0;
  [[nodiscard]] virtual asio::any_io_executor executor() = 0;
  /// Drops the connection at once.
  virtual void cut() = 0;
};

}  // namespace nappe::server
