// What goes wrong at the pass and is mended in one act: tables that wait, go slower, join and part; plates that went
// earlier than anybody said; portions that change tables. Numbers are those of the demo restaurant's own times.
#include <catch2/catch.hpp>

#include <map>

#include "common/line/chain.hpp"
#include "common/line/ticket_line.hpp"
#include "tests/support/night.hpp"

using namespace nappe;
using namespace nappe::line;
using nappe::tests::friday;
using nappe::tests::Night;

namespace {

std::string refusal(const Status& status) { return status ? std::string("accepted") : status.error().detail; }

const Course& course_of(const Night& night, TicketId ticket, const char* course) {
  return *night.state().find_ticket(ticket)->find_course(course);
}

// Portions in all pans by component, and what the positions' dishes add up to.
std::map<std::string, int> in_pans(const State& state) {
  std::map<std::string, int> sum;
  for (const auto* pans : {&state.pans, &state.past})
    for (const auto& [id, pan] : *pans) sum[pan.component] += static_cast<int>(pan.portions.size());
  return sum;
}
std::map<std::string, int> on_positions(const State& state) {
  std::map<std::string, int> sum;
  for (const auto& [id, ticket] : state.tickets)
    for (const Course& course : ticket.courses)
      for (const auto& [position, plate] : course.plates) {
        if (ticket.cancelled && !plate.gone) continue;
        for (const auto& part : state.kitchen_of(ticket).find_dish(plate.wanted.dish)->parts) {
          const auto& off = plate.wanted.left_off;
          if (std::find(off.begin(), off.end(), part.component) == off.end()) ++sum[part.component];
        }
      }
  return sum;
}

Order order_of(const Night& night, const char* line) {
  const auto order = read_ticket_line(line, *night.state().kitchen);
  REQUIRE(order);
  return *order;
}

}  // namespace

// --- 24, 25, 26: orders

TEST_CASE("24: the fourth pollack when three are left cannot be sent, and two terminals cannot both sell the last") {
  Night night(friday(20, 0));
  REQUIRE(night.ask(SetLeft{"pollack", 3}, "Mara"));
  const Status four = night.ask(SendTicket{order_of(night, "12: 1k 2k 3k 4k / 1p 2p 3p 4p")}, "Wren");
  CHECK(refusal(four) == "only 3 pollack are left that nobody has been promised; table 12 asks for 4");
  night.send("5: 1k 2k / 1p 2p");
  const Order here = order_of(night, "3: 1k / 1p");
  const Order there = order_of(night, "9: 1k / 1p");
  CHECK(night.ask(SendTicket{here}, "floor one"));
  CHECK(refusal(night.ask(SendTicket{there}, "floor two")) == "pollack is off: table 9 must choose again");
  CHECK(night.state().left.at("pollack") == 0);
}

TEST_CASE("26: the same ticket once more within a minute is asked about before it is a second one") {
  Night night(friday(19, 47));
  const char* const line = "8: 1e 2m 4k!gluten / 1h 2h 4p";
  const auto first = night.send(line);
  const SendTicket again{order_of(night, line)};
  CHECK(refusal(night.ask(again, "floor two")) ==
        "table 8 already has this order, sent at 19:47 (ticket 1): say it again to send the same once more");
  CHECK(night.state().tickets.size() == 1);
  // Another plate, another guest or another table is another order.
  night.send("8: 1e 2m 4k!gluten / 1h 2h 4h");
  night.send("8: 1e 2m 4k!nuts / 1h 2h 4p");
  night.send("5: 1e 2m 4k!gluten / 1h 2h 4p");
  SendTicket sure = again;
  sure.sure = true;
  CHECK(night.ask(sure, "floor two"));
  // What was cancelled, and what was sent long before, is no double.
  REQUIRE(night.ask(CancelTicket{TicketId{5}, "sent twice"}, "Wren"));
  REQUIRE(night.ask(CancelTicket{first, "left"}, "Wren"));
  const auto fresh = night.send(line);
  night.until(friday(19, 48, 1));
  CHECK(night.ask(again, "Wren"));
  CHECK(night.state().find_ticket(fresh) != nullptr);
}

