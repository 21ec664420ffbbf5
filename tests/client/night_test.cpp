// The people of the demo night: draws, guests, cooks and the expediter; and a whole night on the real line, plan and
// screens in virtual time.
#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

#include "client/night.hpp"
#include "client/outbox.hpp"
#include "common/kitchen/load.hpp"
#include "common/line/line.hpp"
#include "common/line/ticket_line.hpp"
#include "common/plan/plan.hpp"
#include "common/wire/codec.hpp"
#include "common/wire/screens.hpp"
#include "tests/support/larkfold.hpp"

using namespace nappe;
using namespace nappe::client;

namespace {

const Instant midnight = from_ms(1764892800000);  // 2025-12-05T00:00:00Z

const kitchen::Kitchen& house() {
  static const kitchen::Kitchen kitchen = tests::larkfold();
  return kitchen;
}

kitchen::File file_of(const std::string& name) {
  return {name, tests::read_text(std::string(NAPPE_SOURCE_DIR) + "/config/larkfold/" + name)};
}

const kitchen::BookingSheet& friday() {
  static const auto loaded = kitchen::load_bookings(file_of("bookings.json"), house());
  REQUIRE(loaded);
  return *loaded.value;
}

const kitchen::IncidentSheet& incidents() {
  static const auto loaded = kitchen::load_events(file_of("events.json"), house(), friday());
  REQUIRE(loaded);
  return *loaded.value;
}

Item item_of(int pan, const std::string& step, Instant at, Duration takes) {
  Item item;
  item.key = fmt::format("p{}.{}.0", pan, step);
  item.pan = pan;
  item.step = item.move = step;
  item.what = "thing";
  item.at = item.soonest = at;
  item.takes = takes;
  item.state = "ready";
  return item;
}

line::Command command_of(const Deed& deed, int number) {
  const Kept kept{fmt::format("c{}", number), deed.by, to_ms(deed.at), deed.ask, false};
  auto command = wire::read_command(command_text(kept));
  INFO(command_text(kept));
  if (!command) FAIL(command.error().detail);
  return std::move(command).value();
}

}  // namespace

TEST_CASE("draws belong to their names and are what they say") {
  const Draws one(7), same(7), other(8);
  CHECK(one.normal("p31") == same.normal("p31"));
  CHECK(one.normal("p31") != other.normal("p31"));
  CHECK(one.normal("p31") != one.normal("p32"));
  // 4000 draws: the mean of a standard normal is within 4 standard errors (0.063) of 0, its variance within 4 *
  // sqrt(2/n) (0.089) of 1; a lognormal's median is its median: half lie below, within 4 * 0.5/sqrt(n) (0.032).
  double sum = 0, squares = 0;
  int below = 0;
  for (int i = 0; i < 4000; ++i) {
    const std::string name = "n" + std::to_string(i);
    const double z = one.normal(name);
    sum += z;
    squares += z * z;
    below += one.scattered(name, seconds(100), 0.3) < seconds(100) ? 1 : 0;
  }
  CHECK(std::abs(sum / 4000) < 0.063);
  CHECK(std::abs(squares / 4000 - 1) < 0.089);
  CHECK(std::abs(below / 4000.0 - 0.5) < 0.032);
}

TEST_CASE("guests: who is cancelled does not come, who is late says so, and every order can be taken") {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    CAPTURE(seed);
    const auto coming = parties(friday(), incidents(), midnight, Draws(seed));
    int covers = 0;
    for (const Party& party : coming) {
      CHECK(party.booking.id != "t4-1930");  // The shipped events cancel table 4.
      covers += party.booking.covers;
      const line::Order order = order_of(party.booking, house(), Draws(seed));
      const Status fine = line::check_order(order, house());
      INFO(party.booking.id);
      if (!fine) FAIL_CHECK(fine.error().detail);
      // A dish that is off is replaced, never ordered again.
      const line::Order rest = without(order, "pollack", house());
      if (const Status still = line::check_order(rest, house()); !still) FAIL_CHECK(still.error().detail);
      for (const auto& course : rest.courses) {
        for (const auto& plate : course.plates) CHECK(plate.dish != "pollack");
      }
    }
    CHECK(covers == 46);
  }
}

