#include "server/ticket_request.hpp"

#include <catch2/catch.hpp>

using namespace nappe;
using namespace nappe::server;

namespace {

HttpRequest request(const char* type, std::string body) {
  HttpRequest made;
  made.headers["content-type"] = type;
  made.body = std::move(body);
  return made;
}

}  // namespace

TEST_CASE("a ticket is a line of text, its line end left out") {
  TicketRequest ticket;
  Target target;
  target.query["by"] = "Wren";
  REQUIRE_FALSE(read_ticket_request(request("text/plain; charset=utf-8", "8: 1e 2m\r\n"), target, ticket));
  CHECK(ticket.line == "8: 1e 2m");
  CHECK(ticket.by == "Wren");
  CHECK_FALSE(ticket.at);
}

TEST_CASE("a ticket is JSON with a line or an order") {
  TicketRequest line;
  REQUIRE_FALSE(read_ticket_request(request("application/json", R"({"line":"8: 1e","at_ms":5})"), {}, line));
  CHECK(line.line == "8: 1e");
  CHECK(line.at == from_ms(5));
  CHECK(line.by == "http");
  TicketRequest order;
  REQUIRE_FALSE(read_ticket_request(
      request("application/json",
              R"({"order":{"table":"8","courses":[{"course":"mains","plates":[{"position":1,"dish":"egg"}]}]}})"),
      {}, order));
  CHECK(order.order->courses.front().plates.front().dish == "egg");
}

TEST_CASE("a fault inside the order is named by its place in the whole body") {
  TicketRequest ticket;
  const auto wrong =
      read_ticket_request(request("application/json", R"({"order":{"table":"8","corses":[]}})"), {}, ticket);
  REQUIRE(wrong);
  CHECK(wrong->status == 400);
  CHECK(wrong->error.where.starts_with("/order"));
}

TEST_CASE("another media type is told apart from a wrong body") {
  TicketRequest ticket;
  CHECK(read_ticket_request(request("text/html", "8: 1e"), {}, ticket)->status == 415);
  CHECK(read_ticket_request(request("text/plain", "\n"), {}, ticket)->status == 400);
  CHECK(read_ticket_request(request("application/json", R"({"line":"8: 1e","order":{"table":"8"}})"), {}, ticket)
            ->status == 400);
}

TEST_CASE("an Idempotency-Key is a quoted string or a bare word") {
  const auto key = [](const char* value) {
    HttpRequest made;
    if (*value != 0) made.headers["idempotency-key"] = value;
    return read_idempotency_key(made);
  };
  // The example of the header's draft (draft-ietf-httpapi-idempotency-key-header).
  CHECK(*key("\"8e03978e-40d5-43e8-bc93-6894a57f9324\"") == "8e03978e-40d5-43e8-bc93-6894a57f9324");
  CHECK(*key("abc") == "abc");
  for (const char* bad : {"", "\"\"", "a b", "a\"b", "\xc3\xa9"}) {
    INFO(bad);
    CHECK_FALSE(key(bad));
  }
  CHECK_FALSE(key(std::string(129, 'x').c_str()));
}