TEST_CASE("28: a course fired over one that has not gone is asked about first, and says which") {
  Night night(friday(19, 40));
  const auto eight = night.send("8: 1k 2k / 1h 2h / 1d 2r");
  CHECK(refusal(night.ask(Fire{eight, "mains", {}}, "Mara")) ==
        "the starters of table 8 have not been fired yet: say it again to fire the mains all the same");
  REQUIRE(night.ask(Fire{eight, "starters", {}}, "Mara"));
  CHECK(refusal(night.ask(Fire{eight, "mains", {}}, "Mara")) ==
        "the starters of table 8 have not gone yet: say it again to fire the mains all the same");
  CHECK(course_of(night, eight, "mains").state == CourseState::waiting);
  CHECK(night.ask(Fire{eight, "mains", {}, true}, "Mara"));
  // Eaten first is only what was ordered.
  const auto five = night.send("5: - / 1h 2h");
  CHECK(night.ask(Fire{five, "mains", {}}, "Mara"));
}

TEST_CASE("25: changing, adding, moving, merging and splitting keeps every portion, each once") {
  Night night(friday(19, 40));
  const auto eight = night.send("8: 1e 2m 3m 4k / 1h 2h 3p 4h");
  const auto three = night.send("3: 1e 2m / 1h 2p / 1d 2r");
  const auto six = night.send("6: 1e 2k / 1h 2u");
  const auto same = [&] { CHECK(in_pans(night.state()) == on_positions(night.state())); };
  same();
  REQUIRE(night.ask(ChangeTicket{eight, order_of(night, "8: 5e 6k!gluten / 3h 5u 6h"), false}, "Wren"));
  same();
  CHECK(night.state().find_ticket(eight)->covers() == 6);
  CHECK(course_of(night, eight, "mains").plates.at(3).wanted.dish == "hogget");
  REQUIRE(night.ask(MovePositions{eight, {}, {{2, 5}, {5, 2}}}, "Wren"));
  same();
  CHECK(course_of(night, eight, "starters").plates.at(2).wanted.dish == "emmer");
  CHECK(course_of(night, eight, "starters").plates.at(5).wanted.dish == "mackerel");
  REQUIRE(night.ask(SplitTable{eight, {5, 6}, "4"}, "Wren"));
  same();
  REQUIRE(night.ask(MergeTables{three, six}, "Wren"));
  same();
  REQUIRE(night.ask(ChangePlate{eight, "mains", {1, "", {}, ""}, false}, "Wren"));
  same();
  REQUIRE(night.ask(CancelTicket{eight, "left"}, "Wren"));
  same();
}

TEST_CASE("25: a change is made wholly or not at all") {
  Night night(friday(19, 40));
  REQUIRE(night.ask(SetLeft{"pollack", 1}, "Mara"));
  const auto eight = night.send("8: 1e 2m / 1h 2h");
  const auto before = fingerprint(night.state());
  const Order two_pollack = order_of(night, "8: 3k / 1p 3p");
  CHECK(refusal(night.ask(ChangeTicket{eight, two_pollack, false}, "Wren")) ==
        "pollack is off: table 8 must choose again");
  CHECK(fingerprint(night.state()) == before);
  Order wrong = order_of(night, "9: 1e");
  CHECK(refusal(night.ask(ChangeTicket{eight, wrong, false}, "Wren")) == "ticket 1 is of table 8, not of 9");
}

TEST_CASE("25: an added plate minds what its guest said before") {
  Night night(friday(19, 40));
  const auto eight = night.send("8: 1e 4k!gluten / 1h 4h");
  Order more = order_of(night, "8: 1e");
  more.courses = {{"desserts", {{4, "pudding", {}, ""}}}};
  CHECK(refusal(night.ask(ChangeTicket{eight, more, false}, "Wren")).find("position 4, gluten: not pudding") == 0);
}

// --- seats

