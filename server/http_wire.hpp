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

class HttpConnection {
 public:
  HttpConnection(tcp::socket socket, HttpLimits limits);
  ~HttpConnection();
  HttpConnection(const HttpConnection&) = delete;
  HttpConnection& operator=(const HttpConnection&) = delete;

  struct Incoming {
    std::optional<HttpRequest> request;   ///< Nothing: the connection has ended, or `problem` is why it must.
    std::optional<HttpResponse> problem;  ///< To be written before it is closed.
  };
  Task<Incoming> read();
  /// False when it did not get out. `head`: the request was HEAD, send no body.
  Task<bool> write(HttpResponse response, bool keep_alive, bool head);
  /// Ends the sending side and lets the peer finish: closing while it still sends would destroy what we sent.
  Task<> finish();
  void cut();
  /// Hands the socket over to become a WebSocket.
  tcp::socket release();

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace nappe::server
