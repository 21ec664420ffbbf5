// The words of the screens: allergies first, in capitals; changes; what is missing; tables.

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <set>
#include <utility>

#include "common/kitchen/allergen.hpp"
#include "common/wire/screen_view.hpp"

namespace nappe::wire {
namespace {

std::string capitals(std::string text) {
  for (char& c : text) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  return text;
}

void add_once(std::vector<std::string>& list, const std::string& text) {
  if (!text.empty() && std::find(list.begin(), list.end(), text) == list.end()) list.push_back(text);
}

// A portion that has not gone, with its guest.
struct Guest {
  line::PlateKey key;
  const line::Ticket* ticket = nullptr;
  const line::Plate* plate = nullptr;
  std::vector<std::string> allergies;
};

std::vector<Guest> guests_of(const View& view, const PanView& pan) {
  std::vector<Guest> guests;
  for (const line::Portion& portion : pan.pan->portions) {
    const line::Ticket* ticket = view.state().find_ticket(portion.plate.ticket);
    const line::Plate* plate = view.state().find_plate(portion.plate);
    if (ticket == nullptr || plate == nullptr || plate->gone) continue;
    guests.push_back({portion.plate, ticket, plate, ticket->allergies_of(portion.plate.position)});
  }
  return guests;
}

// "position 2", "positions 2, 3", "table 10 position 2, table 12 position 1".
std::string positions_text(const PanView& pan, const std::vector<const Guest*>& guests) {
  std::vector<std::string> texts;
  if (pan.courses.size() > 1) {
    for (const Guest* guest : guests) {
      texts.push_back(fmt::format("table {} position {}", guest->ticket->table, guest->key.position));
    }
    return fmt::format("{}", fmt::join(texts, ", "));
  }
  for (const Guest* guest : guests) texts.push_back(std::to_string(guest->key.position));
  return fmt::format("{} {}", texts.size() == 1 ? "position" : "positions", fmt::join(texts, ", "));
}

// What the cook does to leave these allergens out of this component.
std::vector<std::string> instructions(const kitchen::Component& component, const std::set<std::string>& allergies) {
  std::vector<std::string> done;
  for (const std::string& allergen : component.allergens) {
    const bool met = std::any_of(allergies.begin(), allergies.end(),
                                 [&](const std::string& allergy) { return kitchen::meets(allergy, allergen); });
    if (!met) continue;
    const auto how = component.without.find(allergen);
    add_once(done, how != component.without.end() ? how->second
                                                  : fmt::format("{} cannot be left out, ask the pass", allergen));
  }
  return done;
}

}  // namespace

std::string joined_tables(std::vector<std::string> tables) {
  // Numbers by their value, names behind them by their letters.
  const auto is_number = [](const std::string& text) {
    return !text.empty() && text.size() < 10 &&
           std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
  };
  const auto before = [&](const std::string& a, const std::string& b) {
    if (is_number(a) != is_number(b)) return is_number(a);
    if (is_number(a) && std::stol(a) != std::stol(b)) return std::stol(a) < std::stol(b);
    return a < b;
  };
  std::sort(tables.begin(), tables.end(), before);
  tables.erase(std::unique(tables.begin(), tables.end()), tables.end());
  return fmt::format("{}", fmt::join(tables, ", "));
}

std::string allergy_names(const std::vector<std::string>& allergies) {
  std::vector<std::string> names;
  for (const std::string& allergy : allergies) add_once(names, capitals(allergy));
  return fmt::format("{}", fmt::join(names, ", "));
}

std::string no_words(const std::vector<std::string>& allergies) {
  std::vector<std::string> words;
  for (const std::string& allergy : allergies) add_once(words, "NO " + capitals(allergy));
  return fmt::format("{}", fmt::join(words, ", "));
}

std::string pan_words(const View& view, const PanView& pan, PanWords wanted) {
  if (!pan.allergies) return {};
  const std::vector<Guest> guests = guests_of(view, pan);
  // Guests of one pan have the same allergies, unless one was told after the pan was begun.
  std::map<std::vector<std::string>, std::vector<const Guest*>> groups;
  std::set<std::string> all(pan.pan->allergies.begin(), pan.pan->allergies.end());
  std::size_t allergic = 0;
  for (const Guest& guest : guests) {
    if (guest.allergies.empty()) continue;
    groups[guest.allergies].push_back(&guest);
    all.insert(guest.allergies.begin(), guest.allergies.end());
    ++allergic;
  }
  if (all.empty()) return {};
  const bool named = wanted.positions || allergic == 1;
  std::vector<std::string> texts;
  for (const auto& [allergies, of] : groups) {
    texts.push_back(named ? fmt::format("{}, {}", no_words(allergies), positions_text(pan, of)) : no_words(allergies));
  }
  if (groups.empty()) texts.push_back(no_words(pan.pan->allergies));
  std::string words = fmt::format("{}", fmt::join(texts, "; "));
  if (wanted.clean) words = fmt::format("CLEAN {}, {}", capitals(pan.component->vessel), words);
  if (!wanted.how) return words;
  const std::vector<std::string> how = instructions(*pan.component, all);
  if (!how.empty()) words += fmt::format(": {}", fmt::join(how, "; "));
  return words;
}

std::string plate_change(const View& view, const line::Ticket& ticket, const line::Plate& plate) {
  std::vector<std::string> changes;
  add_once(changes, plate.wanted.change);
  const kitchen::Kitchen& kitchen = view.state().kitchen_of(ticket);
  for (const std::string& off : plate.wanted.left_off) {
    const auto* component = kitchen.find_component(off);
    add_once(changes, "no " + (component == nullptr ? off : component->name));
  }
  return fmt::format("{}", fmt::join(changes, "; "));
}

std::string pan_change(const View& view, const PanView& pan) {
  if (!pan.changes) return {};
  const std::vector<Guest> guests = guests_of(view, pan);
  std::vector<std::string> texts;
  for (const Guest& guest : guests) {
    if (guest.plate->wanted.change.empty()) continue;
    texts.push_back(guests.size() == 1
                        ? guest.plate->wanted.change
                        : fmt::format("{}: {}", positions_text(pan, {&guest}), guest.plate->wanted.change));
  }
  return fmt::format("{}", fmt::join(texts, "; "));
}

std::string missing_of(const View& view, const line::PlateKey& plate) {
  std::vector<std::string> texts;
  for (const PanView* pan : view.pans_of(plate)) {
    if (is_plated(*pan, plate)) continue;
    add_once(texts, fmt::format("{} ({})", pan->component->name, view.station_name(pan->pan->station)));
  }
  return fmt::format("{}", fmt::join(texts, ", "));
}

}  // namespace nappe::wire