TEST_CASE("guests who swap take their plates and allergies along, and cooking goes on") {
  Night night(friday(19, 40));
  const auto five = night.send("5: 1e 2k!milk 3m");
  REQUIRE(night.ask(Fire{five, "starters", {}}, "Mara"));
  const PanId emmer = night.pan(five, "emmer").id;
  REQUIRE(night.done(emmer, seconds(60)));
  REQUIRE(night.ask(MovePositions{five, {}, {{1, 2}, {2, 1}}}, "Wren"));
  const Ticket& ticket = *night.state().find_ticket(five);
  CHECK(ticket.allergies_of(1) == std::vector<std::string>{"milk"});
  CHECK(ticket.allergies_of(2).empty());
  CHECK(course_of(night, five, "starters").plates.at(1).wanted.dish == "leek");
  CHECK(night.state().find_pan(emmer)->portions.front().plate.position == 2);
  CHECK(night.state().find_pan(emmer)->begun());
  CHECK(refusal(night.ask(MovePositions{five, {}, {{1, 3}}}, "Wren")) ==
        "somebody sits at position 3 of table 5 already");
  CHECK(refusal(night.ask(MovePositions{five, {}, {{4, 2}}}, "Wren")) == "nobody sits at position 4 of table 5");
  CHECK(refusal(night.ask(MovePositions{five, {}, {{1, 7}}}, "Wren")) == "table 5 has no position 7; it seats 4");
}

TEST_CASE("a table split has two meets and is one order") {
  Night night(friday(19, 40));
  const auto eight = night.send("8: 1e 2m 3e 4k / 1h 2h 3p 4h");
  REQUIRE(night.ask(Fire{eight, "starters", to_ms(friday(20, 5))}, "Mara"));
  REQUIRE(night.ask(SplitTable{eight, {3, 4}, "5"}, "Wren"));
  const TicketId other{night.state().tickets_made};
  REQUIRE(other != eight);
  CHECK(night.state().find_ticket(other)->order == eight);
  CHECK(night.state().find_ticket(other)->table == "5");
  CHECK(course_of(night, other, "starters").state == CourseState::fired);
  CHECK(course_of(night, other, "starters").meet == friday(20, 5));
  CHECK(course_of(night, other, "mains").state == CourseState::waiting);
  // Within the emmer's keep of 90 s the two still share their pan; beyond it they are cooked apart.
  CHECK(&night.pan(eight, "emmer") == &night.pan(other, "emmer"));
  REQUIRE(night.ask(MoveMeet{other, "starters", to_ms(friday(20, 10))}, "Mara"));
  CHECK(&night.pan(eight, "emmer") != &night.pan(other, "emmer"));
  CHECK(course_of(night, eight, "starters").meet == friday(20, 5));
  CHECK(in_pans(night.state()) == on_positions(night.state()));
}

TEST_CASE("a table whose last guests here have gone has gone when the others split off") {
  Night night(friday(19, 40));
  const auto eight = night.send("8: 1m 2m 3m");
  REQUIRE(night.ask(Fire{eight, "starters", {}}, "Mara"));
  REQUIRE(night.ask(Gone{eight, "starters", {3}, true, {}}, "Mara"));
  REQUIRE(night.ask(SplitTable{eight, {3}, {}}, "Wren"));
  CHECK(course_of(night, eight, "starters").state == CourseState::gone);
  CHECK(course_of(night, TicketId{2}, "starters").state == CourseState::fired);
}

TEST_CASE("a plate taken away closes a course of which all else has gone") {
  Night night(friday(19, 40));
  const auto eight = night.send("8: 1m 2m 3e");
  REQUIRE(night.ask(Fire{eight, "starters", {}}, "Mara"));
  REQUIRE(night.ask(Gone{eight, "starters", {3}, true, {}}, "Mara"));
  REQUIRE(night.ask(ChangePlate{eight, "starters", {3, "", {}, ""}, true}, "Wren"));
  CHECK(course_of(night, eight, "starters").state == CourseState::gone);
}

TEST_CASE("tables pushed together renumber who comes, and have the seats of both") {
  Night night(friday(19, 40));
  const auto three = night.send("3: 1e!milk 2m / 1h 2p");
  const auto six = night.send("6: 1k 2m / 1u 2h");
  REQUIRE(night.ask(MergeTables{three, six}, "Wren"));
  const Ticket& ticket = *night.state().find_ticket(six);
  CHECK(ticket.covers() == 4);
  CHECK(ticket.allergies_of(3) == std::vector<std::string>{"milk"});
  CHECK(course_of(night, six, "mains").plates.at(4).wanted.dish == "pollack");
  CHECK(refusal(night.ask(Fire{three, "starters", {}}, "Mara")) == "ticket 1 of table 3 sits at table 6 now");
  REQUIRE(night.ask(ChangePlate{six, "desserts", {4, "pear", {}, ""}, false}, "Wren"));
  CHECK(refusal(night.ask(ChangePlate{six, "desserts", {5, "pear", {}, ""}, false}, "Wren")).find("no position 5") !=
        std::string::npos);
}

