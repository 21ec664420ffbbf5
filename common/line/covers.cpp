#include "common/line/covers.hpp"

#include <algorithm>

namespace nappe::line {

int plates_here(const Course& course) {
  return static_cast<int>(
      std::count_if(course.plates.begin(), course.plates.end(), [](const auto& plate) { return !plate.second.gone; }));
}

bool in_kitchen(const Course& course) {
  return course.state == CourseState::fired || course.state == CourseState::held;
}

int covers_in_kitchen(const State& state) {
  int inside = 0;
  for (const auto& [id, ticket] : state.tickets)
    for (const Course& course : ticket.courses) inside += in_kitchen(course) ? plates_here(course) : 0;
  return inside;
}

}  // namespace nappe::line
