#include "server/listener.hpp"

#include <fmt/format.h>

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <charconv>

#include "server/log.hpp"

namespace nappe::server {

namespace {

constexpr auto no_throw = asio::as_tuple(asio::use_awaitable);

}  // namespace

Result<ListenAddress> read_listen_address(const std::string& text) {
  const Error wrong{Errc::invalid, "--listen " + text + ": give an address and a port, like 127.0.0.1:7450 or :0"};
  const auto colon = text.rfind(':');
  if (colon == std::string::npos) return wrong;
  ListenAddress address;
  std::string host = text.substr(0, colon);
  if (host.starts_with('[') && host.ends_with(']')) host = host.substr(1, host.size() - 2);
  if (!host.empty()) address.host = host == "localhost" ? "127.0.0.1" : host;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data() + colon + 1, end, address.port);
  if (error != std::errc() || stop != end) return wrong;
  ErrorCode unreadable;
  asio::ip::make_address(address.host, unreadable);
  if (unreadable) return wrong;
  return address;
}

bool is_loopback(const ListenAddress& address) { return asio::ip::make_address(address.host).is_loopback(); }

Listener::Listener(asio::io_context& context, House& house) : acceptor_(context), house_(house) {}

Status Listener::open(const ListenAddress& address) {
  ErrorCode error;
  const tcp::endpoint endpoint(asio::ip::make_address(address.host), address.port);
  acceptor_.open(endpoint.protocol(), error);
  if (!error) acceptor_.set_option(tcp::acceptor::reuse_address(true), error);
  if (!error) acceptor_.bind(endpoint, error);
  if (!error) acceptor_.listen(asio::socket_base::max_listen_connections, error);
  if (!error) return Done{};
  return Error{Errc::unavailable, fmt::format("cannot listen on {} port {}: {}; name another with --listen",
                                              address.host, address.port, error.message())};
}

std::uint16_t Listener::port() const { return acceptor_.local_endpoint().port(); }

Task<> Listener::run() {
  asio::steady_timer breath(acceptor_.get_executor());
  while (acceptor_.is_open()) {
    auto [error, socket] = co_await acceptor_.async_accept(no_throw);
    if (error == asio::error::operation_aborted) break;
    if (error) {
      // Out of file descriptors, most likely: try again when some connection has ended.
      log_warn(fmt::format("accept failed reason=\"{}\"", error.message()));
      breath.expires_after(std::chrono::milliseconds(100));
      co_await breath.async_wait(no_throw);
      continue;
    }
    if (house_.open.size() >= house_.limits.connections_max) continue;  // closes it
    spawn(acceptor_.get_executor(), "connection", serve(std::move(socket), house_));
  }
}

void Listener::stop() {
  ErrorCode ignored;
  acceptor_.close(ignored);
}

}  // namespace nappe::server