TEST_CASE("a fired table and one that is not cannot be pushed together: the sentence says what to do") {
  Night night(friday(19, 40));
  const auto three = night.send("3: 1e 2m");
  const auto six = night.send("6: 1k 2m");
  REQUIRE(night.ask(Fire{six, "starters", {}}, "Mara"));
  CHECK(refusal(night.ask(MergeTables{three, six}, "Wren")) ==
        "the starters of table 3 are not fired, those of table 6 fired: bring them to the same state first");
}

// --- 28: speech, table up, slower, faster

TEST_CASE("28: a speech moves the meet to its end and holds nothing that is earlier wanted") {
  Night night(friday(20, 0));
  const auto eleven = night.send("11: 1e 2e 3m 4k / 1h 2h 3p 4p");
  REQUIRE(night.ask(Fire{eleven, "mains", to_ms(friday(20, 20)), true}, "Mara"));
  REQUIRE(night.ask(Speech{eleven, 9}, "Wren"));
  CHECK(course_of(night, eleven, "mains").meet == friday(20, 20));
  night.until(friday(20, 15));
  REQUIRE(night.ask(Speech{eleven, 9}, "Wren"));
  CHECK(course_of(night, eleven, "mains").meet == friday(20, 24));
  CHECK(night.state().find_ticket(eleven)->pause->until == friday(20, 24));
  CHECK(refusal(night.ask(Speech{eleven, 0}, "Wren")) == "a speech lasts 1 to 120 minutes");
  REQUIRE(night.ask(TableBack{eleven}, "Wren"));
  CHECK_FALSE(night.state().find_ticket(eleven)->pause);
}

TEST_CASE("28: a table that is up begins nothing, and is released when it sits again") {
  Night night(friday(20, 0));
  const auto five = night.send("5: 1k 2k / 1h 2p");
  REQUIRE(night.ask(Fire{five, "mains", to_ms(friday(20, 20)), true}, "Mara"));
  REQUIRE(night.ask(TableUp{five}, "Wren"));
  CHECK(course_of(night, five, "mains").state == CourseState::held);
  night.until(friday(20, 18));
  REQUIRE(night.ask(TableBack{five}, "Wren"));
  CHECK(course_of(night, five, "mains").state == CourseState::fired);
  CHECK(*course_of(night, five, "mains").meet > friday(20, 30));  // a loin takes 16:45 from now
  CHECK(refusal(night.ask(TableBack{five}, "Wren")) == "table 5 is not waiting for anything");
}

TEST_CASE("28: slower and faster move the meet and the guess of clear, never what cooks; faster ends at what can be") {
  Night night(friday(20, 0));
  const auto five = night.send("5: 1k 2k / 1h 2p / 1d 2r");
  REQUIRE(night.ask(Fire{five, "mains", to_ms(friday(20, 30)), true}, "Mara"));
  REQUIRE(night.ask(GuessClear{five, "desserts", to_ms(friday(20, 55))}, "Wren"));
  const auto pans = night.state().pans.size();
  REQUIRE(night.ask(Pace{five, 5}, "Wren"));
  CHECK(course_of(night, five, "mains").meet == friday(20, 35));
  CHECK(course_of(night, five, "desserts").clear == friday(21, 0));
  CHECK(night.state().pans.size() == pans);
  REQUIRE(night.ask(Pace{five, -60}, "Wren"));
  const Instant soonest = friday(20, 0) + chain_time(*night.state().kitchen->find_component("loin"), 1);
  CHECK(course_of(night, five, "mains").meet == std::chrono::ceil<std::chrono::seconds>(soonest));
  CHECK(night.state().find_ticket(five)->pace == minutes(-55));
}

