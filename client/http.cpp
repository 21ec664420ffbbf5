#include "client/http.hpp"

#include <boost/asio/connect.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http.hpp>
#include <nlohmann/json.hpp>

namespace nappe::client {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
using tcp = asio::ip::tcp;

// The chain resolve, connect, write, read: each step begins the next, the first error ends it.
struct Exchange1 {
  explicit Exchange1(asio::io_context& io) : resolver(io), stream(io) {}
  tcp::resolver resolver;
  beast::tcp_stream stream;
  beast::flat_buffer buffer;
  http::request<http::string_body> request;
  http::response<http::string_body> response;
  beast::error_code error = asio::error::timed_out;

  void start(const Address& address) {
    resolver.async_resolve(address.host, address.port, [this](beast::error_code failed, auto found) {
      if (failed) return stop(failed);
      stream.async_connect(found, [this](beast::error_code refused, const tcp::endpoint&) {
        if (refused) return stop(refused);
        http::async_write(stream, request, [this](beast::error_code broken, std::size_t) {
          if (broken) return stop(broken);
          http::async_read(stream, buffer, response, [this](beast::error_code last, std::size_t) { stop(last); });
        });
      });
    });
  }
  void stop(beast::error_code with) { error = with; }
};

}  // namespace

Result<HttpAnswer> http_ask(const Address& address, const std::string& method, const std::string& target,
                            const std::string& body, const std::vector<std::pair<std::string, std::string>>& headers,
                            std::chrono::milliseconds limit) {
  asio::io_context io;
  Exchange1 exchange(io);
  exchange.request.method_string(method);
  exchange.request.target(target);
  exchange.request.set(http::field::host, address_text(address));
  exchange.request.set(http::field::accept, "application/json, application/problem+json");
  if (!body.empty()) exchange.request.set(http::field::content_type, "application/json");
  for (const auto& [name, value] : headers) exchange.request.set(name, value);
  exchange.request.body() = body;
  exchange.request.prepare_payload();
  exchange.stream.expires_after(limit);
  exchange.start(address);
  io.run_for(limit + std::chrono::seconds(1));
  exchange.stream.close();
  if (exchange.error) {
    return Error{Errc::unavailable, "no answer from the server at " + address_text(address) + ": " +
                                        exchange.error.message() + "; is napped running?"};
  }
  return HttpAnswer{static_cast<int>(exchange.response.result_int()), exchange.response.body()};
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
