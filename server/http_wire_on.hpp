#pragma once
// One HTTP connection over a stream of Beast's, plain or encrypted. Included by http_wire.cpp and http_wire_tls.cpp
// only: each of them takes 15 s to compile.

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <boost/asio/as_tuple.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http/empty_body.hpp>
#include <boost/beast/http/parser.hpp>
#include <boost/beast/http/read.hpp>
#include <boost/beast/http/string_body.hpp>
#include <boost/beast/http/write.hpp>

#include "server/http_wire.hpp"
#include "server/streams.hpp"

namespace nappe::server {

namespace http = boost::beast::http;

namespace wire_detail {

constexpr auto no_throw = asio::as_tuple(asio::use_awaitable);

constexpr std::size_t drain_bytes_max = 4U << 20U;

constexpr std::chrono::seconds handshake_patience{10};

using Parser = http::request_parser<http::string_body>;

inline std::string lower(std::string_view text) {
  std::string low(text);
  std::transform(low.begin(), low.end(), low.begin(),
                 [](unsigned char c) { return static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c); });
  return low;
}

inline HttpRequest plain(Parser& parser) {
  auto message = parser.release();
  HttpRequest request;
  request.method = std::string(message.method_string());
  request.target = std::string(message.target());
  for (const auto& field : message) {
    request.headers.emplace(lower(std::string(field.name_string())), std::string(field.value()));
  }
  request.keep_alive = message.keep_alive();
  request.upgrade = lower(request.header("upgrade")).find("websocket") != std::string::npos;
  request.body = std::move(message.body());
  return request;
}

/// What to tell a peer whose request cannot be read; nothing when it just went away.
inline std::optional<HttpResponse> problem_of_read(const ErrorCode& error, const HttpLimits& limits) {
  if (error == http::error::body_limit) {
    return problem_response(
        Error{Errc::too_many, fmt::format("the body is larger than {} bytes", limits.body_bytes_max)}, 413);
  }
  if (error == http::error::header_limit) {
    return problem_response(
        Error{Errc::too_many, fmt::format("the headers are larger than {} bytes", limits.header_bytes_max)}, 431);
  }
  const bool malformed = error.category() == http::make_error_code(http::error::bad_method).category() &&
                         error != http::error::end_of_stream && error != http::error::partial_message;
  if (malformed) {
    return problem_response(Error{Errc::invalid, "this is not HTTP/1.1: " + error.message()});
  }
  return std::nullopt;
}

}  // namespace wire_detail

/// Stream: PlainStream or TlsStream (server/streams.hpp).
template <class Stream>
class HttpConnectionOn final : public HttpConnection {
 public:
  HttpConnectionOn(Stream stream, HttpLimits limits) : stream_(std::move(stream)), limits_(limits) {}

  Task<bool> greet() override {
    if constexpr (is_tls<Stream>) {
      lowest().expires_after(wire_detail::handshake_patience);
      const auto [error] = co_await stream_.async_handshake(asio::ssl::stream_base::server, wire_detail::no_throw);
      co_return !error;
    }
    co_return true;
  }

  Task<Incoming> read() override {
    Incoming incoming;
    wire_detail::Parser parser;
    parser.header_limit(limits_.header_bytes_max);
    parser.body_limit(limits_.body_bytes_max);
    lowest().expires_after(limits_.patience);
    auto [error, bytes] = co_await http::async_read_header(stream_, buffer_, parser, wire_detail::no_throw);
    if (!error && wire_detail::lower(std::string(parser.get()[http::field::expect])) == "100-continue") {
      http::response<http::empty_body> go_on(http::status::continue_, 11);
      const auto [failed, sent] = co_await http::async_write(stream_, go_on, wire_detail::no_throw);
      error = failed;
    }
    if (!error && !parser.is_done()) {
      const auto [failed, more] = co_await http::async_read(stream_, buffer_, parser, wire_detail::no_throw);
      error = failed;
    }
    if (error) {
      incoming.problem = wire_detail::problem_of_read(error, limits_);
    } else {
      incoming.request = wire_detail::plain(parser);
    }
    co_return incoming;
  }

  Task<bool> write(HttpResponse response, bool keep_alive, bool head) override {
    http::response<http::string_body> message;
    message.version(11);
    message.result(static_cast<unsigned>(response.status));
    message.set(http::field::server, "napped");
    for (const auto& [name, value] : response.headers) message.set(name, value);
    message.keep_alive(keep_alive);
    const bool no_content = response.status == 304 || response.status == 204;
    if (!no_content) {
      message.set(http::field::content_type, response.type);
      message.content_length(response.body.size());
    }
    if (!no_content && !head) message.body() = std::move(response.body);
    lowest().expires_after(limits_.patience);
    // A serializer, because with HEAD the length is that of the body which is not sent.
    http::response_serializer<http::string_body> serializer(message);
    if (head) {
      const auto [error, bytes] = co_await http::async_write_header(stream_, serializer, wire_detail::no_throw);
      co_return !error;
    }
    const auto [error, bytes] = co_await http::async_write(stream_, serializer, wire_detail::no_throw);
    co_return !error;
  }

  Task<> finish() override {
    if constexpr (is_tls<Stream>) {
      lowest().expires_after(std::chrono::seconds(1));
      const auto [ended] = co_await stream_.async_shutdown(wire_detail::no_throw);
      static_cast<void>(ended);
    }
    // Closing on unread bytes resets the connection, and what was answered may be lost on the way.
    ErrorCode error;
    lowest().socket().shutdown(tcp::socket::shutdown_send, error);
    lowest().expires_after(std::chrono::seconds(1));
    std::array<char, 4096> ignored{};
    for (std::size_t drained = 0; !error && drained < wire_detail::drain_bytes_max;) {
      const auto buffer = asio::buffer(ignored);
      const auto [failed, bytes] = co_await lowest().async_read_some(buffer, wire_detail::no_throw);
      error = failed;
      drained += bytes;
    }
  }

  void cut() override { lowest().close(); }

  std::unique_ptr<WebSocket> become_socket(HttpRequest request, WebSocketLimits limits) override {
    lowest().expires_never();
    return make_websocket(std::move(stream_), std::move(request), limits);
  }

 private:
  auto& lowest() { return boost::beast::get_lowest_layer(stream_); }

  Stream stream_;
  boost::beast::flat_buffer buffer_;
  HttpLimits limits_;
};

}  // namespace nappe::server
