#include "server/http.hpp"

#include <nlohmann/json.hpp>

#include "common/wire/parse.hpp"
#include "server/problem.hpp"

namespace nappe::server {

namespace {

int hex_value(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

Result<std::string> decode(std::string_view text, bool plus_is_space) {
  std::string plain;
  plain.reserve(text.size());
  for (std::size_t at = 0; at < text.size(); ++at) {
    char c = text[at];
    if (c == '%') {
      const int high = at + 2 < text.size() ? hex_value(text[at + 1]) : -1;
      const int low = at + 2 < text.size() ? hex_value(text[at + 2]) : -1;
      if (high < 0 || low < 0) return Error{Errc::invalid, "the address has a % that is not followed by two digits"};
      c = static_cast<char>(high * 16 + low);
      at += 2;
    } else if (c == '+' && plus_is_space) {
      c = ' ';
    }
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) {
      return Error{Errc::invalid, "the address has a control character in it"};
    }
    plain += c;
  }
  return plain;
}

std::string_view host_of(std::string_view host_and_port) {
  if (host_and_port.starts_with('[')) return host_and_port.substr(0, host_and_port.find(']') + 1);
  return host_and_port.substr(0, host_and_port.find(':'));
}

}  // namespace

std::string_view HttpRequest::header(const std::string& lower_case_name) const {
  const auto found = headers.find(lower_case_name);
  return found == headers.end() ? std::string_view() : std::string_view(found->second);
}

Result<Target> read_target(std::string_view target) {
  if (!target.starts_with('/')) return Error{Errc::invalid, "the address must begin with /"};
  const auto mark = target.find('?');
  Target read;
  auto path = decode(target.substr(0, mark), false);
  if (!path) return path.error();
  read.path = std::move(path).value();
  std::string_view rest = mark == std::string_view::npos ? std::string_view() : target.substr(mark + 1);
  while (!rest.empty()) {
    const std::string_view pair = rest.substr(0, rest.find('&'));
    rest.remove_prefix(std::min(pair.size() + 1, rest.size()));
    const auto equals = pair.find('=');
    const auto name = decode(pair.substr(0, equals), true);
    const auto value = decode(equals == std::string_view::npos ? std::string_view() : pair.substr(equals + 1), true);
    if (!name) return name.error();
    if (!value) return value.error();
    read.query.emplace(*name, *value);
  }
  return read;
}

HttpResponse json_response(const nlohmann::json& body, int status) {
  HttpResponse response;
  response.status = status;
  response.body = wire::write_json(body);
  response.headers.emplace_back("Cache-Control", "no-store");
  return response;
}

HttpResponse problem_response(const Error& error) { return problem_response(error, kind_of(error.code).status); }

HttpResponse problem_response(const Error& error, int status) {
  HttpResponse response;
  response.status = status;
  response.type = "application/problem+json";
  response.body = problem_of(error, status).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
  if (status == 429 || status == 503) response.headers.emplace_back("Retry-After", "1");
  return response;
}

bool same_origin(const HttpRequest& request) {
  const std::string_view origin = request.header("origin");
  if (origin.empty()) return true;
  const std::string_view scheme = request.tls ? "https://" : "http://";
  return origin.starts_with(scheme) && origin.substr(scheme.size()) == request.header("host");
}

bool loopback_host(const HttpRequest& request) {
  const std::string_view host = host_of(request.header("host"));
  return host.empty() || host == "localhost" || host == "127.0.0.1" || host == "[::1]";
}

}  // namespace nappe::server
