#include "common/wire/parse.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <nlohmann/json.hpp>
#include <set>
#include <utility>
#include <vector>

namespace nappe::wire {
namespace {

using nlohmann::json;

// "line:column" of the byte at this offset, both from 1; columns count bytes.
std::string place_of(std::string_view text, std::size_t offset) {
  const std::string_view before = text.substr(0, std::min(offset, text.size()));
  const auto line = 1 + std::count(before.begin(), before.end(), '\n');
  const auto newline = before.rfind('\n');
  const std::size_t column = before.size() - (newline == std::string_view::npos ? 0 : newline + 1) + 1;
  return fmt::format("{}:{}", line, column);
}

// Counts brackets outside strings before anything is built, because a tree that is too deep is itself the danger:
// copying, comparing and writing it recurse. Returns the offset of the bracket that is too deep, or npos.
std::size_t too_deep_at(std::string_view text) {
  int depth = 0;
  bool in_text = false;
  for (std::size_t at = 0; at < text.size(); ++at) {
    const char c = text[at];
    if (in_text) {
      if (c == '\\') ++at;
      if (c == '"') in_text = false;
    } else if (c == '"') {
      in_text = true;
    } else if (c == '[' || c == '{') {
      if (++depth > json_depth_max) return at;
    } else if (c == ']' || c == '}') {
      --depth;
    }
  }
  return std::string_view::npos;
}

// Finds a member that is named twice in one object while the parser runs; the library would keep the last one.
struct TwiceNamed {
  std::vector<std::set<std::string>> open;
  std::string found;

  bool operator()(int /*depth*/, json::parse_event_t event, const json& parsed) {
    if (event == json::parse_event_t::object_start) open.emplace_back();
    if (event == json::parse_event_t::object_end && !open.empty()) open.pop_back();
    if (event == json::parse_event_t::key && !open.empty() && found.empty()) {
      const auto& key = parsed.get_ref<const std::string&>();
      if (!open.back().insert(key).second) found = key;
    }
    return true;
  }
};

}  // namespace

Result<json> parse_json(std::string_view text) {
  if (const auto deep = too_deep_at(text); deep != std::string_view::npos) {
    return Error{Errc::invalid,
                 fmt::format("The text nests deeper than {} brackets; send a plainer one.", json_depth_max),
                 place_of(text, deep)};
  }
  TwiceNamed twice;
  try {
    json value = json::parse(text.begin(), text.end(), std::ref(twice));
    if (!twice.found.empty()) {
      return Error{
          Errc::invalid, fmt::format("The member \"{}\" is named twice in one object; name it once.", twice.found), {}};
    }
    return value;
  } catch (const json::parse_error& failure) {
    const std::size_t offset = failure.byte == 0 ? 0 : failure.byte - 1;
    if (offset >= text.size()) {
      return Error{Errc::invalid, "The text ends before its JSON does; send the whole of it.",
                   place_of(text, text.size())};
    }
    const std::string at = place_of(text, offset);
    return Error{Errc::invalid, fmt::format("This is not JSON in UTF-8 from {} on; mend it there.", at), at};
  } catch (const json::exception&) {  // a number too large for any type
    return Error{Errc::invalid, "A number in the text is too large to be read; send a smaller one.", {}};
  }
}

std::string write_json(const json& value) { return value.dump(-1, ' ', false, json::error_handler_t::replace); }

}  // namespace nappe::wire
