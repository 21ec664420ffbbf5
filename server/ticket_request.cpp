#include "server/ticket_request.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "common/wire/codec.hpp"
#include "common/wire/parse.hpp"

namespace nappe::server {

namespace {

using nlohmann::json;

constexpr std::size_t key_max = 128;
constexpr const char* nobody = "http";

std::string_view media_type_of(std::string_view header) {
  std::string_view type = header.substr(0, header.find(';'));
  while (type.ends_with(' ')) type.remove_suffix(1);
  return type;
}

Error invalid(std::string detail, std::string where) { return {Errc::invalid, std::move(detail), std::move(where)}; }

std::optional<Error> read_json(const std::string& body, TicketRequest& out) {
  const auto parsed = wire::parse_json(body);
  if (!parsed) return parsed.error();
  if (!parsed->is_object()) return invalid("the body must be a JSON object with \"line\" or \"order\"", "");
  for (const auto& [name, value] : parsed->items()) {
    if (name == "line" || name == "by") {
      if (!value.is_string()) return invalid("\"" + name + "\" must be a text", "/" + name);
      (name == "line" ? out.line : out.by) = value.get<std::string>();
    } else if (name == "at_ms") {
      if (!value.is_number_integer()) return invalid("\"at_ms\" must be a whole number of milliseconds", "/at_ms");
      out.at = from_ms(value.get<std::int64_t>());
    } else if (name == "sure") {
      if (!value.is_boolean()) return invalid("\"sure\" must be true or false", "/sure");
      out.sure = value.get<bool>();
    } else if (name == "order") {
      auto order = wire::read_order(value.dump());
      if (!order) return invalid(order.error().detail, "/order" + order.error().where);
      out.order = std::move(order).value();
    } else {
      return invalid("\"" + name + "\" is no member of a ticket; there are line, order, by, at_ms, sure", "/" + name);
    }
  }
  if (out.line.empty() == !out.order.has_value()) {
    return invalid("a ticket has either a \"line\" or an \"order\"", "");
  }
  return std::nullopt;
}

}  // namespace

std::optional<TicketRefusal> read_ticket_request(const HttpRequest& request, const Target& target, TicketRequest& out) {
  const std::string_view type = media_type_of(request.header("content-type"));
  if (const auto by = target.query.find("by"); by != target.query.end()) out.by = by->second;
  if (const auto sure = target.query.find("sure"); sure != target.query.end()) out.sure = sure->second == "true";
  if (type == "application/json") {
    if (auto error = read_json(request.body, out)) return TicketRefusal{400, std::move(*error)};
  } else if (type == "text/plain") {
    out.line = request.body;
    while (out.line.ends_with('\n') || out.line.ends_with('\r')) out.line.pop_back();
    if (out.line.empty()) return TicketRefusal{400, invalid("the ticket is empty", "")};
  } else {
    return TicketRefusal{415, invalid("send a ticket as text/plain (a line) or application/json", "")};
  }
  if (out.by.empty()) out.by = nobody;
  return std::nullopt;
}

Result<std::string> read_idempotency_key(const HttpRequest& request) {
  std::string_view key = request.header("idempotency-key");
  if (key.empty()) {
    return Error{
        Errc::invalid,
        "the header Idempotency-Key is missing: give every ticket its own key, and the same key when it is sent "
        "again"};
  }
  if (key.size() >= 2 && key.front() == '"' && key.back() == '"') key = key.substr(1, key.size() - 2);
  const bool printable = std::all_of(key.begin(), key.end(), [](char c) { return c > 0x20 && c < 0x7f && c != '"'; });
  if (key.empty() || key.size() > key_max || !printable) {
    return Error{Errc::invalid, "the Idempotency-Key must be 1 to 128 printable characters without blanks"};
  }
  return std::string(key);
}

}  // namespace nappe::server
