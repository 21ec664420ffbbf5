#pragma once
// The two streams a connection can run on. Only the files that instantiate Beast include this.

#include <boost/asio/ssl/stream.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/ssl/ssl_stream.hpp>
#include <memory>
#include <type_traits>

#include "server/websocket.hpp"

namespace nappe::server {

using PlainStream = boost::beast::tcp_stream;
using TlsStream = boost::beast::ssl_stream<boost::beast::tcp_stream>;

template <class Stream>
constexpr bool is_tls = std::is_same_v<Stream, TlsStream>;

/// A socket on a stream whose upgrade request was read from it.
std::unique_ptr<WebSocket> make_websocket(PlainStream stream, HttpRequest request, WebSocketLimits limits);
std::unique_ptr<WebSocket> make_websocket(TlsStream stream, HttpRequest request, WebSocketLimits limits);

}  // namespace nappe::server
