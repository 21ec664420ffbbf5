#include "common/wire/describe.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <numeric>

namespace nappe::wire {
namespace {

using nlohmann::json;

// "~" and "/" inside a reference token (RFC 6901, section 3).
std::string escaped(std::string_view token) {
  std::string text;
  for (const char c : token) {
    if (c == '~') {
      text += "~0";
    } else if (c == '/') {
      text += "~1";
    } else {
      text += c;
    }
  }
  return text;
}

// Characters of a valid UTF-8 text: every byte that does not continue another.
std::int64_t characters(std::string_view text) {
  return std::count_if(text.begin(), text.end(),
                       [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; });
}

// C0 and C1 control characters and DEL: on a terminal they would act instead of being read.
bool has_control(std::string_view text) {
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto c = static_cast<unsigned char>(text[i]);
    if (c < 0x20U || c == 0x7FU) return true;
    if (c == 0xC2U && i + 1 < text.size() && static_cast<unsigned char>(text[i + 1]) < 0xA0U) return true;
  }
  return false;
}

// Levenshtein distance, by one row.
std::size_t distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 0; i < a.size(); ++i) {
    std::size_t corner = row[0];
    row[0] = i + 1;
    for (std::size_t j = 0; j < b.size(); ++j) {
      const std::size_t above = row[j + 1];
      row[j + 1] = std::min({above + 1, row[j] + 1, corner + (a[i] == b[j] ? 0 : 1)});
      corner = above;
    }
  }
  return row[b.size()];
}

constexpr std::array<std::string_view, 7> words_for_people{"name", "reason", "change", "note", "why", "about", "what"};

// At most this much of what was sent is said back.
std::string in_quotes(std::string_view text) {
  constexpr std::size_t shown = 40;
  if (text.size() <= shown) return fmt::format("\"{}\"", text);
  std::size_t cut = shown;
  while (cut > 0 && (static_cast<unsigned char>(text[cut]) & 0xC0U) == 0x80U) --cut;
  return fmt::format("\"{}...\"", text.substr(0, cut));
}

std::string meant(std::string_view word, const std::vector<std::string_view>& names) {
  const std::string_view near = nearest_name(word, names);
  return near.empty() ? std::string() : fmt::format("; did you mean \"{}\"?", near);
}

}  // namespace

int text_length_max(std::string_view member) {
  if (member == "document") return document_length_max;
  const bool words = std::find(words_for_people.begin(), words_for_people.end(), member) != words_for_people.end();
  return words ? words_length_max : id_length_max;
}

bool may_be_left_out(std::string_view member) {
  static constexpr std::array<std::string_view, 24> names{
      "sure",   "round",       "reason",   "note",   "but",           "positions", "guests", "components",
      "change", "left_off",    "present",  "begun",  "inferred",      "document",  "lots",   "made_from",
      "fate",   "clean_first", "labelled", "vacuum", "other_control", "to_order",  "on",     "stranger"};
  return std::find(names.begin(), names.end(), member) != names.end();
}

std::string_view nearest_name(std::string_view word, const std::vector<std::string_view>& names) {
  constexpr std::size_t longest = 40;  // nothing of ours is as long; keeps the work small
  if (word.size() > longest) return {};
  std::string_view best;
  std::size_t best_distance = word.size() / 3 + 2;
  for (const std::string_view name : names) {
    const std::size_t d = distance(word, name);
    if (d < best_distance) {
      best = name;
      best_distance = d;
    }
  }
  return best;
}

std::string_view kind_of(const json& value) {
  switch (value.type()) {
    case json::value_t::null:
      return "null";
    case json::value_t::object:
      return "an object";
    case json::value_t::array:
      return "a list";
    case json::value_t::string:
      return "a text";
    case json::value_t::boolean:
      return "true or false";
    case json::value_t::number_integer:
    case json::value_t::number_unsigned:
    case json::value_t::number_float:
      return "a number";
    case json::value_t::binary:
    case json::value_t::discarded:
      break;
  }
  return "nothing";
}

bool Reader::fail(const std::string& sentence, std::string_view below) {
  error_.code = Errc::invalid;
  error_.detail = sentence;
  error_.where.clear();
  for (const std::string& step : path_) error_.where += "/" + escaped(step);
  if (!below.empty()) error_.where += "/" + escaped(below);
  return false;
}

