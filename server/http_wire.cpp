#include "server/http_wire.hpp"

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

namespace nappe::server {

namespace beast = boost::beast;
namespace http = beast::http;

namespace {

constexpr auto no_throw = asio::as_tuple(asio::use_awaitable);

constexpr std::size_t drain_bytes_max = 4U << 20U;

using Parser = http::request_parser<http::string_body>;

std::string lower(std::string_view text) {
  std::string low(text);
  std::transform(low.begin(), low.end(), low.begin(),
                 [](unsigned char c) { return static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c); });
  return low;
}

HttpRequest plain(Parser& parser) {
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
std::optional<HttpResponse> problem_of_read(const ErrorCode& error, const HttpLimits& limits) {
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

}  // namespace

struct HttpConnection::Impl {
  Impl(tcp::socket socket, HttpLimits bounds) : stream(std::move(socket)), limits(bounds) {}
  beast::tcp_stream stream;
  beast::flat_buffer buffer;
  HttpLimits limits;
};

HttpConnection::HttpConnection(tcp::socket socket, HttpLimits limits)
    : impl_(std::make_unique<Impl>(std::move(socket), limits)) {}
HttpConnection::~HttpConnection() = default;

Task<HttpConnection::Incoming> HttpConnection::read() {
  Incoming incoming;
  Parser parser;
  parser.header_limit(impl_->limits.header_bytes_max);
  parser.body_limit(impl_->limits.body_bytes_max);
  impl_->stream.expires_after(impl_->limits.patience);
  auto [error, bytes] = co_await http::async_read_header(impl_->stream, impl_->buffer, parser, no_throw);
  if (!error && lower(std::string(parser.get()[http::field::expect])) == "100-continue") {
    http::response<http::empty_body> go_on(http::status::continue_, 11);
    const auto [failed, sent] = co_await http::async_write(impl_->stream, go_on, no_throw);
    error = failed;
  }
  if (!error && !parser.is_done()) {
    const auto [failed, more] = co_await http::async_read(impl_->stream, impl_->buffer, parser, no_throw);
    error = failed;
  }
  if (error) {
    incoming.problem = problem_of_read(error, impl_->limits);
  } else {
    incoming.request = plain(parser);
  }
  co_return incoming;
}

Task<bool> HttpConnection::write(HttpResponse response, bool keep_alive, bool head) {
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
  impl_->stream.expires_after(impl_->limits.patience);
  // A serializer, because with HEAD the length is that of the body which is not sent.
  http::response_serializer<http::string_body> serializer(message);
  if (head) {
    const auto [error, bytes] = co_await http::async_write_header(impl_->stream, serializer, no_throw);
    co_return !error;
  }
  const auto [error, bytes] = co_await http::async_write(impl_->stream, serializer, no_throw);
  co_return !error;
}

Task<> HttpConnection::finish() {
  ErrorCode error;
  impl_->stream.socket().shutdown(tcp::socket::shutdown_send, error);
  impl_->stream.expires_after(std::chrono::seconds(1));
  std::array<char, 4096> ignored{};
  for (std::size_t drained = 0; !error && drained < drain_bytes_max;) {
    const auto buffer = asio::buffer(ignored);
    const auto [failed, bytes] = co_await impl_->stream.async_read_some(buffer, no_throw);
    error = failed;
    drained += bytes;
  }
}

void HttpConnection::cut() { impl_->stream.close(); }

tcp::socket HttpConnection::release() {
  impl_->stream.expires_never();
  return impl_->stream.release_socket();
}

}  // namespace nappe::server
