#pragma once
// One connection from its first byte to its last: HTTP requests one after the other, or a device's socket.

#include <map>
#include <set>
#include <string>

#include "server/access.hpp"
#include "server/api.hpp"
#include "server/http_wire.hpp"
#include "server/net.hpp"
#include "server/session.hpp"

namespace nappe::server {

struct ConnectionLimits {
  std::size_t connections_max = 1024;
  std::size_t connections_of_address_max = 640;  ///< So that one device gone mad leaves room for the others.
  std::size_t sessions_max = 512;
  HttpLimits http;
  WebSocketLimits socket;
  SessionLimits session;
};

/// What every connection shares. Lives longer than the io_context.
struct House {
  Api& api;
  Access& access;
  SessionParts parts;
  ConnectionLimits limits;
  Tls* tls = nullptr;         ///< Null: not encrypted.
  bool loopback_only = true;  ///< Then Host must name this machine.
  std::set<Closable*> open = {};
  std::map<std::string, std::size_t> from = {};  ///< Connections by address.
  std::size_t sessions = 0;
  bool closing = false;
};

/// Serves the connection until it ends.
Task<> serve(tcp::socket socket, House& house);

}  // namespace nappe::server