TEST_CASE("cooks: one move a hand, a press after its time, nothing for what other evidence has ended") {
  Cooks cooks(house(), Draws(3));
  StationScreen screen;
  screen.id = "garnish";
  screen.hands = {{"ines", "Ines", true}};
  const Instant now = midnight;
  screen.list = {item_of(1, "turn", now, seconds(20)), item_of(2, "glaze", now, seconds(20))};
  std::vector<CookPress> presses = cooks.step(screen, now);
  CHECK(presses.empty());
  std::vector<Instant> at;
  for (int s = 1; s < 400 && at.size() < 2; ++s) {
    presses = cooks.step(screen, now + seconds(s));
    for (const CookPress& press : presses) {
      at.push_back(press.at);
      std::erase_if(screen.list, [&](const Item& item) { return item.key == press.ask.item; });
    }
    CHECK(presses.size() <= 1);
  }
  REQUIRE(at.size() == 2);
  CHECK(at[0] > now + seconds(8));
  CHECK(at[1] > at[0]);

  Cooks others(house(), Draws(3));
  screen.list = {item_of(1, "turn", now, seconds(20))};
  others.step(screen, now);
  screen.list.clear();  // "Gone" has proved it.
  for (int s = 1; s < 300; ++s) CHECK(others.step(screen, now + seconds(s)).empty());
}

TEST_CASE("cooks ladle as often as the pan needs, then say that it is there") {
  StationScreen screen;
  screen.id = "garnish";
  screen.hands = {{"ines", "Ines", true}};
  int ladles = 0, rounds_seen[12] = {};
  for (int pan = 1; pan <= 300; ++pan) {
    Cooks cooks(house(), Draws(5));
    ladles = 0;
    bool there = false;
    Instant now = midnight;
    for (int round = 1; round <= 11 && !there; ++round) {
      Item ladle = item_of(pan, "ladle", now, seconds(24));
      ladle.key = fmt::format("p{}.ladle.{}", pan, round);
      ladle.round = round;
      ladle.what = "emmer";
      ladle.rounds = RoundsOf{7, 6, 9, "ladle", round > 1};
      screen.list = {ladle};
      std::vector<CookPress> presses;
      for (; presses.empty(); now += seconds(1)) presses = cooks.step(screen, now);
      there = presses.front().ask.action.find("its_there") != std::string::npos;
      if (!there) ++ladles;
    }
    REQUIRE(there);
    ++rounds_seen[ladles];
  }
  // The shipped counts are 6, 7, 8, 9 ladles at .20, .45, .25, .10; 300 pans, 4 standard errors of a share are < 0.116.
  CHECK(std::abs(rounds_seen[6] / 300.0 - 0.20) < 0.116);
  CHECK(std::abs(rounds_seen[7] / 300.0 - 0.45) < 0.116);
  CHECK(std::abs(rounds_seen[8] / 300.0 - 0.25) < 0.116);
  CHECK(std::abs(rounds_seen[9] / 300.0 - 0.10) < 0.116);
}

TEST_CASE("the expediter sends what stands, waits for the last plate, but not for ever; a blocked plate is made anew") {
  Expediter expediter(house(), Draws(1));
  PassScreen screen;
  CourseLine course;
  course.key = "1-starters";
  course.ticket = 1;
  course.table = "8";
  course.course = course.name = "starters";
  course.covers = 2;
  course.state = "fired";
  course.meet = midnight + minutes(10);
  screen.courses = {course};
  CHECK(expediter.step(screen, midnight + minutes(12)).empty());
  screen.standing = {{"1-starters", 1, "8", "starters", 1, 2, {}, {}, ""}};
  CHECK(expediter.step(screen, midnight + minutes(15)).empty());
  const auto short_handed = expediter.step(screen, midnight + minutes(17));
  REQUIRE(short_handed.size() == 1);
  CHECK(short_handed.front().action.find("\"sure\":true") != std::string::npos);

  Expediter another(house(), Draws(1));
  screen.standing.front().up = 2;
  std::vector<Ask> asks;
  Instant now = midnight + minutes(9);
  for (; asks.empty(); now += seconds(1)) asks = another.step(screen, now);
  CHECK(asks.front().action.find("\"gone\"") != std::string::npos);
  CHECK(asks.front().action.find("sure") == std::string::npos);
  CHECK(now < midnight + minutes(10));

  screen.standing.clear();
  screen.courses.front().allergies = {{"4", "GLUTEN"}};
  screen.courses.front().plates = {{4, "emmer", "Ladled emmer", "blocked", {}, "NO GLUTEN", "", "", {}}};
  Expediter third(house(), Draws(1));
  const auto mended = third.step(screen, midnight);
  REQUIRE(mended.size() == 1);
  const auto action = nlohmann::json::parse(mended.front().action)["change_plate"];
  CHECK(action["plate"]["dish"] == "leek");  // The only starter without gluten.
  CHECK(action["plate"]["position"] == 4);
}

