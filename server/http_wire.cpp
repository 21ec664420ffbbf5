#include "server/http_wire.hpp"

#include "server/http_wire_on.hpp"

namespace nappe::server {

std::unique_ptr<HttpConnection> plain_connection(tcp::socket socket, HttpLimits limits) {
  return std::make_unique<HttpConnectionOn<PlainStream>>(PlainStream(std::move(socket)), limits);
}

}  // namespace nappe::server