std::string Reader::here() const {
  const auto is_index = [](const std::string& step) {
    return !step.empty() && std::all_of(step.begin(), step.end(), [](char c) { return c >= '0' && c <= '9'; });
  };
  if (path_.empty()) return "this";
  if (!is_index(path_.back()) || path_.size() < 2) return fmt::format("\"{}\"", path_.back());
  return fmt::format("entry {} of \"{}\"", std::stoul(path_.back()) + 1, path_[path_.size() - 2]);
}

bool Reader::wrong_type(const json& from, std::string_view wanted) {
  std::string sentence = fmt::format("{} must be {}, not {}", here(), wanted, kind_of(from));
  sentence += from.is_null() ? "; leave the member out if it has no value." : ".";
  if (sentence.front() == 't') sentence.front() = 'T';
  if (sentence.front() == 'e') sentence.front() = 'E';
  return fail(sentence);
}

bool Reader::check_members(const json& from, const std::vector<std::string_view>& names) {
  if (!from.is_object()) return wrong_type(from, "an object");
  for (const auto& item : from.items()) {
    const std::string& key = item.key();
    if (std::find(names.begin(), names.end(), key) != names.end()) continue;
    std::string hint = meant(key, names);
    if (hint.empty()) hint = "; take it out.";
    const std::string whose = path_.empty() ? "" : " of " + here();
    return fail(fmt::format("{} is not a member{} known here{}", in_quotes(key), whose, hint), key);
  }
  return true;
}

bool Reader::read_whole(const json& from, std::int64_t low, std::int64_t high, std::int64_t& into) {
  if (!from.is_number_integer()) return wrong_type(from, from.is_number() ? "a whole number" : "a number");
  const bool fits = from.is_number_unsigned()
                        ? from.get<std::uint64_t>() <= static_cast<std::uint64_t>(std::max<std::int64_t>(high, 0))
                        : from.get<std::int64_t>() >= low && from.get<std::int64_t>() <= high;
  if (!fits) return fail(fmt::format("{} is {}, which is not between {} and {}.", here(), from.dump(), low, high));
  into = from.get<std::int64_t>();
  return true;
}

bool Reader::read_real(const json& from, double& into) {
  if (!from.is_number()) return wrong_type(from, "a number");
  into = from.get<double>();
  if (std::isfinite(into) && std::abs(into) <= real_max) return true;
  return fail(fmt::format("{} is {}, which is not between {} and {}.", here(), from.dump(), -real_max, real_max));
}

bool Reader::check_instant(std::int64_t ms) {
  if (trust_ == Trust::journal || (ms >= 0 && ms <= instant_ms_max)) return true;
  return fail(
      fmt::format("{} must be an instant in milliseconds since 1970, up to the year 9999; it is {}.", here(), ms));
}

bool Reader::read_flag(const json& from, bool& into) {
  if (!from.is_boolean()) return wrong_type(from, "true or false");
  into = from.get<bool>();
  return true;
}

bool Reader::read_text(const json& from, std::string& into) {
  if (!from.is_string()) return wrong_type(from, "a text");
  const auto& text = from.get_ref<const std::string&>();
  if (trust_ == Trust::outside) {
    // A document is the text of a whole kitchen, judged by its own reader.
    const bool document = !path_.empty() && path_.back() == "document";
    const int longest = text_length_max(path_.empty() ? std::string_view() : path_.back());
    if (characters(text) > longest) {
      return fail(fmt::format("{} is longer than {} characters; shorten it.", here(), longest));
    }
    if (!document && has_control(text)) {
      return fail(fmt::format("{} holds a control character; write it on one line of plain text.", here()));
    }
  }
  into = text;
  return true;
}

bool Reader::check_list(const json& from) {
  if (!from.is_array()) return wrong_type(from, "a list");
  if (trust_ == Trust::outside && from.size() > static_cast<std::size_t>(list_length_max)) {
    return fail(fmt::format("{} has {} entries, more than {}; send fewer.", here(), from.size(), list_length_max));
  }
  return true;
}

bool Reader::one_of(const json& from, const std::vector<std::string_view>& names, std::size_t& index) {
  if (!from.is_string()) return wrong_type(from, "a text");
  const auto& text = from.get_ref<const std::string&>();
  const auto found = std::find(names.begin(), names.end(), text);
  if (found == names.end()) {
    std::string hint = meant(text, names);
    if (hint.empty()) hint = fmt::format("; it is one of {}.", fmt::join(names, ", "));
    return fail(fmt::format("{} cannot be {}{}", here(), in_quotes(text), hint));
  }
  index = static_cast<std::size_t>(std::distance(names.begin(), found));
  return true;
}

}  // namespace nappe::wire
