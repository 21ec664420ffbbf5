#pragma once
// One HTTP connection. Nothing of Beast is visible here: its templates cost 15 s in every file that instantiates them.

#include <memory>
#include <optional>

#include "server/http.hpp"
#include "server/net.hpp"

namespace nappe::server {

struct HttpLimits {
  std::uint32_t header_bytes_max = 16U << 10U;
  std::uint64_t body_bytes_max = 256U << 10U;
  std::chrono::seconds patience{30};  ///< For one request to arrive, and for one response to leave.
};

class Tls;
class WebSocket;
struct WebSocketLimits;

class HttpConnection {
 public:
  virtual ~HttpConnection() = default;

  /// Agrees on the encryption where there is one; false when the peer does not.
  virtual Task<bool> greet() = 0;
  struct Incoming {
    std::optional<HttpRequest> request;   ///< Nothing: the connection has ended, or `problem` is why it must.
    std::optional<HttpResponse> problem;  ///< To be written before it is closed.
  };
  virtual Task<Incoming> read() = 0;
  /// False when it did not get out. `head`: the request was HEAD, send no body.
  virtual Task<bool> write(HttpResponse response, bool keep_alive, bool head) = 0;
  /// Ends the sending side and lets the peer finish: closing while it still sends would destroy what we sent.
  virtual Task<> finish() = 0;
  virtual void cut() = 0;
  /// Hands the connection over to become a WebSocket; `request` asked for it. Nothing else may be called after.
  virtual std::unique_ptr<WebSocket> become_socket(HttpRequest request, WebSocketLimits limits) = 0;
};

std::unique_ptr<HttpConnection> plain_connection(tcp::socket socket, HttpLimits limits);
/// `tls` must outlive it.
std::unique_ptr<HttpConnection> tls_connection(tcp::socket socket, Tls& tls, HttpLimits limits);

}  // namespace nappe::server
