#pragma once
// A ticket as it is posted: one line of text as the floor types it, or JSON.

#include <functional>
#include <optional>
#include <string>

#include "common/line/order.hpp"
#include "common/time.hpp"
#include "server/http.hpp"

namespace nappe::server {

struct TicketRequest {
  std::string line;  ///< As typed; empty when `order` is there.
  std::optional<line::Order> order;
  std::string by;
  std::optional<Instant> at;  ///< When it was sent; absent: now.
  bool sure = false;          ///< The same order once more is meant.
};

/// Reads the body by its Content-Type (text/plain, application/json). An HTTP status goes with the error, because a
/// wrong media type (415) and a wrong body (400) differ.
struct TicketRefusal {
  int status = 400;
  Error error;
};
std::optional<TicketRefusal> read_ticket_request(const HttpRequest& request, const Target& target, TicketRequest& out);

/// The value of an Idempotency-Key header: a quoted string (the header's draft) or a bare word; `invalid` when missing,
/// empty, longer than 128 characters, or not printable ASCII.
Result<std::string> read_idempotency_key(const HttpRequest& request);

}  // namespace nappe::server
