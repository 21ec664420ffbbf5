#include "common/kitchen/origin.hpp"

namespace nappe::kitchen {

double OriginTimes::said_share() const {
  return all() == Duration::zero() ? 0.0 : in_seconds(said) / in_seconds(all());
}

OriginTimes origin_times(const Component& component, int portions) {
  OriginTimes out;
  for (const Step& step : component.steps) {
    const int times = step.group < 0 ? 1 : component.groups[static_cast<std::size_t>(step.group)].usual;
    const Duration takes = step.usual(portions) * times;
    switch (step.origin) {
      case Origin::said:
        out.said += takes;
        break;
      case Origin::timed:
        out.timed += takes;
        break;
      case Origin::learnt:
        out.learnt += takes;
        break;
    }
  }
  return out;
}

OriginTimes origin_times(const Kitchen& kitchen) {
  OriginTimes out;
  for (const Dish& dish : kitchen.dishes) {
    for (const Part& part : dish.parts) {
      const Component* component = kitchen.find_component(part.component);
      if (component == nullptr) continue;
      const OriginTimes one = origin_times(*component, 1);
      out.said += one.said;
      out.timed += one.timed;
      out.learnt += one.learnt;
    }
  }
  return out;
}

}  // namespace nappe::kitchen
