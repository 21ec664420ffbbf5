#pragma once
// Structs and enums annotated with Boost.Describe as JSON, and strictly back. Only for the .cpp files of common/wire:
// it instantiates much.

#include <boost/describe/enum.hpp>
#include <boost/describe/enum_to_string.hpp>
#include <boost/describe/enumerators.hpp>
#include <boost/describe/members.hpp>
#include <boost/mp11/algorithm.hpp>
#include <cstdint>
#include <limits>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

#include "common/result.hpp"

namespace nappe::wire {

template <class T>
using members_of = boost::describe::describe_members<T, boost::describe::mod_public>;

template <class T>
inline constexpr bool is_described_struct = boost::describe::has_describe_members<T>::value && !std::is_union_v<T>;
template <class T>
inline constexpr bool is_described_enum = boost::describe::has_describe_enumerators<T>::value;
/// TicketId and its like.
template <class T>
inline constexpr bool is_id = std::is_enum_v<T> && !is_described_enum<T>;

template <class T>
struct is_vector : std::false_type {};
template <class T>
struct is_vector<std::vector<T>> : std::true_type {};
template <class T>
struct is_optional : std::false_type {};
template <class T>
struct is_optional<std::optional<T>> : std::true_type {};

// --- writing

/// An optional that holds nothing is left out of its struct.
template <class T>
nlohmann::json described_json(const T& value) {
  if constexpr (is_described_struct<T>) {
    nlohmann::json object = nlohmann::json::object();
    boost::mp11::mp_for_each<members_of<T>>([&](auto member) {
      const auto& held = value.*member.pointer;
      using Member = std::remove_cvref_t<decltype(held)>;
      if constexpr (is_optional<Member>::value) {
        if (held) object[member.name] = described_json(*held);
      } else {
        object[member.name] = described_json(held);
      }
    });
    return object;
  } else if constexpr (is_described_enum<T>) {
    return boost::describe::enum_to_string(value, "");
  } else if constexpr (is_id<T>) {
    return static_cast<std::underlying_type_t<T>>(value);
  } else if constexpr (is_vector<T>::value) {
    nlohmann::json list = nlohmann::json::array();
    for (const auto& one : value) list.push_back(described_json(one));
    return list;
  } else {
    static_assert(std::is_same_v<T, bool> || std::is_integral_v<T> || std::is_same_v<T, double> ||
                  std::is_same_v<T, std::string>);
    return value;
  }
}

/// What Reader::read takes from outside for a T, as JSON Schema. `member`: the name it is read under.
template <class T>
nlohmann::json described_schema(std::string_view member = {});

// --- reading

/// How much is believed: a text from outside is held to the limits below, our own journal only to its types.
enum class Trust { outside, journal };

inline constexpr int id_length_max = 64;               ///< Characters of a name that identifies something.
inline constexpr int words_length_max = 400;           ///< Characters of words for people.
inline constexpr int document_length_max = 4'000'000;  ///< Bytes of a kitchen's document.
inline constexpr int list_length_max = 200;
inline constexpr double real_max = 1e9;  ///< Of a temperature or the like, either way.
/// The last millisecond of the year 9999, the last that RFC 3339 can write.
inline constexpr std::int64_t instant_ms_max = 253'402'300'799'999;

/// Where the reader stands in the input, and the first thing found wrong there.
class Reader {
 public:
  explicit Reader(Trust trust) : trust_(trust) {}

  /// Fills `into` from `from`; false, with error() set, at the first thing that is wrong.
  template <class T>
  bool read(const nlohmann::json& from, T& into);

  /// Reads one member of an object that check_members has passed.
  template <class T>
  bool read_member(const nlohmann::json& object, const char* name, T& into);

  /// Whether `from` is an object with no member but these.
  bool check_members(const nlohmann::json& from, const std::vector<std::string_view>& names);

  void enter(std::string_view step) { path_.emplace_back(step); }
  void leave() { path_.pop_back(); }
  /// Notes `sentence` as what is wrong here (or at the member below). Always false.
  bool fail(const std::string& sentence, std::string_view below = {});
  /// The name of what is being read, for a sentence: "pan" in quotes, or "the second entry of "but"".
  [[nodiscard]] std::string here() const;
  [[nodiscard]] const Error& error() const { return error_; }

 private:
  bool read_whole(const nlohmann::json& from, std::int64_t low, std::int64_t high, std::int64_t& into);
  bool read_real(const nlohmann::json& from, double& into);
  bool read_text(const nlohmann::json& from, std::string& into);
  bool read_flag(const nlohmann::json& from, bool& into);
  bool check_list(const nlohmann::json& from);
  bool check_instant(std::int64_t ms);
  bool one_of(const nlohmann::json& from, const std::vector<std::string_view>& names, std::size_t& index);
  bool wrong_type(const nlohmann::json& from, std::string_view wanted);

