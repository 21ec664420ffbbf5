#include "common/kitchen/menu.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "common/kitchen/allergen.hpp"

namespace nappe::kitchen {
namespace {

bool contains(const std::vector<std::string>& all, std::string_view one) {
  return std::find(all.begin(), all.end(), one) != all.end();
}

// The words the component has for leaving this allergen out, or nothing.
const std::string* words_without(const Component& component, const std::string& allergen) {
  const auto found = component.without.find(allergen);
  return found == component.without.end() ? nullptr : &found->second;
}

// "wheat" once, however many allergies and components meet it.
std::string reasons(const std::vector<Clash>& in_the_way) {
  std::vector<std::string> names;
  for (const Clash& clash : in_the_way) {
    if (!contains(names, clash.allergen)) names.push_back(clash.allergen);
  }
  return fmt::format("{}", fmt::join(names, ", "));
}

}  // namespace

std::string spoken(std::string_view id) {
  std::string out(id);
  std::replace(out.begin(), out.end(), '_', ' ');
  return out;
}

std::vector<Clash> clashes(const Component& component, const std::vector<std::string>& allergies) {
  std::vector<Clash> out;
  for (const std::string& allergen : component.allergens) {
    for (const std::string& allergy : allergies) {
      if (!meets(allergy, allergen)) continue;
      out.push_back({component.id, allergen, allergy});
      break;
    }
  }
  return out;
}

std::vector<Clash> clashes_left(const Component& component, const std::vector<std::string>& allergies) {
  std::vector<Clash> out = clashes(component, allergies);
  out.erase(std::remove_if(out.begin(), out.end(),
                           [&](const Clash& clash) { return words_without(component, clash.allergen) != nullptr; }),
            out.end());
  return out;
}

std::vector<std::string> allergens_of(const Kitchen& kitchen, const Dish& dish,
                                      const std::vector<std::string>& left_off) {
  std::vector<std::string> held;
  for (const Part& part : dish.parts) {
    const Component* component = kitchen.find_component(part.component);
    if (component == nullptr || contains(left_off, part.component)) continue;
    held.insert(held.end(), component->allergens.begin(), component->allergens.end());
  }
  std::vector<std::string> out;
  for (const Allergen& one : allergens()) {
    if (contains(held, one.name)) out.emplace_back(one.name);
  }
  return out;
}

CanHave can_have(const Kitchen& kitchen, const Dish& dish, const std::vector<std::string>& allergies,
                 const std::vector<std::string>& left_off) {
  CanHave out;
  for (const Part& part : dish.parts) {
    const Component* component = kitchen.find_component(part.component);
    if (component == nullptr || contains(left_off, part.component)) continue;
    const auto met = clashes(*component, allergies);
    const auto left = clashes_left(*component, allergies);
    if (left.empty()) {
      for (const Clash& clash : met) {
        out.changes.push_back({component->id, clash.allergen, *words_without(*component, clash.allergen)});
      }
    } else if (part.can_be_left_off) {
      out.left_off.push_back(component->id);
    } else {
      out.in_the_way.insert(out.in_the_way.end(), left.begin(), left.end());
    }
  }
  if (!out.in_the_way.empty()) {
    out.answer = Answer::no;
  } else if (!out.left_off.empty() || !out.changes.empty()) {
    out.answer = Answer::with_changes;
  }
  return out;
}

std::vector<Alternative> alternatives(const Kitchen& kitchen, std::string_view course,
                                      const std::vector<std::string>& allergies) {
  std::vector<Alternative> out;
  for (const Dish& dish : kitchen.dishes) {
    if (dish.course != course) continue;
    CanHave how = can_have(kitchen, dish, allergies);
    if (how.answer != Answer::no) out.push_back({&dish, std::move(how)});
  }
  std::stable_partition(out.begin(), out.end(), [](const Alternative& a) { return a.how.answer == Answer::yes; });
  return out;
}

std::string in_words(const Dish& dish, const CanHave& how) {
  std::string out = spoken(dish.id);
  if (how.answer == Answer::no) return fmt::format("no {} ({})", out, reasons(how.in_the_way));
  if (!how.left_off.empty()) {
    std::vector<std::string> off;
    for (const std::string& part : how.left_off) off.push_back(spoken(part));
    out += fmt::format(" without {}", fmt::join(off, " and "));
  }
  if (!how.changes.empty()) {
    std::vector<std::string> words;
    for (const Change& change : how.changes) words.push_back(change.words);
    out += fmt::format(" ({})", fmt::join(words, "; "));
  }
  return out;
}

std::string card_for(const Kitchen& kitchen, const std::vector<std::string>& allergies) {
  std::vector<std::string> no;
  std::vector<std::string> yes;
  for (const Dish& dish : kitchen.dishes) {
    const CanHave how = can_have(kitchen, dish, allergies);
    if (how.answer == Answer::no) {
      no.push_back(fmt::format("{} ({})", spoken(dish.id), reasons(how.in_the_way)));
    } else {
      yes.push_back(how.answer == Answer::yes ? spoken(dish.id) + " yes" : in_words(dish, how));
    }
  }
  std::string out = no.empty() ? "" : fmt::format("not {}", fmt::join(no, ", "));
  if (!yes.empty()) out += fmt::format("{}{}", out.empty() ? "" : "; ", fmt::join(yes, "; "));
  return out;
}

}  // namespace nappe::kitchen
