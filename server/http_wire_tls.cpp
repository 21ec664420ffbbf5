#include "server/http_wire_on.hpp"
#include "server/tls.hpp"

namespace nappe::server {

std::unique_ptr<HttpConnection> tls_connection(tcp::socket socket, Tls& tls, HttpLimits limits) {
  return std::make_unique<HttpConnectionOn<TlsStream>>(TlsStream(std::move(socket), tls.context()), limits);
}

}  // namespace nappe::server
