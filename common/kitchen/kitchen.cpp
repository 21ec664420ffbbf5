#include "common/kitchen/kitchen.hpp"

#include <algorithm>
#include <cmath>

namespace nappe::kitchen {
namespace {

template <class T>
const T* by_id(const std::vector<T>& all, std::string_view id) {
  const auto found = std::find_if(all.begin(), all.end(), [&](const T& one) { return one.id == id; });
  return found == all.end() ? nullptr : &*found;
}

// The 95 % point of the standard normal distribution.
constexpr double z95 = 1.6448536269514722;

}  // namespace

Duration Step::longest(int portions) const {
  if (most) return most->of(portions);
  if (kind == StepKind::rest) return rest_max;
  return from_seconds(in_seconds(usual(portions)) * std::exp(z95 * scatter));
}

const Step* Component::find_step(std::string_view step) const { return by_id(steps, step); }

const Station* Kitchen::find_station(std::string_view id) const { return by_id(stations, id); }
const Component* Kitchen::find_component(std::string_view id) const { return by_id(components, id); }
const Dish* Kitchen::find_dish(std::string_view id) const { return by_id(dishes, id); }
const Table* Kitchen::find_table(std::string_view id) const { return by_id(tables, id); }
const Room* Kitchen::find_room(std::string_view id) const { return by_id(rooms, id); }
const CourseName* Kitchen::find_course(std::string_view id) const { return by_id(courses, id); }

const Dish* Kitchen::find_dish(std::string_view course, std::string_view letter) const {
  const auto found = std::find_if(dishes.begin(), dishes.end(),
                                  [&](const Dish& dish) { return dish.course == course && dish.letter == letter; });
  return found == dishes.end() ? nullptr : &*found;
}

Duration Kitchen::walk_to(std::string_view table) const {
  const Table* found = find_table(table);
  const Room* room = found == nullptr ? nullptr : find_room(found->room);
  return room == nullptr ? Duration::zero() : room->walk;
}

}  // namespace nappe::kitchen
