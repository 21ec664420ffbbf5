#pragma once
// Random values of the annotated structs of common/line, and whether two are the same: for round trips over every
// alternative, also those added later.

#include <boost/mp11/algorithm.hpp>
#include <cstdint>
#include <optional>
#include <string>
#include <type_traits>
#include <variant>
#include <vector>

#include "common/wire/describe.hpp"
#include "tests/support/random.hpp"

namespace nappe::tests {

/// Words as people type them: accents, quotes, slashes, an emoji, nothing at all.
inline std::string random_word(Random& random) {
  static const std::vector<std::string> words{"",          "emmer",          "p31",   "crème fraîche", "\"quoted\"",
                                              "a/b~c\\d",  "sauce beside",   "8",     "日本",          "🌶 hot",
                                              "not: {me}", "null",           "<b>&"};
  std::string word = random.pick(words);
  if (random.chance(0.3)) word += std::to_string(random.between(0, 99));
  return word;
}

template <class T>
T random_described(Random& random) {
  if constexpr (wire::is_described_struct<T>) {
    T value;
    boost::mp11::mp_for_each<wire::members_of<T>>([&](auto member) {
      using Member = std::remove_cvref_t<decltype(value.*member.pointer)>;
      value.*member.pointer = random_described<Member>(random);
    });
    return value;
  } else if constexpr (wire::is_described_enum<T>) {
    std::vector<T> values;
    boost::mp11::mp_for_each<boost::describe::describe_enumerators<T>>([&](auto e) { values.push_back(e.value); });
    return random.pick(values);
  } else if constexpr (wire::is_id<T>) {
    return static_cast<T>(random.chance(0.1) ? 4294967295U : static_cast<std::uint32_t>(random.between(0, 300)));
  } else if constexpr (wire::is_optional<T>::value) {
    if (random.chance(0.4)) return std::nullopt;
    return random_described<typename T::value_type>(random);
  } else if constexpr (wire::is_vector<T>::value) {
    T list;
    for (auto n = random.between(0, 4); n > 0; --n) list.push_back(random_described<typename T::value_type>(random));
    return list;
  } else if constexpr (std::is_same_v<T, std::string>) {
    return random_word(random);
  } else if constexpr (std::is_same_v<T, bool>) {
    return random.chance(0.5);
  } else if constexpr (std::is_same_v<T, double>) {
    return static_cast<double>(random.between(-4000, 30000)) / 100.0;
  } else if constexpr (std::is_same_v<T, std::int64_t>) {
    return random.between(0, wire::instant_ms_max);
  } else {
    static_assert(std::is_same_v<T, int>);
    return static_cast<int>(random.between(-2'147'483'647 - 1, 2'147'483'647));
  }
}

template <class T>
bool same_described(const T& a, const T& b) {
  if constexpr (wire::is_described_struct<T>) {
    bool same = true;
    boost::mp11::mp_for_each<wire::members_of<T>>(
        [&](auto member) { same = same && same_described(a.*member.pointer, b.*member.pointer); });
    return same;
  } else if constexpr (wire::is_vector<T>::value) {
    if (a.size() != b.size()) return false;
    for (std::size_t i = 0; i < a.size(); ++i) {
      if (!same_described(a[i], b[i])) return false;
    }
    return true;
  } else if constexpr (wire::is_optional<T>::value) {
    return a.has_value() == b.has_value() && (!a || same_described(*a, *b));
  } else {
    return a == b;
  }
}

/// A random value of the alternative with this index.
template <class Variant>
Variant random_alternative(Random& random, std::size_t index) {
  Variant value;
  boost::mp11::mp_with_index<std::variant_size_v<Variant>>(index, [&](auto i) {
    value.template emplace<i()>(random_described<std::variant_alternative_t<i(), Variant>>(random));
  });
  return value;
}

template <class Variant>
bool same_alternative(const Variant& a, const Variant& b) {
  if (a.index() != b.index()) return false;
  return std::visit([&](const auto& one) { return same_described(one, std::get<std::decay_t<decltype(one)>>(b)); }, a);
}

}  // namespace nappe::tests
