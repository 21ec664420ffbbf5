#include "common/line/state.hpp"

#include <algorithm>
#include <stdexcept>

namespace nappe::line {
namespace {

template <class Map, class Key>
auto* at_key(Map& map, const Key& key) {
  const auto found = map.find(key);
  return found == map.end() ? nullptr : &found->second;
}

}  // namespace

std::vector<std::string> in_order(std::vector<std::string> names) {
  std::sort(names.begin(), names.end());
  names.erase(std::unique(names.begin(), names.end()), names.end());
  return names;
}

const Record& State::record() const {
  static const Record none;
  return kept ? *kept : none;
}

int Pan::portions_in() const { return begun() ? cooked : static_cast<int>(portions.size()); }

const Run* Pan::running() const {
  if (runs.empty() || runs.back().ended) return nullptr;
  return &runs.back();
}

const Portion* Pan::portion_of(const PlateKey& plate) const {
  const auto found =
      std::find_if(portions.begin(), portions.end(), [&](const Portion& one) { return one.plate == plate; });
  return found == portions.end() ? nullptr : &*found;
}

const Course* Ticket::find_course(std::string_view course) const {
  const auto found = std::find_if(courses.begin(), courses.end(), [&](const Course& c) { return c.course == course; });
  return found == courses.end() ? nullptr : &*found;
}

Course* Ticket::find_course(std::string_view course) {
  return const_cast<Course*>(static_cast<const Ticket&>(*this).find_course(course));
}

int Ticket::covers() const {
  std::set<int> positions;
  for (const Course& course : courses)
    for (const auto& [position, plate] : course.plates) positions.insert(position);
  return static_cast<int>(positions.size());
}

std::vector<std::string> Ticket::allergies_of(int position) const {
  const auto* found = at_key(allergies, position);
  return found == nullptr ? std::vector<std::string>{} : *found;
}

const Ticket* State::find_ticket(TicketId id) const { return at_key(tickets, id); }
const Pan* State::find_pan(PanId id) const { return at_key(pans, id); }

const Plate* State::find_plate(const PlateKey& key) const {
  const Ticket* ticket = find_ticket(key.ticket);
  const Course* course = ticket == nullptr ? nullptr : ticket->find_course(key.course);
  return course == nullptr ? nullptr : at_key(course->plates, key.position);
}

const kitchen::Component& State::component_of(const Pan& pan) const {
  const auto* version = at_key(kitchens, pan.version);
  const auto* component = version == nullptr ? nullptr : (*version)->find_component(pan.component);
  if (component == nullptr) throw std::logic_error("no component " + pan.component + " in kitchen " + pan.version);
  return *component;
}

const kitchen::Kitchen& State::kitchen_of(const Ticket& ticket) const {
  const auto* version = at_key(kitchens, ticket.version);
  if (version == nullptr) throw std::logic_error("no kitchen of version " + ticket.version);
  return **version;
}

std::vector<const Pan*> State::pans_of(const PlateKey& plate) const {
  std::vector<const Pan*> found;
  for (const auto& [id, pan] : pans)
    if (pan.portion_of(plate) != nullptr) found.push_back(&pan);
  return found;
}

std::vector<const Pan*> State::pans_of(const CourseKey& course) const {
  std::vector<const Pan*> found;
  for (const auto& [id, pan] : pans) {
    const bool holds = std::any_of(pan.portions.begin(), pan.portions.end(), [&](const Portion& one) {
      return one.plate.ticket == course.ticket && one.plate.course == course.course;
    });
    if (holds) found.push_back(&pan);
  }
  return found;
}

double State::hands_at(const std::string& station) const {
  const auto* here = kitchen == nullptr ? nullptr : kitchen->find_station(station);
  const auto* present = at_key(hands, station);
  if (here == nullptr || present == nullptr) return 0.0;
  double sum = 0.0;
  for (const auto& person : here->people)
    if (present->count(person.id) != 0) sum += person.counts;
  return sum;
}

}  // namespace nappe::line
