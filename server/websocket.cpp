#include "server/websocket.hpp"

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http/empty_body.hpp>
#include <boost/beast/http/message.hpp>
#include <boost/beast/websocket/error.hpp>
#include <boost/beast/websocket/stream.hpp>

namespace nappe::server {

namespace beast = boost::beast;
namespace http = beast::http;
namespace websocket = beast::websocket;

namespace {

constexpr auto no_throw = asio::as_tuple(asio::use_awaitable);

/// A slow device must fill its bounded outbox, which we see, and not megabytes of kernel memory, which we do not.
constexpr int kernel_send_bytes = 128 << 10;

}  // namespace

struct WebSocket::Impl {
  Impl(tcp::socket socket, HttpRequest plain) : stream(std::move(socket)), request(std::move(plain)) {}
  websocket::stream<beast::tcp_stream, false> stream;  // false: without permessage-deflate
  HttpRequest request;
  beast::flat_buffer buffer;
};

WebSocket::WebSocket(tcp::socket socket, HttpRequest request, WebSocketLimits limits)
    : impl_(std::make_unique<Impl>(std::move(socket), std::move(request))) {
  websocket::stream_base::timeout patience{};
  patience.handshake_timeout = limits.handshake;
  patience.idle_timeout = limits.idle;
  patience.keep_alive_pings = true;
  impl_->stream.set_option(patience);
  impl_->stream.set_option(websocket::stream_base::decorator(
      [](websocket::response_type& response) { response.set(http::field::server, "napped"); }));
  impl_->stream.read_message_max(limits.frame_bytes_max);
  impl_->stream.text(true);
  impl_->stream.auto_fragment(false);
  ErrorCode ignored;
  auto& socket_below = beast::get_lowest_layer(impl_->stream).socket();
  socket_below.set_option(tcp::no_delay(true), ignored);
  socket_below.set_option(tcp::socket::send_buffer_size(kernel_send_bytes), ignored);
}

WebSocket::~WebSocket() = default;

Task<bool> WebSocket::accept() {
  http::request<http::empty_body> request(http::verb::get, impl_->request.target, 11);
  for (const auto& [name, value] : impl_->request.headers) request.set(name, value);
  const auto [error] = co_await impl_->stream.async_accept(request, no_throw);
  co_return !error;
}

Task<Result<std::string>> WebSocket::read() {
  const auto [error, bytes] = co_await impl_->stream.async_read(impl_->buffer, no_throw);
  if (error) {
    Error failure{Errc::invalid, error.message()};
    if (error == websocket::error::closed || error == asio::error::operation_aborted) failure.code = Errc::unavailable;
    co_return failure;
  }
  if (!impl_->stream.got_text()) {
    websocket::close_reason reason(websocket::close_code::unknown_data);
    co_await impl_->stream.async_close(reason, no_throw);
    Error failure{Errc::invalid, "a binary frame"};
    co_return failure;
  }
  const auto data = impl_->buffer.cdata();
  std::string text(static_cast<const char*>(data.data()), data.size());
  impl_->buffer.consume(impl_->buffer.size());
  co_return text;
}

Task<bool> WebSocket::write(Frame frame) {
  const auto bytes_of_frame = asio::buffer(*frame);
  const auto [error, bytes] = co_await impl_->stream.async_write(bytes_of_frame, no_throw);
  co_return !error;
}

Task<> WebSocket::close(CloseCode code, std::string reason) {
  websocket::close_reason why;
  why.code = static_cast<std::uint16_t>(code);
  why.reason = reason;
  const auto [error] = co_await impl_->stream.async_close(why, no_throw);
  static_cast<void>(error);
}

asio::any_io_executor WebSocket::executor() { return impl_->stream.get_executor(); }

void WebSocket::cut() { beast::get_lowest_layer(impl_->stream).close(); }

}  // namespace nappe::server
