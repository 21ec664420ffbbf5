#include "common/kitchen/allergen.hpp"

#include <algorithm>
#include <array>
#include <cctype>

#include "common/kitchen/near.hpp"

namespace nappe::kitchen {
namespace {

// What people write instead. Spelt, khorasan, durum and emmer are wheat (Annex II names spelt and khorasan as wheat).
struct Alias {
  std::string_view said;
  std::string_view name;
};

constexpr std::array aliases{
    Alias{"cereals containing gluten", "gluten"},
    Alias{"coeliac", "gluten"},
    Alias{"celiac", "gluten"},
    Alias{"spelt", "wheat"},
    Alias{"khorasan", "wheat"},
    Alias{"khorasan wheat", "wheat"},
    Alias{"durum", "wheat"},
    Alias{"emmer wheat", "wheat"},
    Alias{"oat", "oats"},
    Alias{"crustacean", "crustaceans"},
    Alias{"mollusc", "molluscs"},
    Alias{"mollusk", "molluscs"},
    Alias{"peanut", "peanuts"},
    Alias{"groundnut", "peanuts"},
    Alias{"soy", "soya"},
    Alias{"soybean", "soya"},
    Alias{"soya bean", "soya"},
    Alias{"dairy", "milk"},
    Alias{"lactose", "milk"},
    Alias{"nut", "nuts"},
    Alias{"tree nut", "nuts"},
    Alias{"celeriac", "celery"},
    Alias{"sesame seed", "sesame"},
    Alias{"sulphite", "sulphites"},
    Alias{"sulfite", "sulphites"},
    Alias{"sulphur dioxide", "sulphites"},
    Alias{"lupine", "lupin"},
    Alias{"pecan nut", "pecan"},
    Alias{"cashew nut", "cashew"},
    Alias{"brazil", "brazil nut"},
    Alias{"pistachio nut", "pistachio"},
    Alias{"macadamia nut", "macadamia"},
    Alias{"queensland nut", "macadamia"},
};

// Lower case, blanks trimmed, `_` and `-` as a blank.
std::string plain(std::string_view name) {
  std::string out;
  for (const char c : name) {
    const char low = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    const char put = low == '_' || low == '-' || low == '\t' ? ' ' : low;
    if (put == ' ' && (out.empty() || out.back() == ' ')) continue;
    out += put;
  }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

const Allergen* exactly(std::string_view name) {
  const auto& all = allergens();
  const auto found = std::find_if(all.begin(), all.end(), [&](const Allergen& one) { return one.name == name; });
  if (found != all.end()) return &*found;
  const auto alias = std::find_if(aliases.begin(), aliases.end(), [&](const Alias& one) { return one.said == name; });
  return alias == aliases.end() ? nullptr : exactly(alias->name);
}

}  // namespace

const std::vector<Allergen>& allergens() {
  // Regulation (EU) No 1169/2011, Annex II, points 1 to 14, in its order; the kinds are those points 1 and 8 name.
  static const std::vector<Allergen> all{
      {"gluten", "gluten", "gluten"},
      {"wheat", "gluten", "wheat"},
      {"rye", "gluten", "rye"},
      {"barley", "gluten", "barley"},
      {"oats", "gluten", "oats"},
      {"crustaceans", "crustaceans", "crustaceans"},
      {"egg", "egg", "egg"},
      {"fish", "fish", "fish"},
      {"peanuts", "peanuts", "peanuts"},
      {"soya", "soya", "soya"},
      {"milk", "milk", "milk"},
      {"nuts", "nuts", "nuts"},
      {"almond", "nuts", "almonds"},
      {"hazelnut", "nuts", "hazelnuts"},
      {"walnut", "nuts", "walnuts"},
      {"cashew", "nuts", "cashews"},
      {"pecan", "nuts", "pecan nuts"},
      {"brazil nut", "nuts", "Brazil nuts"},
      {"pistachio", "nuts", "pistachio nuts"},
      {"macadamia", "nuts", "macadamia nuts"},
      {"celery", "celery", "celery"},
      {"mustard", "mustard", "mustard"},
      {"sesame", "sesame", "sesame"},
      {"sulphites", "sulphites", "sulphites"},
      {"lupin", "lupin", "lupin"},
      {"molluscs", "molluscs", "molluscs"},
  };
  return all;
}

const Allergen* find_allergen(std::string_view name) {
  const std::string wanted = plain(name);
  if (wanted.empty()) return nullptr;
  if (const Allergen* found = exactly(wanted)) return found;
  // A plural of a known word: almonds, eggs, pistachios. ("ies" and "es" make no plural in this list.)
  if (wanted.back() != 's') return nullptr;
  return exactly(std::string_view(wanted).substr(0, wanted.size() - 1));
}

bool meets(std::string_view allergy, std::string_view allergen) {
  const Allergen* guest = find_allergen(allergy);
  const Allergen* food = find_allergen(allergen);
  if (guest == nullptr || food == nullptr) return true;
  return guest == food || guest->name == food->group || food->name == guest->group;
}

std::optional<std::string> nearest_allergen(std::string_view name) {
  std::vector<std::string> known;
  for (const Allergen& one : allergens()) known.emplace_back(one.name);
  for (const Alias& one : aliases) known.emplace_back(one.said);
  const auto near = nearest(plain(name), known);
  if (!near) return std::nullopt;
  return std::string(find_allergen(*near)->name);
}

}  // namespace nappe::kitchen
