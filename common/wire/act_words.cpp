#include "common/wire/act_words.hpp"

#include <fmt/format.h>

#include "common/wire/screen_view.hpp"
#include "common/words.hpp"

namespace nappe::wire {
namespace {

using line::State;
using line::Ticket;

class Sayer {
 public:
  Sayer(const std::vector<line::Event>& events, const State& state) : events_(events), state_(state) {}

  std::string operator()(const line::Speech& act) const {
    const Ticket& ticket = ticket_of(act.ticket);
    if (!ticket.pause || !ticket.pause->until) return {};
    return fmt::format("table {}: speech until about {}{}", ticket.table, clock(*ticket.pause->until), meets());
  }
  std::string operator()(const line::TableUp& act) const {
    return fmt::format("table {} is up: nothing of theirs that is not begun is begun", ticket_of(act.ticket).table);
  }
  std::string operator()(const line::TableBack& act) const {
    return fmt::format("table {} sits again{}", ticket_of(act.ticket).table, meets());
  }
  std::string operator()(const line::Pace& act) const {
    const std::string moved = meets();
    return fmt::format("table {} goes {}{}", ticket_of(act.ticket).table, act.minutes > 0 ? "slower" : "faster",
                       moved.empty() ? "; nothing of theirs is fired" : moved);
  }
  std::string operator()(const line::Borrow& act) const {
    std::vector<std::string> lent;
    std::vector<std::string> fresh;
    for (const line::Event& event : events_) {
      if (const auto* one = std::get_if<line::PortionLent>(&event.what))
        lent.push_back(fmt::format("{} of table {}", component_of(one->pan), ticket_of(one->from.ticket).table));
      if (const auto* one = std::get_if<line::PanOpened>(&event.what))
        fresh.push_back(
            fmt::format("{} for table {}", component_of(one->pan), ticket_of(one->plates.front().ticket).table));
    }
    return fmt::format("table {} position {} has the {}; new on the list: {}{}", ticket_of(act.ticket).table,
                       act.position, fmt::join(lent, ", the "), fmt::join(fresh, ", "), meets());
  }
  std::string operator()(const line::MovePositions&) const { return moved(); }
  std::string operator()(const line::SplitTable&) const {
    for (const line::Event& event : events_)
      if (const auto* split = std::get_if<line::TicketSplit>(&event.what)) {
        const Ticket& into = ticket_of(split->into);
        return fmt::format("ticket {} of table {} has a meet of its own now: {}", line::number(into.id), into.table,
                           moved());
      }
    return {};
  }
  std::string operator()(const line::MergeTables& act) const {
    const std::string who = moved();
    return fmt::format("tables {} and {} are one{}{}", ticket_of(act.ticket).table, ticket_of(act.into).table,
                       who.empty() ? "" : ": ", who);
  }
  std::string operator()(const line::MoveTable& act) const {
    return fmt::format("ticket {} sits at table {} now", line::number(act.ticket), ticket_of(act.ticket).table);
  }
  std::string operator()(const line::ChangeTicket& act) const {
    const Ticket& ticket = ticket_of(act.ticket);
    std::string out = fmt::format("table {} changed, {}.", ticket.table, counted(ticket.covers(), "cover"));
    for (const auto& [position, allergies] : ticket.allergies)
      if (!allergies.empty()) out += fmt::format(" Position {}: {}.", position, no_words(allergies));
    return out;
  }
  std::string operator()(const line::GuessClear& act) const {
    const Ticket& ticket = ticket_of(act.ticket);
    if (!act.clear_ms) return fmt::format("table {}: nobody can say when it is clear", ticket.table);
    return fmt::format("table {} is clear at about {}", ticket.table, clock(from_ms(*act.clear_ms)));
  }
  std::string operator()(const line::TakeBookings& act) const {
    int covers = 0;
    for (const line::TableBooking& booking : act.bookings) covers += booking.covers;
    if (act.bookings.empty()) return "no table is known to be booked any more";
    return fmt::format("{} booking{} for {} covers are known", act.bookings.size(), act.bookings.size() == 1 ? "" : "s",
                       covers);
  }
  template <class Other>
  std::string operator()(const Other&) const {
    return {};
  }

 private:
  [[nodiscard]] const Ticket& ticket_of(line::TicketId id) const { return state_.tickets.at(id); }
  [[nodiscard]] std::string component_of(line::PanId id) const {
    const line::Pan* pan = state_.find_pan(id);
    return pan == nullptr ? std::string("portion") : state_.component_of(*pan).name;
  }
  [[nodiscard]] std::string clock(Instant at) const {
    return clock_text(at, minutes(state_.kitchen->settings.utc_offset_minutes));
  }
  // "; mains meet 20:24:00"
  [[nodiscard]] std::string meets() const {
    std::string out;
    for (const line::Event& event : events_) {
      if (const auto* one = std::get_if<line::MeetMoved>(&event.what))
        out += fmt::format("; {} meet {}", one->course, clock(from_ms(one->meet_ms)));
      if (const auto* one = std::get_if<line::CourseReleased>(&event.what))
        out += fmt::format("; {} meet {}", one->course, clock(from_ms(one->meet_ms)));
    }
    return out;
  }
  // "position 2 sits at 5 now, NO MILK; position 5 at 2": the allergy is read back with its person.
  [[nodiscard]] std::string moved() const {
    std::vector<std::string> texts;
    for (const line::Event& event : events_) {
      const auto* one = std::get_if<line::PositionsMoved>(&event.what);
      if (one == nullptr) continue;
      const Ticket& from = ticket_of(one->from);
      const Ticket& to = ticket_of(one->to);
      for (const line::SeatMove& move : one->moves) {
        const std::string words = no_words(to.allergies_of(move.to));
        const bool same = from.table == to.table && move.from == move.to;
        std::string text = same ? fmt::format("position {}", move.from)
                           : from.id == to.id
                               ? fmt::format("position {} sits at {} now", move.from, move.to)
                               : fmt::format("position {} of table {} sits at position {} of table {} now", move.from,
                                             from.table, move.to, to.table);
        if (!words.empty()) text += ", " + words;
        texts.push_back(std::move(text));
      }
    }
    return fmt::format("{}", fmt::join(texts, "; "));
  }
  const std::vector<line::Event>& events_;
  const State& state_;
};

}  // namespace

std::string say_act(const line::Command& command, const std::vector<line::Event>& events, const line::State& state) {
  if (state.kitchen == nullptr) return {};
  return std::visit(Sayer(events, state), command.action);
}

}  // namespace nappe::wire
