#pragma once
// The fourteen groups of Annex II of Regulation (EU) No 1169/2011, and the kinds some of them name.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nappe::kitchen {

/// One name a dish or a guest may use: a group ("gluten", "nuts", "milk") or a kind within a group ("wheat", "walnut").
struct Allergen {
  std::string_view name;   ///< Lower case: "walnut".
  std::string_view group;  ///< "nuts"; for a group its own name.
  std::string_view text;   ///< As written out for a person: "walnuts".
};

/// Every name known, groups in the order of Annex II, kinds behind their group.
const std::vector<Allergen>& allergens();

/// The entry of this name (case does not matter, common plurals are known), or nothing.
const Allergen* find_allergen(std::string_view name);

/// Whether somebody allergic to `allergy` must not meet `allergen`: the same name, the group of the kind, or the kind's
/// whole group ("gluten" meets "wheat", "wheat" meets "gluten", "wheat" does not meet "rye"). A name nobody knows meets
/// everything: orders and kitchen files refuse such names, and should one slip through, asking is the better error.
bool meets(std::string_view allergy, std::string_view allergen);

/// The nearest known name, for "did you mean"; nothing when none is near.
std::optional<std::string> nearest_allergen(std::string_view name);

}  // namespace nappe::kitchen
