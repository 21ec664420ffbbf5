#include "server/websocket_on.hpp"

namespace nappe::server {

std::unique_ptr<WebSocket> make_websocket(TlsStream stream, HttpRequest request, WebSocketLimits limits) {
  return std::make_unique<WebSocketOn<TlsStream>>(std::move(stream), std::move(request), limits);
}

}  // namespace nappe::server
