// Tables: who sits where, two tables that become one, one that becomes two; tables that wait, go slower or faster.
#include <fmt/format.h>

#include <algorithm>

#include "common/line/decide.hpp"

namespace nappe::line {
namespace {

constexpr int pause_max = 120;  // minutes
constexpr int pace_max = 60;

bool is_taken(const Ticket& ticket, int position) {
  if (ticket.allergies.count(position) != 0) return true;
  return std::any_of(ticket.courses.begin(), ticket.courses.end(),
                     [&](const Course& course) { return course.plates.count(position) != 0; });
}

bool moves_away(const std::vector<SeatMove>& moves, int position) {
  return std::any_of(moves.begin(), moves.end(), [&](const SeatMove& one) { return one.from == position; });
}

const char* state_words(CourseState state) {
  return state == CourseState::waiting ? "not fired"
         : state == CourseState::fired ? "fired"
         : state == CourseState::held  ? "held"
                                       : "gone";
}

// Each seat that is left was somebody's, each that is taken is free, there is one, and nobody sits on two.
Status check_seats(const State& state, const Ticket& from, const Ticket& to, const std::vector<SeatMove>& moves) {
  if (moves.empty()) return Error{Errc::invalid, "say who moves, as position and new position", "/moves"};
  for (std::size_t i = 0; i < moves.size(); ++i) {
    const SeatMove& move = moves[i];
    const std::string where = fmt::format("/moves/{}", i);
    for (std::size_t k = 0; k < i; ++k)
      if (moves[k].from == move.from || moves[k].to == move.to)
        return Error{Errc::invalid,
                     fmt::format("position {} is named twice", moves[k].from == move.from ? move.from : move.to),
                     where};
    if (!is_taken(from, move.from))
      return Error{Errc::unknown, fmt::format("nobody sits at {}", position_text(from, move.from)), where};
    if (move.to < 1 || move.to > seats_of(state, to))
      return Error{Errc::invalid,
                   fmt::format("table {} has no position {}; it seats {}", to.table, move.to, seats_of(state, to)),
                   where};
    const bool left = from.id == to.id && moves_away(moves, move.to);
    if (is_taken(to, move.to) && !left)
      return Error{Errc::conflict, fmt::format("somebody sits at {} already", position_text(to, move.to)), where};
  }
  return Done{};
}

// Guests may come to a table only in the course it is in: what is fired cannot wait for what is not.
Status check_courses(const Ticket& from, const Ticket& to, const std::vector<SeatMove>& moves) {
  for (const Course& course : from.courses) {
    const Course* there = to.find_course(course.course);
    if (there == nullptr || there->plates.empty() || there->state == course.state) continue;
    for (const SeatMove& move : moves)
      if (course.plates.count(move.from) != 0)
        return Error{
            Errc::conflict,
            fmt::format("the {} of table {} are {}, those of table {} {}: bring them to the same state first",
                        course.course, from.table, state_words(course.state), to.table, state_words(there->state))};
  }
  return Done{};
}

void move_guests(Trial& trial, TicketId from, TicketId to, const std::vector<SeatMove>& moves) {
  trial.add(PositionsMoved{from, to, moves});
  if (from == to) return;
  for (const TicketId id : {from, to}) {
    const Ticket ticket = *trial.state().find_ticket(id);
    for (const Course& course : ticket.courses) {
      if (course.plates.empty()) continue;
      Happenings out;
      if (course.meet && id == to) unshare_far(trial.state(), ticket, {id, course.course}, *course.meet, out);
      close_course(trial.asked(), {&ticket, &course}, out);
      trial.add(std::move(out));
    }
  }
}

std::vector<int> positions_of(const Ticket& ticket) {
  std::set<int> positions;
  for (const auto& [position, names] : ticket.allergies) positions.insert(position);
  for (const Course& course : ticket.courses)
    for (const auto& [position, plate] : course.plates) positions.insert(position);
  return {positions.begin(), positions.end()};
}

// The fired courses of a ticket that have not gone.
std::vector<const Course*> cooking(const Ticket& ticket, std::initializer_list<CourseState> states) {
  std::vector<const Course*> found;
  for (const Course& course : ticket.courses)
    if (std::find(states.begin(), states.end(), course.state) != states.end() && !course.plates.empty())
      found.push_back(&course);
  return found;
}

void move_meet(Trial& trial, const Ticket& ticket, const Course& course, Instant meet) {
  if (course.meet && meet == *course.meet) return;
  const CourseKey key{ticket.id, course.course};
  Happenings out{MeetMoved{ticket.id, course.course, to_ms(meet)}};
  unshare_far(trial.state(), ticket, key, meet, out);
  trial.add(std::move(out));
}

void move_clear(Trial& trial, const Ticket& ticket, Duration by) {
  for (const Course& course : ticket.courses)
    if (course.state == CourseState::waiting && course.clear)
      trial.add(clear_guessed(ticket.id, course, *course.clear + by));
}

}  // namespace

int seats_of(const State& state, const Ticket& ticket) {
  const auto& kitchen = state.kitchen_of(ticket);
  const auto of = [&](const std::string& table) {
    const auto* known = kitchen.find_table(table);
    return known == nullptr ? 0 : known->seats;
  };
  int seats = of(ticket.table);
  for (const std::string& table : ticket.joined) seats += of(table);
  return seats;
}

Decision decide_on(const Asked& asked, const MovePositions& action) {
  const auto from = ticket_of(asked.state, action.ticket);
  if (!from) return from.error();
  const auto to = ticket_of(asked.state, action.into.value_or(action.ticket));
  if (!to) return to.error();
  std::vector<SeatMove> moves;
  for (const SeatMove& move : action.moves)
    if (*from != *to || move.from != move.to) moves.push_back(move);
  if (Status fine = check_seats(asked.state, **from, **to, moves); !fine) return fine.error();
  if (*from != *to) {
    if ((*from)->version != (*to)->version)
      return Error{Errc::conflict,
                   fmt::format("tables {} and {} ordered from different cards", (*from)->table, (*to)->table)};
    if (Status fine = check_courses(**from, **to, moves); !fine) return fine.error();
  }
  Trial trial(asked);
  move_guests(trial, (*from)->id, (*to)->id, moves);
  return trial.take();
}

Decision decide_on(const Asked& asked, const MoveTable& action) {
  const auto found = ticket_of(asked.state, action.ticket);
  if (!found) return found.error();
  const Ticket& ticket = **found;
  const auto* table = asked.state.kitchen_of(ticket).find_table(action.table);
  if (table == nullptr) return Error{Errc::unknown, fmt::format("there is no table \"{}\"", action.table), "/table"};
  const auto positions = positions_of(ticket);
  if (!positions.empty() && positions.back() > table->seats)
    return Error{Errc::conflict, fmt::format("table {} seats {}, and somebody sits at position {}: move them first",
                                             table->id, table->seats, positions.back())};
  if (table->id == ticket.table) return Happenings{};
  return Happenings{TableChanged{ticket.id, table->id}};
}

Decision decide_on(const Asked& asked, const SplitTable& action) {
  const auto found = ticket_of(asked.state, action.ticket);
  if (!found) return found.error();
  const Ticket& ticket = **found;
  const std::string table = action.table.value_or(ticket.table);
  if (asked.state.kitchen_of(ticket).find_table(table) == nullptr)
    return Error{Errc::unknown, fmt::format("there is no table \"{}\"", table), "/table"};
  std::vector<SeatMove> moves;
  for (const int position : action.positions) moves.push_back({position, position});
  // At another table they sit down from 1 on.
  if (table != ticket.table) {
    std::sort(moves.begin(), moves.end(), [](const SeatMove& a, const SeatMove& b) { return a.from < b.from; });
    for (std::size_t i = 0; i < moves.size(); ++i) moves[i].to = static_cast<int>(i) + 1;
  }
  if (positions_of(ticket).size() == moves.size())
    return Error{Errc::conflict, fmt::format("that is all of table {}: move the table instead", ticket.table)};
  Trial trial(asked);
  const TicketId id{asked.state.tickets_made + 1};
  trial.add(TicketSplit{ticket.id, id, table});
  if (Status fine = check_seats(trial.state(), ticket, *trial.state().find_ticket(id), moves); !fine)
    return fine.error();
  move_guests(trial, ticket.id, id, moves);
  return trial.take();
}

Decision decide_on(const Asked& asked, const MergeTables& action) {
  const auto from = ticket_of(asked.state, action.ticket);
  if (!from) return from.error();
  const auto to = ticket_of(asked.state, action.into);
  if (!to) return to.error();
  if (*from == *to) return Error{Errc::invalid, "a table cannot be pushed to itself", "/into"};
  if ((*from)->version != (*to)->version)
    return Error{Errc::conflict,
                 fmt::format("tables {} and {} ordered from different cards", (*from)->table, (*to)->table)};
  const auto sitting = positions_of(**to);
  int next = sitting.empty() ? 1 : sitting.back() + 1;
  const auto coming = positions_of(**from);
  std::set<int> taken(sitting.begin(), sitting.end());
  for (const int position : coming) next = std::max(next, position + 1);
  std::vector<SeatMove> moves;
  for (const int position : coming) {
    const int seat = taken.count(position) == 0 ? position : next++;
    taken.insert(seat);
    moves.push_back({position, seat});
  }
  if (Status fine = check_courses(**from, **to, moves); !fine) return fine.error();
  Trial trial(asked);
  if (!moves.empty()) move_guests(trial, (*from)->id, (*to)->id, moves);
  trial.add(TicketMerged{(*from)->id, (*to)->id});
  return trial.take();
}

Decision decide_on(const Asked& asked, const Speech& action) {
  const auto found = ticket_of(asked.state, action.ticket);
  if (!found) return found.error();
  if (action.minutes < 1 || action.minutes > pause_max)
    return Error{Errc::invalid, fmt::format("a speech lasts 1 to {} minutes", pause_max), "/minutes"};
  const Ticket& ticket = **found;
  const Instant until = asked.now + minutes(action.minutes);
  Trial trial(asked);
  trial.add(TablePaused{ticket.id, PauseKind::speech, to_ms(until)});
  for (const Course* course : cooking(ticket, {CourseState::fired, CourseState::held}))
    move_meet(trial, ticket, *course, std::max(course->meet.value_or(until), until));
  move_clear(trial, ticket, minutes(action.minutes));
  return trial.take();
}

Decision decide_on(const Asked& asked, const TableUp& action) {
  const auto found = ticket_of(asked.state, action.ticket);
  if (!found) return found.error();
  const Ticket& ticket = **found;
  if (ticket.pause && ticket.pause->why == PauseKind::up) return Happenings{};
  Trial trial(asked);
  trial.add(TablePaused{ticket.id, PauseKind::up, {}});
  for (const Course* course : cooking(ticket, {CourseState::fired}))
    if (Status fine = trial.ask(Hold{ticket.id, course->course}); !fine) return fine.error();
  return trial.take();
}

Decision decide_on(const Asked& asked, const TableBack& action) {
  const auto found = ticket_of(asked.state, action.ticket);
  if (!found) return found.error();
  const Ticket& ticket = **found;
  if (!ticket.pause) return Error{Errc::conflict, fmt::format("table {} is not waiting for anything", ticket.table)};
  Trial trial(asked);
  trial.add(TableResumed{ticket.id});
  // Nobody eats meanwhile; a speech was counted when it began, at the length that was guessed.
  move_clear(trial, ticket, asked.now - ticket.pause->until.value_or(ticket.pause->since));
  if (ticket.pause->why == PauseKind::up)
    for (const Course* course : cooking(ticket, {CourseState::held}))
      if (Status fine = trial.ask(Release{ticket.id, course->course, {}}); !fine) return fine.error();
  return trial.take();
}

Decision decide_on(const Asked& asked, const Pace& action) {
  const auto found = ticket_of(asked.state, action.ticket);
  if (!found) return found.error();
  if (action.minutes == 0 || std::abs(action.minutes) > pace_max)
    return Error{Errc::invalid, fmt::format("slower or faster is by 1 to {} minutes", pace_max), "/minutes"};
  const Ticket& ticket = **found;
  const Duration by = minutes(action.minutes);
  Trial trial(asked);
  trial.add(PaceAsked{ticket.id, action.minutes});
  for (const Course* course : cooking(ticket, {CourseState::fired, CourseState::held})) {
    // Nothing cooks faster for being asked to: faster ends at what can still be.
    const Instant soonest =
        soonest_meet(asked.state, asked.state.pans_of(CourseKey{ticket.id, course->course}), asked.now);
    const Instant meet = course->meet.value_or(soonest);
    move_meet(trial, ticket, *course, by > Duration::zero() ? meet + by : std::min(meet, std::max(meet + by, soonest)));
  }
  move_clear(trial, ticket, by);
  return trial.take();
}

Decision decide_on(const Asked& asked, const GuessClear& action) {
  const auto found = course_of(asked.state, action.ticket, action.course);
  if (!found) return found.error();
  if (found->course->state != CourseState::waiting)
    return Error{Errc::conflict, fmt::format("the {} have been fired already", course_text(*found))};
  if (action.clear_ms) {
    const Instant clear = from_ms(*action.clear_ms);
    if (clear < asked.now - minutes(5) || clear > asked.now + std::chrono::hours(4))
      return Error{Errc::invalid, "a table is clear between now and four hours from now", "/clear_ms"};
  }
  return Happenings{ClearGuessed{action.ticket, action.course, action.clear_ms}};
}

Decision decide_on(const Asked& asked, const TakeBookings& action) {
  constexpr Duration far = std::chrono::hours(24);
  auto bookings = action.bookings;
  for (std::size_t i = 0; i < bookings.size(); ++i) {
    const TableBooking& one = bookings[i];
    const std::string where = fmt::format("/bookings/{}", i);
    const auto* table = asked.state.kitchen->find_table(one.table);
    if (table == nullptr) return Error{Errc::unknown, fmt::format("there is no table \"{}\"", one.table), where};
    if (one.covers < 1 || one.covers > table->seats)
      return Error{Errc::invalid,
                   fmt::format("{} covers at table {}, which seats {}", one.covers, one.table, table->seats), where};
    const Instant at = from_ms(one.at_ms);
    if (at < asked.now - far || at > asked.now + far)
      return Error{Errc::invalid, fmt::format("the booking of table {} is for another day", one.table), where};
    for (std::size_t k = 0; k < i; ++k)
      if (bookings[k].table == one.table && bookings[k].at_ms == one.at_ms)
        return Error{Errc::conflict, fmt::format("table {} is booked twice for the same time", one.table), where};
  }
  std::stable_sort(bookings.begin(), bookings.end(),
                   [](const TableBooking& a, const TableBooking& b) { return a.at_ms < b.at_ms; });
  if (bookings == asked.state.bookings) return Happenings{};
  return Happenings{BookingsTaken{std::move(bookings)}};
}

}  // namespace nappe::line
