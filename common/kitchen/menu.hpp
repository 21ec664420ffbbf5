#pragma once
// Who can have what: allergens of dishes computed from their parts, and what must change for a guest.
// The answers say what the kitchen's own files list; they never say that a plate is harmless.

#include <string>
#include <string_view>
#include <vector>

#include "common/kitchen/kitchen.hpp"

namespace nappe::kitchen {

/// An allergen some component holds and some allergy of the guest must not meet.
struct Clash {
  std::string component;
  std::string allergen;  ///< As the component lists it: "wheat".
  std::string allergy;   ///< As the guest said it: "gluten".
  friend bool operator==(const Clash&, const Clash&) = default;
};

/// What the cook does to leave an allergen out of a component.
struct Change {
  std::string component;
  std::string allergen;
  std::string words;  ///< "no curd, mount with leek oil"
  friend bool operator==(const Change&, const Change&) = default;
};

enum class Answer { yes, with_changes, no };

/// Whether a dish can be had, and how.
struct CanHave {
  Answer answer = Answer::yes;
  std::vector<std::string> left_off;  ///< Parts that must be left off, in the order of the dish.
  std::vector<Change> changes;        ///< What is made differently, in the order of the dish.
  std::vector<Clash> in_the_way;      ///< Why not: what can neither be made differently nor left off.
  friend bool operator==(const CanHave&, const CanHave&) = default;
};

/// Every allergen a component holds that one of these allergies must not meet.
std::vector<Clash> clashes(const Component& component, const std::vector<std::string>& allergies);

/// Of those, the ones the component cannot be made without.
std::vector<Clash> clashes_left(const Component& component, const std::vector<std::string>& allergies);

/// The allergens on a plate of this dish without the parts left off, each once, in the order of Annex II.
std::vector<std::string> allergens_of(const Kitchen& kitchen, const Dish& dish,
                                      const std::vector<std::string>& left_off = {});

/// Whether someone with these allergies can have the dish. Parts in `left_off` are off already and not named again.
/// A component that can be made without the allergen is made so; only otherwise is it left off, if the dish allows.
CanHave can_have(const Kitchen& kitchen, const Dish& dish, const std::vector<std::string>& allergies,
                 const std::vector<std::string>& left_off = {});

/// A dish somebody can have.
struct Alternative {
  const Dish* dish = nullptr;  ///< Points into the kitchen asked.
  CanHave how;
};

/// The dishes of a course somebody with these allergies can have, unchanged ones first, else in the order of the card.
std::vector<Alternative> alternatives(const Kitchen& kitchen, std::string_view course,
                                      const std::vector<std::string>& allergies);

/// "pear", "pear without crumb", "emmer (no curd, mount with leek oil)".
std::string in_words(const Dish& dish, const CanHave& how);

/// The whole card in one line: "not emmer (wheat), mackerel (oats); leek yes; pear without crumb".
std::string card_for(const Kitchen& kitchen, const std::vector<std::string>& allergies);

/// An id as it is said: "black_garlic" is "black garlic".
std::string spoken(std::string_view id);

}  // namespace nappe::kitchen
