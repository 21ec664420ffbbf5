#include <fmt/format.h>

#include <cstdint>
#include <string_view>

#include "common/bits.hpp"
#include "common/line/line.hpp"

namespace nappe::line {
namespace {

// Each field is closed by a zero byte, so that "ab","c" is not "a","bc".
class Hash {
 public:
  void add(std::string_view text) { hash_ = fnv1a(std::string_view("\0", 1), fnv1a(text, hash_)); }
  void add(std::int64_t n) { add(std::to_string(n)); }
  void add(const std::optional<Instant>& at) { add(at ? std::to_string(to_ms(*at)) : std::string("-")); }
  [[nodiscard]] std::string text() const { return fmt::format("{:016x}", hash_); }

 private:
  std::uint64_t hash_ = fnv1a_start;
};

void add(Hash& h, const PlateKey& key) {
  h.add(number(key.ticket));
  h.add(key.course);
  h.add(key.position);
}

void add(Hash& h, const std::set<Mark>& marks) {
  for (const Mark mark : marks) h.add(static_cast<std::int64_t>(mark));
  h.add("");
}

void add(Hash& h, const Pan& pan) {
  h.add(number(pan.id));
  for (const auto* text : {&pan.component, &pan.station, &pan.letter, &pan.version}) h.add(*text);
  for (const Portion& portion : pan.portions) {
    add(h, portion.plate);
    h.add(portion.plated);
  }
  for (const auto& allergy : pan.allergies) h.add(allergy);
  h.add(pan.cooked);
  h.add(pan.place.step);
  h.add(pan.place.round);
  for (const Run& run : pan.runs) {
    h.add(run.step);
    h.add(run.round);
    h.add(to_ms(run.started));
    h.add(run.ended);
    h.add(run.start_inferred * 2 + run.end_inferred);
    add(h, run.marks);
  }
  for (const auto& [group, rounds] : pan.rounds) h.add(group * 1000 + rounds);
  h.add(pan.finished);
  add(h, pan.marks);
}

void add(Hash& h, const Ticket& ticket) {
  h.add(number(ticket.id));
  h.add(ticket.table);
  h.add(ticket.version);
  h.add(ticket.cancelled);
  h.add(number(ticket.order));
  h.add(number(ticket.merged));
  for (const auto& table : ticket.joined) h.add(table);
  if (ticket.pause) {
    h.add(static_cast<std::int64_t>(ticket.pause->why));
    h.add(to_ms(ticket.pause->since));
    h.add(ticket.pause->until);
  }
  h.add(ticket.pace.count());
  for (const auto& [position, names] : ticket.allergies) {
    h.add(position);
    for (const auto& name : names) h.add(name);
  }
  for (const Course& course : ticket.courses) {
    h.add(course.course);
    h.add(static_cast<std::int64_t>(course.state));
    h.add(course.meet);
    h.add(course.fired_at);
    h.add(course.gone_at);
    h.add(course.clear);
    if (course.clear_sd) h.add(course.clear_sd->count());
    h.add(course.spread.count());
    for (const auto& [position, plate] : course.plates) {
      h.add(position);
      h.add(plate.wanted.dish);
      h.add(plate.wanted.change);
      for (const auto& off : plate.wanted.left_off) h.add(off);
      h.add(plate.gone);
      for (const auto& [component, allergen] : plate.blocked) h.add(component + "=" + allergen);
      for (const auto& component : plate.cleared) h.add(component);
      h.add(plate.refires);
      for (const auto& [component, table] : plate.borrowed) h.add(component + "<" + table);
      for (const auto& [component, table] : plate.lent) h.add(component + ">" + table);
    }
  }
}

}  // namespace

std::string fingerprint(const State& state) {
  Hash h;
  h.add(static_cast<std::int64_t>(state.service));
  h.add(state.name);
  h.add(state.kitchen == nullptr ? "" : state.kitchen->version);
  for (const auto& [station, present] : state.hands) {
    h.add(station);
    for (const auto& person : present) h.add(person);
  }
  for (const auto& [dish, left] : state.left) {
    h.add(dish);
    h.add(left);
  }
  for (const TableBooking& booking : state.bookings) {
    h.add(booking.table);
    h.add(booking.at_ms);
    h.add(booking.covers);
  }
  for (const auto& [id, ticket] : state.tickets) add(h, ticket);
  for (const auto* pans : {&state.pans, &state.past}) {
    h.add("pans");
    for (const auto& [id, pan] : *pans) add(h, pan);
  }
  for (const auto& [id, alert] : state.alerts) {
    h.add(number(id));
    h.add(static_cast<std::int64_t>(alert.kind));
    h.add(to_ms(alert.raised));
    h.add(alert.answered * 2 + alert.escalated);
    if (alert.batch) h.add(*alert.batch);
    h.add(alert.shelved_until);
  }
  for (const auto& [station, press] : state.presses) {
    h.add(station);
    h.add(number(press.pan));
    h.add(press.step);
    h.add(press.round * 2 + press.begun);
    h.add(to_ms(press.at));
  }
  h.add(state.tickets_made);
  h.add(state.pans_made);
  h.add(state.alerts_made);
  if (state.kept) {
    for (const std::string& line : in_lines(*state.kept)) h.add(line);
  }
  return h.text();
}

}  // namespace nappe::line
