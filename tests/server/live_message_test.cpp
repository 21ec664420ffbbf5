#include "server/live_message.hpp"

#include <catch2/catch.hpp>

using namespace nappe;
using namespace nappe::server;

TEST_CASE("every message of the table is read") {
  const auto hello = read_live_message(R"({"type":"hello","device":"garnish screen"})");
  REQUIRE(hello);
  CHECK(std::get<Hello>(*hello).device == "garnish screen");

  const auto subscribe = read_live_message(R"({"type":"subscribe","screen":"pass","epoch":"k3x9","number":41})");
  REQUIRE(subscribe);
  CHECK(std::get<Subscribe>(*subscribe).screen == "pass");
  CHECK(std::get<Subscribe>(*subscribe).epoch == "k3x9");
  CHECK(std::get<Subscribe>(*subscribe).number == 41);
  CHECK(std::get<Subscribe>(*read_live_message(R"({"type":"subscribe","screen":"pass"})")).epoch.empty());

  CHECK(std::holds_alternative<Unsubscribe>(*read_live_message(R"({"type":"unsubscribe","screen":"pass"})")));
  CHECK(std::get<ClockAsked>(*read_live_message(R"({"type":"clock","t1":1764966220000.5})")).t1 == "1764966220000.5");
}

TEST_CASE("a command is handed on with its members in one order, so that its digest does not depend on the sender's") {
  const auto one = read_live_message(R"({"type":"command","command":{"id":"a","by":"Ines","at_ms":1,"do":{"x":{}}}})");
  const auto other =
      read_live_message(R"({"command":{"do":{"x":{}},"at_ms":1,"id":"a", "by":"Ines"},"type":"command"})");
  REQUIRE(one);
  REQUIRE(other);
  CHECK(std::get<CommandSent>(*one).command == std::get<CommandSent>(*other).command);
  CHECK(std::get<CommandSent>(*one).id == "a");
}

TEST_CASE("a message that is wrong is one sentence with its place") {
  struct Wrong {
    const char* text;
    const char* where;
    const char* says;
  };
  const std::vector<Wrong> wrong = {{"[]", "", "must be a JSON object"},
                                    {R"({"type":7})", "/type", "needs a \"type\""},
                                    {R"({"type":"dance"})", "/type", "is no type of message"},
                                    {R"({"type":"hello"})", "/device", "is missing"},
                                    {R"({"type":"hello","device":5})", "/device", "must be a text"},
                                    {R"({"type":"subscribe","screen":"pass","epoch":"x"})", "/number", "is missing"},
                                    {R"({"type":"subscribe","screen":"pass","number":1.5})", "/number", "whole number"},
                                    {R"({"type":"clock","t1":"now"})", "/t1", "number of milliseconds"},
                                    {R"({"type":"clock","t1":1,"extra":2})", "/extra", "no member"}};
  for (const auto& [text, where, says] : wrong) {
    INFO(text);
    const auto read = read_live_message(text);
    REQUIRE_FALSE(read);
    CHECK(read.error().where == where);
    CHECK(read.error().detail.find(says) != std::string::npos);
  }
  CHECK_FALSE(read_live_message("{"));
  CHECK_FALSE(read_live_message(R"({"type":"hello","device":")" + std::string(81, 'x') + "\"}"));
}