TEST_CASE("an order refused and one unanswered: another key for another order, the same key for the same") {
  Night night(house(), friday(), {}, midnight, 1);
  PassScreen pass;
  Instant now = night.first_booking() - minutes(10);
  const auto next_ticket = [&] {
    for (int i = 0; i < 4000; ++i, now += seconds(1)) {
      for (Deed& deed : night.step(pass, {}, now)) {
        if (deed.kind == Deed::Kind::ticket) return deed;
      }
    }
    FAIL("no ticket");
    return Deed{};
  };
  const Deed first = next_ticket();
  now += seconds(1);
  const Deed again = next_ticket();
  CHECK(again.booking == first.booking);
  CHECK(again.key == first.key);
  night.ticket_refused(first.booking, "emmer is off: table 3 must choose again", now);
  now += seconds(1);
  Deed other = next_ticket();
  while (other.booking != first.booking) {
    now += seconds(1);
    other = next_ticket();
  }
  CHECK(other.key != first.key);
  for (const auto& course : other.order.courses) {
    for (const auto& plate : course.plates) CHECK(plate.dish != "emmer");
  }
}

// The server without a network: the real line, plan and screens.
namespace {

struct VirtualKitchen {
  line::State state;
  std::optional<plan::Plan> plan;
  PassScreen pass;
  std::map<std::string, StationScreen> stations;
  int commands = 0;

  void elapse(Instant now) {
    for (int i = 0; i < 100; ++i) {
      const auto events = line::elapse(state, now);
      if (events.empty()) return;
      for (const auto& event : events) line::apply(state, event);
    }
    FAIL("time alone never comes to rest");
  }
  std::string take(const line::Command& command, Instant now) {
    const auto events = line::decide(state, command, now);
    if (!events) return events.error().detail;
    for (const auto& event : *events) line::apply(state, event);
    return {};
  }
  void show(Instant now) {
    plan::Plan fresh = plan::make_plan(state, now, plan ? &*plan : nullptr);
    plan = std::move(fresh);
    for (const auto& [name, document] : wire::build_screens(state, *plan, now).documents) {
      if (name == "pass") pass = read_pass(document);
      if (name.starts_with("station:")) stations[name.substr(8)] = read_station(document);
    }
  }
};

}  // namespace

TEST_CASE("a whole night on the real line comes to its end, with all that goes wrong", "[night]") {
  constexpr std::uint64_t seed = 1;
  Night night(house(), friday(), incidents(), midnight, seed);
  VirtualKitchen kitchen;
  Instant now = night.first_booking() - minutes(5);
  line::Command open;
  open.id = "open";
  open.at = now;
  open.action = line::OpenService{"Friday", kitchen::to_document(house())};
  REQUIRE(kitchen.take(open, now) == "");
  kitchen.show(now);
  const Instant closing = now + std::chrono::hours(7);
  int steps = 0;
  for (; !night.over(kitchen.pass) && now < closing; ++steps) {
    kitchen.elapse(now);
    for (const Deed& deed : night.step(kitchen.pass, kitchen.stations, now)) {
      if (deed.kind == Deed::Kind::ticket) {
        line::Command send;
        send.id = deed.key;
        send.at = now;
        send.action = line::SendTicket{deed.order};
        const std::string refused = kitchen.take(send, now);
        if (refused.empty()) night.ticket_sent(deed.booking, static_cast<int>(kitchen.state.tickets_made));
        if (!refused.empty()) night.ticket_refused(deed.booking, refused, now);
        continue;
      }
      const std::string refused = kitchen.take(command_of(deed, ++kitchen.commands), now);
      if (!refused.empty() && !deed.ask.item.empty()) night.refused(deed, now);
    }
    kitchen.show(now);
    const auto next = night.next(kitchen.pass, kitchen.stations, now);
    now = std::clamp(next.value_or(now + seconds(30)), now + seconds(1), now + seconds(30));
  }
  std::string told;
  for (const std::string& line : night.take_lines()) told += line + "\n";
  INFO(told << night.sum(kitchen.pass) << "; " << steps << " steps");
  CHECK(night.over(kitchen.pass));
  CHECK(now < midnight + std::chrono::hours(24));
  CHECK(told.find("nothing could be ordered") == std::string::npos);
  // All fifteen parties that come have eaten all they ordered.
  int gone = 0;
  for (const auto& [id, ticket] : kitchen.state.tickets) {
    for (const auto& course : ticket.courses) gone += course.state == line::CourseState::gone ? 1 : 0;
  }
  CHECK(kitchen.state.tickets.size() == 15);
  CHECK(gone >= 45);
}
