#include "server/journal_words.hpp"

#include <sodium.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "common/wire/parse.hpp"
#include "server/journal.hpp"

namespace nappe::server {

namespace {

using nlohmann::json;

constexpr std::string_view mark = "words:";
constexpr std::size_t digest_digits = 64;
constexpr std::array<std::string_view, 3> names{"ticket_sent", "plate_changed", "ticket_cancelled"};

bool is_mark(const json& value) {
  if (!value.is_string()) return false;
  const auto& text = value.get_ref<const std::string&>();
  return text.size() == mark.size() + digest_digits && text.starts_with(mark) &&
         text.find_first_not_of("0123456789abcdef", mark.size()) == std::string::npos;
}

/// Every place of a body where people write freely about guests.
std::vector<json::json_pointer> places_of(const json& body) {
  std::vector<json::json_pointer> places;
  const auto add = [&](const json::json_pointer& at) {
    if (body.contains(at) && body[at].is_string()) places.push_back(at);
  };
  add("/reason"_json_pointer);
  add("/plate/change"_json_pointer);
  add("/order/note"_json_pointer);
  const auto courses = "/order/courses"_json_pointer;
  if (!body.contains(courses) || !body[courses].is_array()) return places;
  for (std::size_t c = 0; c < body[courses].size(); ++c) {
    const auto plates = courses / c / "plates";
    if (!body.contains(plates) || !body[plates].is_array()) continue;
    for (std::size_t p = 0; p < body[plates].size(); ++p) add(plates / p / "change");
  }
  return places;
}

std::string new_salt() {
  std::array<unsigned char, 16> bytes{};
  randombytes_buf(bytes.data(), bytes.size());
  std::array<char, bytes.size() * 2 + 1> text{};
  sodium_bin2hex(text.data(), text.size(), bytes.data(), bytes.size());
  return {text.data()};
}

}  // namespace

bool may_hold_words(std::string_view name) { return std::find(names.begin(), names.end(), name) != names.end(); }

std::string words_digest(std::string_view salt, std::string_view words) {
  return std::string(mark) + digest_of(std::string(salt) + "\n" + std::string(words));
}

std::optional<HiddenBody> hide_words(std::string_view name, const std::string& body) {
  if (!may_hold_words(name)) return {};
  json read = json::parse(body, nullptr, false);
  if (!read.is_object()) return {};
  HiddenBody out;
  for (const auto& place : places_of(read)) {
    const auto words = read[place].get<std::string>();
    if (words.empty()) continue;
    const std::string salt = new_salt();
    read[place] = words_digest(salt, words);
    out.words.push_back({place.to_string(), salt, words});
  }
  if (out.words.empty()) return {};
  out.ticket = read.value("ticket", std::int64_t{0});
  out.body = wire::write_json(read);
  return out;
}

std::string with_words(const std::string& body, const std::map<std::string, std::string>& words) {
  if (body.find(mark) == std::string::npos) return body;
  json read = json::parse(body, nullptr, false);
  if (!read.is_object()) return body;
  for (const auto& place : places_of(read)) {
    if (!is_mark(read[place])) continue;  // as older journals have them
    const auto found = words.find(place.to_string());
    read[place] = found == words.end() ? std::string() : found->second;
  }
  return wire::write_json(read);
}

std::string altered_words(const std::string& body, const std::vector<KeptWords>& words) {
  const json read = json::parse(body, nullptr, false);
  for (const KeptWords& one : words) {
    const json::json_pointer place(one.place);
    const bool good = read.is_object() && read.contains(place) && read[place] == words_digest(one.salt, one.words);
    if (!good) return one.place;
  }
  return {};
}

}  // namespace nappe::server