// --- 47: gone, all but, back, back-dated

TEST_CASE("47: all but position 3 leaves one clock running and closes five") {
  Night night(friday(19, 40));
  const auto eight = night.send("8: 1m 2m 3m 4m 5m 6m");
  REQUIRE(night.ask(Fire{eight, "starters", {}}, "Mara"));
  night.until(friday(19, 50));
  REQUIRE(night.ask(Gone{eight, "starters", {3}, true, {}}, "Mara"));
  int here = 0;
  for (const auto& [position, plate] : course_of(night, eight, "starters").plates) here += plate.gone ? 0 : 1;
  CHECK(here == 1);
  CHECK_FALSE(course_of(night, eight, "starters").plates.at(3).gone);
  REQUIRE(night.ask(Gone{eight, "starters", {}, true, {}}, "Mara"));
  REQUIRE(night.ask(BringBack{eight, "starters", {3}}, "Mara"));
  CHECK(course_of(night, eight, "starters").state == CourseState::fired);
}

TEST_CASE("47: gone can be dated back, and not to before the plates were there") {
  Night night(friday(19, 40));
  const auto two = night.send("2: 1m 2m");
  REQUIRE(night.ask(Fire{two, "starters", {}}, "Mara"));
  const PanId mackerel = night.pan(two, "mackerel").id;
  REQUIRE(night.done(mackerel, minutes(2)));
  REQUIRE(night.done(mackerel, minutes(3)));  // dressed at 19:45
  night.until(friday(19, 52));
  CHECK(refusal(night.ask(Gone{two, "starters", {}, false, to_ms(friday(19, 44))}, "Mara")) ==
        "the starters of table 2 can have gone between 19:45:00 and now, not at 19:44:00");
  REQUIRE(night.ask(Gone{two, "starters", {}, false, to_ms(friday(19, 46))}, "Mara"));
  CHECK(course_of(night, two, "starters").gone_at == friday(19, 46));
}

// --- 50: borrow

TEST_CASE("50: borrowing a loin names the table with most give and puts a new loin on the list in the same act") {
  Night night(friday(19, 42));
  const auto five = night.send("5: 1k 2k / 1h 2h");
  const auto eleven = night.send("11: 1k 2k / 1h 2h");
  const auto nine = night.send("9: 1k / 1h");
  REQUIRE(night.ask(Fire{five, "mains", to_ms(friday(20, 0)), true}, "Mara"));
  const PanId ours = night.pan(five, "loin").id;
  while (!night.state().find_pan(ours)->finished) REQUIRE(night.done(ours, minutes(9)));
  REQUIRE(night.ask(Gone{five, "mains", {}, true, {}}, "Mara"));
  // Two other tables' loins have been begun; both can wait for a new one, table 11 longer.
  const Instant back = night.now();
  REQUIRE(night.ask(Fire{nine, "mains", to_ms(back + minutes(20)), true}, "Mara"));
  REQUIRE(night.ask(Fire{eleven, "mains", to_ms(back + minutes(26)), true}, "Mara"));
  const PanId nines = night.pan(nine, "loin").id;
  const PanId elevens = night.pan(eleven, "loin").id;
  for (const PanId pan : {nines, elevens}) {
    REQUIRE(night.done(pan, seconds(10)));
    REQUIRE(night.done(pan, seconds(10)));
  }
  const auto lender = lender_of(night.state(), *night.state().find_ticket(five), 2, "loin", night.now());
  REQUIRE(lender);
  CHECK(lender->plate.ticket == eleven);
  REQUIRE(night.ask(Borrow{five, "mains", 2, {"loin"}, "too pink", {}}, "Mara"));
  const auto lent = night.all<PortionLent>();
  REQUIRE(lent.size() == 1);
  CHECK(lent[0].pan == elevens);
  CHECK(lent[0].to == PlateKey{five, "mains", 2});
  CHECK(night.state().find_plate({five, "mains", 2})->borrowed.at("loin") == "11");
  CHECK(night.state().find_plate(lent[0].from)->lent.at("loin") == "5");
  // The new one is table 11's.
  std::vector<const Pan*> fresh;
  for (const auto& [id, pan] : night.state().pans)
    if (pan.component == "loin" && pan.refire) fresh.push_back(&pan);
  REQUIRE(fresh.size() == 1);
  CHECK(fresh[0]->portions.front().plate == lent[0].from);
  CHECK(in_pans(night.state()) == on_positions(night.state()));
  // Sooner than a new one would have been.
  const Duration chain = chain_time(*night.state().kitchen->find_component("loin"), 1);
  CHECK(*course_of(night, five, "mains").meet < night.now() + chain);
}

