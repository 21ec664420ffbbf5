#include "common/wire/merge_patch.hpp"

#include <nlohmann/json.hpp>
#include <utility>

#include "common/wire/parse.hpp"

namespace nappe::wire {

using nlohmann::json;

json merge_patch_apply(json document, const json& patch) {
  document.merge_patch(patch);
  return document;
}

json merge_patch_diff(const json& from, const json& to) {
  if (!from.is_object() || !to.is_object()) return to;
  json patch = json::object();
  for (const auto& [key, value] : from.items()) {
    if (!to.contains(key)) patch[key] = nullptr;
  }
  for (const auto& [key, value] : to.items()) {
    const auto before = from.find(key);
    if (before == from.end()) {
      patch[key] = value;
    } else if (*before != value) {
      patch[key] = merge_patch_diff(*before, value);
    }
  }
  return patch;
}

namespace {

template <class Work>
Result<std::string> on_text(std::string_view first, std::string_view second, Work work) {
  auto one = parse_json(first);
  if (!one) return one.error();
  auto two = parse_json(second);
  if (!two) return two.error();
  return write_json(work(std::move(*one), *two));
}

}  // namespace

Result<std::string> merge_patch_apply_text(std::string_view document, std::string_view patch) {
  return on_text(document, patch, [](json from, const json& by) { return merge_patch_apply(std::move(from), by); });
}

Result<std::string> merge_patch_diff_text(std::string_view from, std::string_view to) {
  return on_text(from, to, [](const json& before, const json& after) { return merge_patch_diff(before, after); });
}

}  // namespace nappe::wire
