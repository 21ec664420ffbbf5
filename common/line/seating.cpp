#include "common/line/seating.hpp"

#include <algorithm>

namespace nappe::line {
namespace {

// What one guest takes along.
struct Belongings {
  std::map<std::string, Plate> plates;  // by course
  std::optional<std::vector<std::string>> allergies;
};

Belongings stand_up(Ticket& ticket, int position) {
  Belongings taken;
  for (Course& course : ticket.courses) {
    const auto plate = course.plates.find(position);
    if (plate == course.plates.end()) continue;
    taken.plates[course.course] = std::move(plate->second);
    course.plates.erase(plate);
  }
  const auto allergies = ticket.allergies.find(position);
  if (allergies != ticket.allergies.end()) {
    taken.allergies = std::move(allergies->second);
    ticket.allergies.erase(allergies);
  }
  return taken;
}

// The course of the ticket a guest comes to; it stands as it stood where they come from when nobody there has it.
Course& course_for(Ticket& to, const Course& as_it_was) {
  Course* course = to.find_course(as_it_was.course);
  if (course == nullptr) {
    course = &to.courses.emplace_back();
  } else if (!course->plates.empty()) {
    return *course;
  }
  *course = as_it_was;
  course->plates.clear();
  return *course;
}

void rename(PlateKey& plate, const PositionsMoved& moved) {
  if (plate.ticket != moved.from) return;
  const auto move = std::find_if(moved.moves.begin(), moved.moves.end(),
                                 [&](const SeatMove& one) { return one.from == plate.position; });
  if (move == moved.moves.end()) return;
  plate.ticket = moved.to;
  plate.position = move->to;
}

}  // namespace

void sort_courses(const State& state, Ticket& ticket) {
  const auto& order = state.kitchen_of(ticket).courses;
  const auto rank = [&](const Course& c) {
    return std::find_if(order.begin(), order.end(), [&](const auto& name) { return name.id == c.course; }) -
           order.begin();
  };
  std::stable_sort(ticket.courses.begin(), ticket.courses.end(),
                   [&](const Course& a, const Course& b) { return rank(a) < rank(b); });
}

void move_positions(State& state, const PositionsMoved& moved) {
  Ticket& from = state.tickets.at(moved.from);
  Ticket& to = state.tickets.at(moved.to);
  // All stand up before anyone sits down: two guests may change places.
  std::map<int, Belongings> standing;
  for (const SeatMove& move : moved.moves) standing[move.to] = stand_up(from, move.from);
  const std::vector<Course> courses_before = from.courses;
  for (auto& [position, taken] : standing) {
    for (const Course& course : courses_before) {
      const auto plate = taken.plates.find(course.course);
      if (plate == taken.plates.end()) continue;
      Course& into = moved.from == moved.to ? *to.find_course(course.course) : course_for(to, course);
      into.plates[position] = std::move(plate->second);
    }
    if (taken.allergies) to.allergies[position] = std::move(*taken.allergies);
  }
  sort_courses(state, to);
  for (auto* pans : {&state.pans, &state.past})
    for (auto& [id, pan] : *pans)
      for (Portion& portion : pan.portions) rename(portion.plate, moved);
  for (auto& [id, alert] : state.alerts) rename(alert.plate, moved);
}

}  // namespace nappe::line
