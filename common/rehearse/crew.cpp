#include "common/rehearse/crew.hpp"

#include <algorithm>

namespace nappe::rehearse {

Crew::Crew(const kitchen::Kitchen& kitchen) {
  for (const kitchen::Station& station : kitchen.stations) {
    auto& people = people_.emplace_back();
    for (const kitchen::Person& person : station.people)
      if (person.counts > 0) people.push_back({person.counts, false});
    std::stable_sort(people.begin(), people.end(),
                     [](const Somebody& a, const Somebody& b) { return a.counts > b.counts; });
  }
}

int Crew::free_at(int station) const {
  const auto& people = at(station);
  for (std::size_t i = 0; i < people.size(); ++i)
    if (!people[i].busy) return static_cast<int>(i);
  return -1;
}

double Crew::hands(int station) const {
  double sum = 0;
  for (const Somebody& one : at(station)) sum += one.counts;
  return sum;
}

Kit::Kit(const kitchen::Kitchen& kitchen) {
  for (const kitchen::Station& station : kitchen.stations)
    for (const kitchen::Equipment& equipment : station.equipment) {
      index_[equipment.id] = static_cast<int>(size_.size());
      size_.push_back(equipment.places);
    }
  used_.assign(size_.size(), 0);
}

Kit::Places Kit::places(const kitchen::Step& step, int portions) const {
  Places out;
  for (const kitchen::Use& use : step.uses) {
    const auto found = index_.find(use.equipment);
    if (found == index_.end() || use.of(portions) <= 0) continue;
    out = both(out, {{found->second, use.of(portions)}});
  }
  return out;
}

Kit::Places Kit::both(const Places& a, const Places& b) {
  Places out = a;
  for (const auto& [equipment, n] : b) {
    const auto same = std::find_if(out.begin(), out.end(), [&](const auto& one) { return one.first == equipment; });
    if (same == out.end())
      out.emplace_back(equipment, n);
    else
      same->second = std::max(same->second, n);
  }
  std::sort(out.begin(), out.end());
  return out;
}

bool Kit::room_for(const Places& wanted, const Places& held) const {
  return std::all_of(wanted.begin(), wanted.end(), [&](const auto& want) {
    const auto own = std::find_if(held.begin(), held.end(), [&](const auto& one) { return one.first == want.first; });
    const auto i = static_cast<std::size_t>(want.first);
    const int others = used_[i] - (own == held.end() ? 0 : own->second);
    return others + want.second <= size_[i];
  });
}

void Kit::change(Places& held, Places wanted) {
  for (const auto& [equipment, n] : held) used_[static_cast<std::size_t>(equipment)] -= n;
  for (const auto& [equipment, n] : wanted) used_[static_cast<std::size_t>(equipment)] += n;
  held = std::move(wanted);
}

}  // namespace nappe::rehearse
