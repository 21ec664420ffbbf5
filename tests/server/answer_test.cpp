#include "server/answer.hpp"

#include <catch2/catch.hpp>

using namespace nappe;
using namespace nappe::server;

TEST_CASE("an answer comes back from the journal as it was given") {
  Answer sent;
  sent.done = true;
  sent.number = 41;
  sent.ticket = 7;
  sent.table = "8";
  sent.says = "Ticket 7, table 8: 4 starters.";
  const auto read = read_answer(write_answer(sent));
  REQUIRE(read);
  CHECK(read->done);
  CHECK(read->number == 41);
  CHECK(read->ticket == 7);
  CHECK(read->table == "8");
  CHECK(read->says == sent.says);
}

TEST_CASE("a refusal comes back with its kind, sentence and place") {
  for (const Errc code : {Errc::invalid, Errc::unknown, Errc::conflict, Errc::refused, Errc::forbidden}) {
    Answer refused;
    refused.error = {code, "loin A is off already", "/do/finish_step/pan"};
    const auto read = read_answer(write_answer(refused));
    REQUIRE(read);
    CHECK_FALSE(read->done);
    CHECK(read->error.code == code);
    CHECK(read->error.detail == refused.error.detail);
    CHECK(read->error.where == refused.error.where);
  }
}

TEST_CASE("an answer that cannot be read is said, not guessed") {
  CHECK_FALSE(read_answer(""));
  CHECK_FALSE(read_answer("[1]"));
}

TEST_CASE("a ticket is said back with its courses and every allergy") {
  kitchen::Kitchen kitchen;
  kitchen.courses = {{"starters", "starters", {}}, {"mains", "main courses", {}}};
  line::Ticket ticket;
  ticket.id = line::TicketId{7};
  ticket.table = "8";
  for (const auto& [course, plates] : std::map<std::string, int>{{"starters", 2}, {"mains", 3}}) {
    line::Course made;
    made.course = course;
    for (int position = 1; position <= plates; ++position) made.plates[position] = {};
    ticket.courses.push_back(made);
  }
  ticket.allergies[2] = {"gluten", "walnut"};
  ticket.allergies[3] = {};
  CHECK(say_ticket(ticket, kitchen).find("Ticket 7, table 8: 3 main courses, 2 starters. Position 2: no ") == 0);
  CHECK(say_ticket(ticket, kitchen).find("walnut") != std::string::npos);
  CHECK(say_ticket(ticket, kitchen).find("Position 3") == std::string::npos);
}
