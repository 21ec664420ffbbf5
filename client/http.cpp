#include "client/http.hpp"

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ssl/stream.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/ssl/ssl_stream.hpp>
#include <nlohmann/json.hpp>

#include "client/tls.hpp"

namespace nappe::client {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
using tcp = asio::ip::tcp;
using Plain = beast::tcp_stream;
using Tls = beast::ssl_stream<beast::tcp_stream>;

// The chain resolve, connect, agree on encryption, write, read: each step begins the next, the first error ends it.
template <class Stream>
struct Exchange {
  Exchange(asio::io_context& io, Stream with) : resolver(io), stream(std::move(with)) {}
  tcp::resolver resolver;
  Stream stream;
  beast::flat_buffer buffer;
  http::request<http::string_body> request;
  http::response<http::string_body> response;
  beast::error_code error = asio::error::timed_out;

  void start(const Address& address) {
    resolver.async_resolve(address.host, address.port, [this](beast::error_code failed, auto found) {
      if (failed) return stop(failed);
      beast::get_lowest_layer(stream).async_connect(found, [this](beast::error_code refused, const tcp::endpoint&) {
        if (refused) return stop(refused);
        greet();
      });
    });
  }

  void greet() {
    if constexpr (std::is_same_v<Stream, Tls>) {
      stream.async_handshake(asio::ssl::stream_base::client, [this](beast::error_code failed) {
        if (failed) return stop(failed);
        talk();
      });
    } else {
      talk();
    }
  }

  void talk() {
    http::async_write(stream, request, [this](beast::error_code broken, std::size_t) {
      if (broken) return stop(broken);
      http::async_read(stream, buffer, response, [this](beast::error_code last, std::size_t) { stop(last); });
    });
  }
  void stop(beast::error_code with) { error = with; }
};

struct Question {
  const Address& address;
  const std::string& method;
  const std::string& target;
  const std::string& body;
  const std::vector<std::pair<std::string, std::string>>& headers;
  std::chrono::milliseconds limit;
};

template <class Stream>
Result<HttpAnswer> ask(asio::io_context& io, Stream stream, const Question& question, const TlsCheck* check) {
  Exchange<Stream> exchange(io, std::move(stream));
  exchange.request.method_string(question.method);
  exchange.request.target(question.target);
  exchange.request.set(http::field::host, address_text(question.address));
  exchange.request.set(http::field::accept, "application/json, application/problem+json");
  if (!question.address.token.empty()) {
    exchange.request.set(http::field::authorization, "Bearer " + question.address.token);
  }
  if (!question.body.empty()) exchange.request.set(http::field::content_type, "application/json");
  for (const auto& [name, value] : question.headers) exchange.request.set(name, value);
  exchange.request.body() = question.body;
  exchange.request.prepare_payload();
  beast::get_lowest_layer(exchange.stream).expires_after(question.limit);
  exchange.start(question.address);
  io.run_for(question.limit + std::chrono::seconds(1));
  beast::get_lowest_layer(exchange.stream).close();
  if (exchange.error) {
    if (check != nullptr && !check->refused.empty()) return Error{Errc::forbidden, check->refused};
    return Error{Errc::unavailable, "no answer from the server at " + address_text(question.address) + ": " +
                                        exchange.error.message() + "; is napped running?"};
  }
  return HttpAnswer{static_cast<int>(exchange.response.result_int()), exchange.response.body()};
}

}  // namespace

Result<HttpAnswer> http_ask(const Address& address, const std::string& method, const std::string& target,
                            const std::string& body, const std::vector<std::pair<std::string, std::string>>& headers,
                            std::chrono::milliseconds limit) {
  asio::io_context io;
  const Question question{address, method, target, body, headers, limit};
  if (!address.tls) return ask(io, Plain(io), question, nullptr);
  const auto tls = tls_context(address);
  if (!tls) return tls.error();
  return ask(io, Tls(io, *tls->context), question, tls->check.get());
}

std::string problem_sentence(const HttpAnswer& answer) {
  const auto problem = nlohmann::json::parse(answer.body, nullptr, false);
  if (problem.is_object()) {
    for (const char* name : {"detail", "title"}) {
      const auto found = problem.find(name);
      if (found != problem.end() && found->is_string()) return found->get<std::string>();
    }
  }
  return "the server answered " + std::to_string(answer.status) + " without a reason";
}

}  // namespace nappe::client
