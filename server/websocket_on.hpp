#pragma once
// A WebSocket over a stream of Beast's, plain or encrypted. Included by websocket.cpp and websocket_tls.cpp only: each
// of them takes half a minute to compile.

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/http/empty_body.hpp>
#include <boost/beast/http/message.hpp>
#include <boost/beast/websocket/error.hpp>
#include <boost/beast/websocket/ssl.hpp>
#include <boost/beast/websocket/stream.hpp>

#include "server/streams.hpp"

namespace nappe::server {

namespace http = boost::beast::http;
namespace websocket = boost::beast::websocket;

namespace socket_detail {

constexpr auto no_throw = asio::as_tuple(asio::use_awaitable);

/// A slow device must fill its bounded outbox, which we see, and not megabytes of kernel memory, which we do not.
constexpr int kernel_send_bytes = 128 << 10;

}  // namespace socket_detail

/// Stream: PlainStream or TlsStream (server/streams.hpp).
template <class Stream>
class WebSocketOn final : public WebSocket {
 public:
  WebSocketOn(Stream stream, HttpRequest request, WebSocketLimits limits)
      : stream_(std::move(stream)), request_(std::move(request)) {
    websocket::stream_base::timeout patience{};
    patience.handshake_timeout = limits.handshake;
    patience.idle_timeout = limits.idle;
    patience.keep_alive_pings = true;
    stream_.set_option(patience);
    stream_.set_option(websocket::stream_base::decorator(
        [](websocket::response_type& response) { response.set(http::field::server, "napped"); }));
    stream_.read_message_max(limits.frame_bytes_max);
    stream_.text(true);
    stream_.auto_fragment(false);
    ErrorCode ignored;
    auto& socket_below = boost::beast::get_lowest_layer(stream_).socket();
    socket_below.set_option(tcp::no_delay(true), ignored);
    socket_below.set_option(tcp::socket::send_buffer_size(socket_detail::kernel_send_bytes), ignored);
  }

  Task<bool> accept() override {
    http::request<http::empty_body> request(http::verb::get, request_.target, 11);
    for (const auto& [name, value] : request_.headers) request.set(name, value);
    const auto [error] = co_await stream_.async_accept(request, socket_detail::no_throw);
    co_return !error;
  }

  Task<Result<std::string>> read() override {
    const auto [error, bytes] = co_await stream_.async_read(buffer_, socket_detail::no_throw);
    if (error) {
      Error failure{Errc::invalid, error.message()};
      if (error == websocket::error::closed || error == asio::error::operation_aborted)
        failure.code = Errc::unavailable;
      co_return failure;
    }
    if (!stream_.got_text()) {
      websocket::close_reason reason(websocket::close_code::unknown_data);
      co_await stream_.async_close(reason, socket_detail::no_throw);
      Error failure{Errc::invalid, "a binary frame"};
      co_return failure;
    }
    const auto data = buffer_.cdata();
    std::string text(static_cast<const char*>(data.data()), data.size());
    buffer_.consume(buffer_.size());
    co_return text;
  }

  Task<bool> write(Frame frame) override {
    const auto bytes_of_frame = asio::buffer(*frame);
    const auto [error, bytes] = co_await stream_.async_write(bytes_of_frame, socket_detail::no_throw);
    co_return !error;
  }

  Task<> close(CloseCode code, std::string reason) override {
    websocket::close_reason why;
    why.code = static_cast<std::uint16_t>(code);
    why.reason = reason;
    const auto [error] = co_await stream_.async_close(why, socket_detail::no_throw);
    static_cast<void>(error);
  }

  [[nodiscard]] asio::any_io_executor executor() override { return stream_.get_executor(); }

  void cut() override { boost::beast::get_lowest_layer(stream_).close(); }

 private:
  websocket::stream<Stream, false> stream_;  // false: without permessage-deflate
  HttpRequest request_;
  boost::beast::flat_buffer buffer_;
};

}  // namespace nappe::server
