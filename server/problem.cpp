#include "server/problem.hpp"

#include <nlohmann/json.hpp>

namespace nappe::server {

namespace {

constexpr Errc all_codes[] = {Errc::invalid,   Errc::unknown,  Errc::conflict,   Errc::refused,
                              Errc::forbidden, Errc::too_many, Errc::unavailable};

}  // namespace

ProblemKind kind_of(Errc code) {
  switch (code) {
    case Errc::invalid:
      return {"invalid", 400};
    case Errc::unknown:
      return {"unknown", 404};
    case Errc::conflict:
      return {"conflict", 409};
    case Errc::refused:
      return {"refused", 409};
    case Errc::forbidden:
      return {"forbidden", 403};
    case Errc::too_many:
      return {"too_many", 429};
    case Errc::unavailable:
      return {"unavailable", 503};
  }
  return {"invalid", 400};
}

Errc code_named(std::string_view name) {
  for (const Errc code : all_codes) {
    if (kind_of(code).code == name) return code;
  }
  return Errc::invalid;
}

std::string_view status_phrase(int status) {
  switch (status) {
    case 101:
      return "Switching Protocols";
    case 200:
      return "OK";
    case 201:
      return "Created";
    case 204:
      return "No Content";
    case 304:
      return "Not Modified";
    case 400:
      return "Bad Request";
    case 401:
      return "Unauthorized";
    case 403:
      return "Forbidden";
    case 404:
      return "Not Found";
    case 405:
      return "Method Not Allowed";
    case 408:
      return "Request Timeout";
    case 409:
      return "Conflict";
    case 413:
      return "Content Too Large";
    case 415:
      return "Unsupported Media Type";
    case 422:
      return "Unprocessable Content";
    case 426:
      return "Upgrade Required";
    case 429:
      return "Too Many Requests";
    case 431:
      return "Request Header Fields Too Large";
    case 503:
      return "Service Unavailable";
    default:
      return "Internal Server Error";
  }
}

nlohmann::json problem_of(const Error& error) { return problem_of(error, kind_of(error.code).status); }

nlohmann::json problem_of(const Error& error, int status) {
  nlohmann::json problem = {{"type", "about:blank"},
                            {"title", status_phrase(status)},
                            {"status", status},
                            {"code", kind_of(error.code).code},
                            {"detail", error.detail}};
  if (!error.where.empty()) problem["where"] = error.where;
  return problem;
}

}  // namespace nappe::server