TEST_CASE("50: nobody lends across an allergy, from a plate, or what is needed sooner than a new one") {
  Night night(friday(19, 42));
  const auto five = night.send("5: 1k 2k!milk / 1h 2h");
  const auto eleven = night.send("11: 1k / 1h");
  REQUIRE(night.ask(Fire{five, "mains", {}, true}, "Mara"));
  REQUIRE(night.ask(Fire{eleven, "mains", {}, true}, "Mara"));  // as soon as it can: no give at all
  const PanId elevens = night.pan(eleven, "loin").id;
  REQUIRE(night.done(elevens, seconds(10)));
  CHECK(refusal(night.ask(Borrow{five, "mains", 1, {"loin"}, "dropped", {}}, "Mara")) ==
        "nobody can lend loin: a new one takes 16:45, and no table that has one in the pan has so long; cook it again "
        "instead");
  REQUIRE(night.ask(MoveMeet{eleven, "mains", to_ms(friday(20, 20)), true}, "Mara"));
  CHECK(refusal(night.ask(Borrow{five, "mains", 2, {"loin"}, "dropped", {}}, "Mara")).find("nobody can lend") == 0);
  CHECK(refusal(night.ask(Borrow{five, "mains", 1, {"loin"}, "dropped", {}}, "Mara")) == "accepted");
}

// --- refire of what an allergy blocked

TEST_CASE("22: what is cooked again without it blocks its plate no longer; what cannot be is refused in words") {
  Night night(friday(19, 40));
  const auto eight = night.send("8: 1e 2m / 1h 2h");
  REQUIRE(night.ask(Fire{eight, "mains", {}, true}, "Mara"));
  REQUIRE(night.done(night.pan(eight, "loin").id, seconds(90)));
  REQUIRE(night.ask(TellAllergy{eight, 1, {"milk"}}, "Wren"));
  REQUIRE(night.state().find_plate({eight, "mains", 1})->blocked.count("loin") == 1);
  REQUIRE(night.ask(Refire{eight, "mains", 1, {"loin"}, "allergy"}, "Mara"));
  CHECK(night.state().find_plate({eight, "mains", 1})->blocked.count("loin") == 0);
  REQUIRE(night.ask(Fire{eight, "starters", {}}, "Mara"));
  REQUIRE(night.done(night.pan(eight, "emmer").id, seconds(90)));
  REQUIRE(night.ask(TellAllergy{eight, 1, {"gluten"}}, "Wren"));
  CHECK(refusal(night.ask(Refire{eight, "starters", 1, {}, "allergy"}, "Mara")) ==
        "the emmer holds wheat however it is cooked: give position 1 of table 8 another dish");
}

TEST_CASE("a service with every act at the pass replays to the same state") {
  Night night(friday(19, 40));
  const auto eight = night.send("8: 1e 2m 3e 4k / 1h 2h 3p 4h");
  const auto three = night.send("3: 1e 2m / 1h 2p");
  REQUIRE(night.ask(Fire{eight, "starters", {}}, "Mara"));
  REQUIRE(night.ask(Speech{eight, 5}, "Wren"));
  REQUIRE(night.ask(Pace{eight, 4}, "Wren"));
  REQUIRE(night.ask(GuessClear{eight, "mains", to_ms(friday(20, 10))}, "Wren"));
  REQUIRE(night.ask(SplitTable{eight, {4}, "4"}, "Wren"));
  REQUIRE(night.ask(MovePositions{eight, {}, {{1, 5}}}, "Wren"));
  REQUIRE(night.ask(TableUp{three}, "Wren"));
  REQUIRE(night.ask(MoveTable{three, "6"}, "Wren"));
  CHECK(fingerprint(tests::replay(night.log())) == fingerprint(night.state()));
}
