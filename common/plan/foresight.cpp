#include "common/plan/foresight.hpp"

#include <algorithm>

namespace nappe::plan {
namespace {

using line::CourseKey;
using line::CourseState;

// So many answers to "if it were fired now" are worked out in full: each is a plan of its own.
constexpr std::size_t full_answers_max = 4;
// So many waiting courses are put behind what is planned; more are no service but a flood, and are told their own time.
constexpr std::size_t waiting_max = 80;
// Whoever ordered this long before a booking or later is the party that is booked, come early.
constexpr Duration early_party = minutes(20);

bool sits(const line::Ticket& ticket) { return !ticket.cancelled && ticket.merged == line::TicketId{}; }

}  // namespace

Duration eating_time(const line::State& state, const line::Ticket& ticket, const std::string& course) {
  const auto* named = state.kitchen_of(ticket).find_course(course);
  return named == nullptr || !named->eating ? Duration::zero() : named->eating->mean;
}

void Foresight::after(Table& table, const line::Course& course, Instant leaves) const {
  const Duration walk = state_.kitchen_of(*table.ticket).walk_to(table.ticket->table);
  table.clear = std::max(table.clear, leaves + walk + eating_time(state_, *table.ticket, course.course));
  ++table.next;
}

// On to the table's next course of which nobody has said yet when it meets; false when there is none.
bool Foresight::go_on(Table& table) const {
  while (table.next < table.ticket->courses.size()) {
    const line::Course& course = table.ticket->courses[table.next];
    const auto planned = plan_.courses.find({table.ticket->id, course.course});
    if (course.plates.empty()) {
      ++table.next;
    } else if (course.state == CourseState::gone) {
      after(table, course, course.gone_at.value_or(plan_.made));
    } else if (course.state != CourseState::waiting || (planned != plan_.courses.end() && planned->second.expected)) {
      table.served = false;
      after(table, course, planned == plan_.courses.end() ? plan_.made : planned->second.meet);
    } else {
      // What people or the house said of this course stands; without a word it is as the one before is eaten.
      if (course.clear) table.clear = *course.clear;
      if (table.ticket->pause && table.ticket->pause->until)
        table.clear = std::max(table.clear, *table.ticket->pause->until);
      return true;
    }
  }
  return false;
}

void Foresight::place(KitchenPlanner& planner, ServiceProblem service, Schedule schedule) {
  std::vector<Table> tables;
  for (const auto& [id, ticket] : state_.tickets)
    if (sits(ticket)) tables.push_back({&ticket, 0, {}, true});
  for (std::size_t placed = 0;;) {
    std::vector<Waiting> waiting;
    std::vector<Table*> theirs;
    for (Table& table : tables) {
      if (!go_on(table)) continue;
      const line::Course& course = table.ticket->courses[table.next];
      waiting.push_back({{table.ticket->id, course.course}, table.clear});
      theirs.push_back(&table);
      if (table.served && table.clear <= plan_.made)
        could_fire_.emplace_back(table.ticket->sent, waiting.back().course);
    }
    if (waiting.empty()) break;
    const std::size_t known = service.courses.size();
    std::map<CourseKey, Instant> meets;
    if (placed + waiting.size() <= waiting_max) {
      placed += waiting.size();
      add_waiting(service, state_, plan_.made, waiting);
      schedule = planner.add(service.problem, schedule);
    }
    for (std::size_t c = known; c < service.courses.size(); ++c)
      meets[service.courses[c]] = service.origin + schedule.meet[c] * tick_length;
    for (std::size_t i = 0; i < waiting.size(); ++i) {
      const auto found = meets.find(waiting[i].course);
      const auto planned = plan_.courses.find(waiting[i].course);
      Instant meet = std::max(waiting[i].clear, plan_.made);
      if (planned != plan_.courses.end()) {
        const Duration alone = std::max(Duration::zero(), planned->second.meet - plan_.made);
        meet = found == meets.end() ? meet + alone : found->second;
        // Its own scatter is that of the course alone.
        set(waiting[i].course, meet, meet + std::max(Duration::zero(), planned->second.word - planned->second.meet));
      }
      Table& table = *theirs[i];
      table.served = false;
      after(table, table.ticket->courses[table.next], meet);
    }
  }
}

std::vector<CourseKey> Foresight::could_fire() const {
  auto order = could_fire_;
  std::sort(order.begin(), order.end());
  if (order.size() > full_answers_max) order.resize(full_answers_max);
  std::vector<CourseKey> courses;
  for (const auto& [sent, course] : order) courses.push_back(course);
  return courses;
}

void Foresight::set(const CourseKey& course, Instant meet, Instant word) {
  CoursePlan& plan = plan_.courses[course];
  plan.meet = std::chrono::ceil<std::chrono::seconds>(meet);
  plan.word = std::chrono::ceil<std::chrono::minutes>(std::max(word, plan.meet));
}

namespace {

// The last course the table is to eat, when it leaves (or left); nothing when they have not ordered.
std::optional<std::pair<const line::Course*, Instant>> last_of(const line::Ticket& ticket, const Plan& plan) {
  const line::Course* last = nullptr;
  Instant leaves{};
  for (const line::Course& course : ticket.courses) {
    if (course.plates.empty()) continue;
    Instant at = course.gone_at.value_or(plan.made);
    if (course.state != CourseState::gone) {
      const auto planned = plan.courses.find({ticket.id, course.course});
      if (planned != plan.courses.end()) at = std::max(at, planned->second.meet);
    }
    last = &course;
    leaves = std::max(leaves, at);
  }
  if (last == nullptr) return std::nullopt;
  return std::pair(last, leaves);
}

bool at_table(const line::Ticket& ticket, const std::string& table) {
  return ticket.table == table || std::find(ticket.joined.begin(), ticket.joined.end(), table) != ticket.joined.end();
}

}  // namespace

void find_wanted_again(const line::State& state, Plan& plan) {
  for (const line::TableBooking& booking : state.bookings) {
    const Instant booked = from_ms(booking.at_ms);
    std::optional<TableWanted> worst;
    bool here = false;  // the party that is booked has ordered
    for (const auto& [id, ticket] : state.tickets) {
      if (!sits(ticket) || !at_table(ticket, booking.table)) continue;
      if (ticket.sent >= booked - early_party) {
        here = true;
        continue;
      }
      const auto last = last_of(ticket, plan);
      if (!last) continue;
      TableWanted wanted{booking.table, id, booked, booking.covers, last->first->course, last->second, {}};
      wanted.free_from = last->second + state.kitchen_of(ticket).walk_to(booking.table) +
                         eating_time(state, ticket, wanted.course) + state.kitchen->settings.relay;
      if (wanted.free_from <= std::max(booked, plan.made)) continue;
      if (!worst || wanted.free_from > worst->free_from) worst = wanted;
    }
    if (worst && !here) plan.wanted.push_back(*worst);
  }
}

}  // namespace nappe::plan
