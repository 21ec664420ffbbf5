#include "common/kitchen/worth.hpp"

#include <algorithm>

namespace nappe::kitchen {

Duration hands_for(const Kitchen& kitchen, const Dish& dish, const std::string& station, int together) {
  Duration sum{};
  for (const Part& part : dish.parts) {
    const Component* component = kitchen.find_component(part.component);
    if (component == nullptr || component->station != station) continue;
    const int portions = std::clamp(together, 1, component->cap);
    Duration pan{};
    for (const Step& step : component->steps) {
      if (!step.by_hand()) continue;
      const int times = step.group < 0 ? 1 : component->groups[static_cast<std::size_t>(step.group)].usual;
      pan += step.usual(portions) * times;
    }
    sum += pan / portions;
  }
  return sum;
}

std::vector<Tightness> tightest_stations(const Kitchen& kitchen, int together) {
  std::vector<Tightness> out;
  for (const Station& station : kitchen.stations) {
    double pairs = 0;
    for (const Person& person : station.people) pairs += person.counts;
    if (pairs <= 0) continue;
    double asked = 0;
    for (const CourseName& course : kitchen.courses) {
      double of_course = 0;
      int dishes = 0;
      for (const Dish& dish : kitchen.dishes) {
        if (dish.course != course.id) continue;
        of_course += in_seconds(hands_for(kitchen, dish, station.id, together));
        ++dishes;
      }
      if (dishes > 0) asked += of_course / dishes;
    }
    if (asked > 0) out.push_back({station.id, from_seconds(asked / pairs)});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Tightness& a, const Tightness& b) { return a.per_cover > b.per_cover; });
  return out;
}

std::vector<Worth> worth_of(const Kitchen& kitchen, const std::string& station, int together) {
  std::vector<Worth> out;
  for (const Dish& dish : kitchen.dishes) {
    const Duration hands = hands_for(kitchen, dish, station, together);
    if (hands <= Duration::zero()) continue;
    const auto brings = static_cast<double>(dish.price_pence - dish.food_cost_pence);
    out.push_back({dish.id, hands, brings / (in_seconds(hands) / 60)});
  }
  std::sort(out.begin(), out.end(), [](const Worth& a, const Worth& b) {
    return a.pence_per_minute != b.pence_per_minute ? a.pence_per_minute > b.pence_per_minute : a.dish < b.dish;
  });
  return out;
}

}  // namespace nappe::kitchen
