#include "server/connection.hpp"

#include <fmt/format.h>

#include "server/log.hpp"
#include "server/metrics.hpp"
#include "server/problem.hpp"

namespace nappe::server {

namespace {

/// In the house's list of what must be closed, as long as it lives.
class Listed {
 public:
  Listed(House& house, Closable& closable) : house_(house), closable_(closable) { house_.open.insert(&closable_); }
  ~Listed() { house_.open.erase(&closable_); }
  Listed(const Listed&) = delete;
  Listed& operator=(const Listed&) = delete;

 private:
  House& house_;
  Closable& closable_;
};

/// Counted among its address's connections, as long as it lives.
class Counted {
 public:
  Counted(House& house, const std::string& from) : house_(house), at_(house.from.try_emplace(from, 0).first) {
    at_->second += 1;
  }
  ~Counted() {
    at_->second -= 1;
    if (at_->second == 0) house_.from.erase(at_);
  }
  Counted(const Counted&) = delete;
  Counted& operator=(const Counted&) = delete;
  [[nodiscard]] std::size_t count() const { return at_->second; }

 private:
  House& house_;
  std::map<std::string, std::size_t>::iterator at_;
};

/// Among the devices that are here, as long as it lives.
class Entered {
 public:
  Entered(Access& access, Guest& guest) : access_(access), guest_(guest) { access_.enter(guest_); }
  ~Entered() { access_.leave(guest_); }
  Entered(const Entered&) = delete;
  Entered& operator=(const Entered&) = delete;

 private:
  Access& access_;
  Guest& guest_;
};

/// An HTTP connection can be closed at once while it waits for a request; in the middle of one it ends after it.
class ClosableHttp final : public Closable {
 public:
  explicit ClosableHttp(HttpConnection& connection) : connection_(connection) {}
  void close_going_away() override {
    closing = true;
    if (idle) connection_.cut();
  }
  void cut() override { connection_.cut(); }
  bool idle = true;
  bool closing = false;

 private:
  HttpConnection& connection_;
};

std::optional<HttpResponse> turned_away(const HttpRequest& request, const House& house) {
  if (house.loopback_only && !loopback_host(request)) {
    return problem_response(Error{Errc::forbidden, "this server answers to localhost and 127.0.0.1 only"});
  }
  if (!same_origin(request)) {
    return problem_response(Error{Errc::forbidden, "a page from elsewhere may not talk to this server"});
  }
  return std::nullopt;
}

Task<> serve_device(std::unique_ptr<WebSocket> upgraded, DevicePtr device, [[maybe_unused]] Access::Seat seat,
                    House& house) {
  const bool accepted = co_await upgraded->accept();
  if (!accepted || house.closing || device->revoked) co_return;
  house.sessions += 1;
  house.parts.metrics.session_opened();
  {
    auto session = std::make_shared<Session>(std::move(upgraded), std::move(device), house.parts, house.limits.session);
    const Listed listed(house, *session);
    const Entered entered(house.access, *session);
    co_await session->run();
  }
  house.sessions -= 1;
  house.parts.metrics.session_closed();
}

struct Served {
  bool again = false;                  ///< Another request may follow.
  std::optional<HttpRequest> upgrade;  ///< The connection is to become a device's socket.
  DevicePtr device;                    ///< Whose.
  Access::Seat seat;
};

bool wants_socket(const HttpRequest& request) {
  return request.upgrade && request.method == "GET" && request.target.substr(0, request.target.find('?')) == "/live";
}

std::optional<HttpResponse> may_open_socket(const HttpRequest& request, House& house, Served& served) {
  if (house.sessions >= house.limits.sessions_max) {
    return problem_response(Error{Errc::unavailable, "too many devices are connected"});
  }
  const auto known = house.access.who(request, Access::Clock::now());
  if (!known.device) return refused_response(known.refused);
  auto seat = house.access.take_seat(known.device);
  if (!seat) return problem_response(seat.error());
  served.device = known.device;
  served.seat = std::move(seat).value();
  return std::nullopt;
}

Task<Served> serve_one(HttpConnection& connection, std::string from, ClosableHttp& closable, House& house) {
  Served served;
  closable.idle = true;
  auto incoming = co_await connection.read();
  closable.idle = false;
  if (!incoming.request && !incoming.problem) co_return served;
  HttpResponse response;
  bool keep = false;
  bool head = false;
  if (incoming.problem) {
    response = std::move(*incoming.problem);
  } else {
    HttpRequest& request = *incoming.request;
    request.from = from;
    request.tls = house.tls != nullptr;
    keep = request.keep_alive && !closable.closing;
    head = request.method == "HEAD";
    auto refused = turned_away(request, house);
    if (!refused && wants_socket(request)) refused = may_open_socket(request, house, served);
    if (refused) {
      response = std::move(*refused);
    } else if (wants_socket(request)) {
      served.upgrade = std::move(request);
      co_return served;
    } else {
      HttpRequest handed = std::move(request);
      response = co_await house.api.handle(std::move(handed));
    }
  }
  house.parts.metrics.http_answered(response.status);
  keep = keep && !closable.closing && !response.close;
  const bool sent = co_await connection.write(std::move(response), keep, head);
  if (sent && !keep) co_await connection.finish();
  served.again = sent && keep;
  co_return served;
}

}  // namespace

Task<> serve(tcp::socket socket, House& house) {
  std::optional<HttpRequest> upgrade;
  DevicePtr device;
  Access::Seat seat;
  ErrorCode gone;
  const auto peer = socket.remote_endpoint(gone);
  const std::string from = gone ? std::string() : peer.address().to_string();
  const Counted counted(house, from);
  if (counted.count() > house.limits.connections_of_address_max) {
    log_warn(fmt::format("connection refused from={} connections={}", from, counted.count() - 1));
    co_return;  // closes it
  }
  auto connection = house.tls != nullptr ? tls_connection(std::move(socket), *house.tls, house.limits.http)
                                         : plain_connection(std::move(socket), house.limits.http);
  {
    ClosableHttp closable(*connection);
    const Listed listed(house, closable);
    bool again = co_await connection->greet();
    while (again) {
      Served served = co_await serve_one(*connection, from, closable, house);
      again = served.again;
      upgrade = std::move(served.upgrade);
      device = std::move(served.device);
      seat = std::move(served.seat);
    }
    if (house.closing) upgrade.reset();
  }
  if (!upgrade) co_return;
  HttpRequest request = std::move(*upgrade);
  auto upgraded = connection->become_socket(std::move(request), house.limits.socket);
  connection.reset();
  co_await serve_device(std::move(upgraded), std::move(device), std::move(seat), house);
}

}  // namespace nappe::server