  Trust trust_;
  std::vector<std::string> path_;
  Error error_;
};

/// The longest text of this member, in characters (of a document: bytes).
int text_length_max(std::string_view member);

/// Members that a text may leave out; their default stands. Those of type std::optional may too.
bool may_be_left_out(std::string_view member);

/// The name out of `names` that a person who wrote `word` probably meant; empty when none is near.
std::string_view nearest_name(std::string_view word, const std::vector<std::string_view>& names);

/// "a text", "a number", ...: for sentences.
std::string_view kind_of(const nlohmann::json& value);

template <class T>
bool Reader::read_member(const nlohmann::json& object, const char* name, T& into) {
  const auto found = object.find(name);
  if (found == object.end()) {
    if (is_optional<T>::value || may_be_left_out(name)) return true;
    return fail("\"" + std::string(name) + "\" is missing" + (path_.empty() ? "" : " from " + here()) + "; add it.",
                name);
  }
  enter(name);
  const bool good = read(*found, into);
  leave();
  return good;
}

template <class T>
bool Reader::read(const nlohmann::json& from, T& into) {
  if constexpr (is_described_struct<T>) {
    std::vector<std::string_view> names;
    boost::mp11::mp_for_each<members_of<T>>([&](auto member) { names.emplace_back(member.name); });
    bool good = check_members(from, names);
    boost::mp11::mp_for_each<members_of<T>>(
        [&](auto member) { good = good && read_member(from, member.name, into.*member.pointer); });
    return good;
  } else if constexpr (is_described_enum<T>) {
    std::vector<std::string_view> names;
    std::vector<T> values;
    boost::mp11::mp_for_each<boost::describe::describe_enumerators<T>>([&](auto enumerator) {
      names.emplace_back(enumerator.name);
      values.push_back(enumerator.value);
    });
    std::size_t index = 0;
    if (!one_of(from, names, index)) return false;
    into = values[index];
    return true;
  } else if constexpr (is_id<T>) {
    std::int64_t number = 0;
    if (!read_whole(from, 0, std::numeric_limits<std::underlying_type_t<T>>::max(), number)) return false;
    into = static_cast<T>(number);
    return true;
  } else if constexpr (is_optional<T>::value) {
    return read(from, into.emplace());
  } else if constexpr (is_vector<T>::value) {
    if (!check_list(from)) return false;
    for (std::size_t i = 0; i < from.size(); ++i) {
      enter(std::to_string(i));
      const bool good = read(from[i], into.emplace_back());
      leave();
      if (!good) return false;
    }
    return true;
  } else if constexpr (std::is_same_v<T, bool>) {
    return read_flag(from, into);
  } else if constexpr (std::is_same_v<T, std::string>) {
    return read_text(from, into);
  } else if constexpr (std::is_same_v<T, double>) {
    return read_real(from, into);
  } else {
    static_assert(std::is_integral_v<T> && std::is_signed_v<T>);
    std::int64_t number = 0;
    if (!read_whole(from, std::numeric_limits<T>::min(), std::numeric_limits<T>::max(), number)) return false;
    into = static_cast<T>(number);
    return !std::is_same_v<T, std::int64_t> || check_instant(number);
  }
}

// --- describing

template <class T>
nlohmann::json described_schema(std::string_view member) {
  using nlohmann::json;
  if constexpr (is_described_struct<T>) {
    json properties = json::object();
    json required = json::array();
    boost::mp11::mp_for_each<members_of<T>>([&](auto of) {
      using Member = std::remove_cvref_t<decltype(std::declval<T>().*of.pointer)>;
      properties[of.name] = described_schema<Member>(of.name);
      if (!is_optional<Member>::value && !may_be_left_out(of.name)) required.push_back(of.name);
    });
    json schema = {{"type", "object"}, {"properties", std::move(properties)}, {"additionalProperties", false}};
    if (!required.empty()) schema["required"] = std::move(required);
    return schema;
  } else if constexpr (is_described_enum<T>) {
    json names = json::array();
    boost::mp11::mp_for_each<boost::describe::describe_enumerators<T>>(
        [&](auto enumerator) { names.push_back(enumerator.name); });
    return {{"type", "string"}, {"enum", std::move(names)}};
  } else if constexpr (is_id<T>) {
    return {{"type", "integer"}, {"minimum", 0}, {"maximum", std::numeric_limits<std::underlying_type_t<T>>::max()}};
  } else if constexpr (is_optional<T>::value) {
    return described_schema<typename T::value_type>(member);
  } else if constexpr (is_vector<T>::value) {
    return {{"type", "array"}, {"maxItems", list_length_max}, {"items", described_schema<typename T::value_type>()}};
  } else if constexpr (std::is_same_v<T, bool>) {
    return {{"type", "boolean"}};
  } else if constexpr (std::is_same_v<T, std::string>) {
    return {{"type", "string"}, {"maxLength", text_length_max(member)}};
  } else if constexpr (std::is_same_v<T, double>) {
    return {{"type", "number"}, {"minimum", -real_max}, {"maximum", real_max}};
  } else if constexpr (std::is_same_v<T, std::int64_t>) {
    return {{"type", "integer"},
            {"minimum", 0},
            {"maximum", instant_ms_max},
            {"description", "Milliseconds since 1970, kitchen time (UTC)."}};
  } else {
    static_assert(std::is_integral_v<T> && std::is_signed_v<T>);
    return {
        {"type", "integer"}, {"minimum", std::numeric_limits<T>::min()}, {"maximum", std::numeric_limits<T>::max()}};
  }
}

}  // namespace nappe::wire
