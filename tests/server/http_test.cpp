#include "server/http.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "server/problem.hpp"

using namespace nappe;
using namespace nappe::server;

TEST_CASE("a target is taken apart and decoded") {
  const auto target = read_target("/screens/station%3Agarnish?after=12&by=In%C3%A9s+B&flag");
  REQUIRE(target);
  CHECK(target->path == "/screens/station:garnish");
  CHECK(target->query == std::map<std::string, std::string>{{"after", "12"}, {"by", "In\xC3\xA9s B"}, {"flag", ""}});
}

TEST_CASE("a target that is damaged is refused") {
  for (const char* target :
       {"", "events", "http://elsewhere/", "/a%", "/a%2", "/a%zz", "/a%00b", "/a%0d%0aX: y", "/?q=%1"}) {
    INFO(target);
    CHECK_FALSE(read_target(target));
  }
}

TEST_CASE("problem details have the members and types of RFC 9457, and the status on the wire") {
  const auto response =
      problem_response(Error{Errc::conflict, "loin A is off already: Bashir did it", "/do/finish_step"});
  CHECK(response.status == 409);
  CHECK(response.type == "application/problem+json");
  CHECK(nlohmann::json::parse(response.body) ==
        nlohmann::json::parse(R"({"type":"about:blank","title":"Conflict","status":409,"code":"conflict",
                                 "detail":"loin A is off already: Bashir did it","where":"/do/finish_step"})"));
  CHECK(nlohmann::json::parse(problem_response(Error{Errc::invalid, "x"}, 413).body)["status"] == 413);
}

TEST_CASE("bytes that are no UTF-8 cannot break a problem") {
  const auto response = problem_response(Error{Errc::invalid, "bad \xff byte"});
  CHECK(nlohmann::json::accept(response.body));
}

TEST_CASE("every code has its own wire name and finds back") {
  for (const Errc code : {Errc::invalid, Errc::unknown, Errc::conflict, Errc::refused, Errc::forbidden, Errc::too_many,
                          Errc::unavailable}) {
    CHECK(code_named(kind_of(code).code) == code);
    CHECK(status_phrase(kind_of(code).status) != "Internal Server Error");
  }
}

TEST_CASE("only pages of the same host and port may talk to the server") {
  const auto asked = [](const char* host, const char* origin) {
    HttpRequest request;
    request.headers["host"] = host;
    if (*origin != 0) request.headers["origin"] = origin;
    return same_origin(request);
  };
  CHECK(asked("127.0.0.1:7450", ""));
  CHECK(asked("127.0.0.1:7450", "http://127.0.0.1:7450"));
  CHECK_FALSE(asked("127.0.0.1:7450", "http://127.0.0.1:7451"));
  CHECK_FALSE(asked("127.0.0.1:7450", "http://elsewhere.example"));
  CHECK_FALSE(asked("127.0.0.1:7450", "null"));
  CHECK_FALSE(asked("127.0.0.1:7450", "http://127.0.0.1:7450.elsewhere.example"));
}

TEST_CASE("a loopback server answers only to names of this machine") {
  const auto asked = [](const char* host) {
    HttpRequest request;
    request.headers["host"] = host;
    return loopback_host(request);
  };
  CHECK(asked("127.0.0.1:7450"));
  CHECK(asked("localhost"));
  CHECK(asked("[::1]:7450"));
  CHECK_FALSE(asked("elsewhere.example:7450"));
  CHECK_FALSE(asked("127.0.0.1.elsewhere.example"));
}
