#pragma once
// Requests and responses as plain data. Only http_wire.cpp knows how they travel.

#include <map>
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "common/result.hpp"

namespace nappe::server {

struct HttpRequest {
  std::string method;                          ///< "GET"
  std::string target;                          ///< As sent: path and query, percent-encoded.
  std::map<std::string, std::string> headers;  ///< Names in lower case; of a repeated header the first.
  std::string body;
  bool keep_alive = true;
  bool upgrade = false;  ///< It asks to become a WebSocket.
  std::string from;      ///< The peer's address.
  bool tls = false;      ///< It came encrypted.

  /// The header's value, or "".
  [[nodiscard]] std::string_view header(const std::string& lower_case_name) const;
};

struct HttpResponse {
  int status = 200;
  std::string type = "application/json";
  std::string body;
  std::vector<std::pair<std::string, std::string>> headers;
  bool close = false;  ///< End the connection after it.
};

/// A target taken apart and decoded.
struct Target {
  std::string path;                          ///< Percent-decoded.
  std::map<std::string, std::string> query;  ///< Decoded; of a repeated name the first.
};
/// `invalid` for a target that is no absolute path, holds a bad escape or a control character.
Result<Target> read_target(std::string_view target);

/// A JSON response that nobody may keep.
HttpResponse json_response(const nlohmann::json& body, int status = 200);

/// An application/problem+json response.
HttpResponse problem_response(const Error& error);
HttpResponse problem_response(const Error& error, int status);

/// Whether a page of this origin may talk to us: no Origin header (no browser), or the very scheme, host and port that
/// this request came to (RFC 6455 10.2).
bool same_origin(const HttpRequest& request);

/// Whether Host names this machine itself: the guard of a loopback server against names that others point at it.
bool loopback_host(const HttpRequest& request);

}  // namespace nappe::server
