#include "common/kitchen/reader.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <utility>

#include "common/kitchen/allergen.hpp"
#include "common/kitchen/near.hpp"

namespace nappe::kitchen {
namespace {

const std::vector<Node> no_nodes;
constexpr std::int64_t ms_a_minute = 60'000;
constexpr std::int64_t ms_an_hour = 3'600'000;

std::string range_words(Range range) {
  if (range.high >= 1e12) return fmt::format("{} {}", range.above_low ? "more than" : "at least", range.low);
  return range.above_low ? fmt::format("more than {} and at most {}", range.low, range.high)
                         : fmt::format("from {} to {}", range.low, range.high);
}

// Two digits, or nothing.
std::optional<int> two_digits(std::string_view text) {
  if (text.size() != 2) return std::nullopt;
  int value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + 2, value);
  if (error != std::errc() || end != text.data() + 2 || value < 0) return std::nullopt;
  return value;
}

std::optional<Duration> read_clock(std::string_view text) {
  if ((text.size() != 5 && text.size() != 8) || text[2] != ':') return std::nullopt;
  const auto hour = two_digits(text.substr(0, 2));
  const auto minute = two_digits(text.substr(3, 2));
  std::optional<int> second = 0;
  if (text.size() == 8) second = text[5] == ':' ? two_digits(text.substr(6, 2)) : std::nullopt;
  if (!hour || !minute || !second || *hour > 29 || *minute > 59 || *second > 59) return std::nullopt;
  return Duration(*hour * ms_an_hour + *minute * ms_a_minute + *second * std::int64_t{1000});
}

}  // namespace

void Faults::add(const Node& at, std::string what, std::string hint) {
  all_.push_back({at.file, at.line, at.column, at.pointer, std::move(what), std::move(hint)});
}

void Faults::add_key(const Node& object, std::size_t index, std::string what, std::string hint) {
  const Node::Key& key = object.keys[index];
  all_.push_back({object.file, key.line, key.column, object.pointer + "/" + pointer_token(key.name), std::move(what),
                  std::move(hint)});
}

Fields::Fields(const Node& node, std::string_view thing, Faults& faults)
    : node_(node), thing_(thing), faults_(faults), object_(node.kind == Node::Kind::object) {
  if (!object_) {
    faults_.add(node_, fmt::format("{} should be an object, this is {}", thing_, kind_name(node_.kind)),
                "write { \"key\": value, ... }");
  }
}

const Node& Fields::place(std::string_view key) const {
  const Node* found = node_.find(key);
  return found == nullptr ? node_ : *found;
}

const Node* Fields::take(std::string_view key, bool needed, std::string_view wanted) {
  asked_.emplace_back(key);
  const Node* found = node_.find(key);
  if (found == nullptr && needed && object_) {
    faults_.add(node_, fmt::format("{} has no \"{}\"", thing_, key), fmt::format("add \"{}\": {}", key, wanted));
  }
  return found;
}

const Node* Fields::take_kind(std::string_view key, Node::Kind kind, bool needed) {
  const Node* found = take(key, needed, kind_name(kind));
  if (found != nullptr && found->kind != kind) {
    faults_.add(*found, fmt::format("\"{}\" should be {}, this is {}", key, kind_name(kind), kind_name(found->kind)));
    return nullptr;
  }
  return found;
}

std::string Fields::need_text(std::string_view key) {
  const Node* found = take_kind(key, Node::Kind::text, true);
  if (found == nullptr) return {};
  if (found->text.empty()) faults_.add(*found, fmt::format("\"{}\" is empty", key), "write at least one word");
  return found->text;
}

std::string Fields::text(std::string_view key, std::string_view otherwise) {
  const Node* found = take_kind(key, Node::Kind::text, false);
  return found == nullptr ? std::string(otherwise) : found->text;
}

std::string Fields::need_id(std::string_view key) {
  const Node* found = take_kind(key, Node::Kind::text, true);
  if (found == nullptr) return {};
  const bool good = !found->text.empty() && found->text.size() <= 40 &&
                    std::all_of(found->text.begin(), found->text.end(), [](char c) {
                      return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
                    });
  if (!good) {
    faults_.add(*found, fmt::format("\"{}\" is no id", found->text),
                "use lower-case letters, digits, _ and -, at most 40 of them");
  }
  return found->text;
}

std::optional<double> Fields::take_number(std::string_view key, Range range, bool needed, bool whole_only) {
  const std::string wanted = whole_only ? "a whole number" : "a number";
  const Node* found = take(key, needed, wanted);
  if (found == nullptr) return std::nullopt;
  const bool fits = whole_only ? found->kind == Node::Kind::whole : found->is_number();
  if (!fits) {
    faults_.add(*found, fmt::format("\"{}\" should be {}, this is {}", key, wanted, kind_name(found->kind)));
    return std::nullopt;
  }
  const double value = found->number;
  if (value < range.low || value > range.high || (range.above_low && value <= range.low)) {
    faults_.add(*found, fmt::format("\"{}\" is {}", key, value), "it must be " + range_words(range));
    return std::nullopt;
  }
  return value;
}

double Fields::need_number(std::string_view key, Range range) {
  return take_number(key, range, true, false).value_or(range.low);
}
std::optional<double> Fields::number(std::string_view key, Range range) {
  return take_number(key, range, false, false);
}
std::int64_t Fields::need_whole(std::string_view key, Range range) {
  return static_cast<std::int64_t>(take_number(key, range, true, true).value_or(range.low));
}
std::optional<std::int64_t> Fields::whole(std::string_view key, Range range) {
  const auto value = take_number(key, range, false, true);
  if (!value) return std::nullopt;
  return static_cast<std::int64_t>(*value);
}

bool Fields::flag(std::string_view key, bool otherwise) {
  const Node* found = take_kind(key, Node::Kind::boolean, false);
  return found == nullptr ? otherwise : found->flag;
}

std::optional<Duration> Fields::take_span(std::string_view key, Range range, double unit_ms, bool needed) {
  range.high = std::min(range.high, 31.0 * 86'400'000.0 / unit_ms);  // a month: longer is a slip
  const auto value = take_number(key, range, needed, false);
  if (!value) return std::nullopt;
  return from_seconds(*value * unit_ms / 1000.0);
}
std::optional<Duration> Fields::span(std::string_view key, Range range, double unit_ms) {
  return take_span(key, range, unit_ms, false);
}
Duration Fields::need_span(std::string_view key, Range range, double unit_ms) {
  return take_span(key, range, unit_ms, true).value_or(Duration::zero());
}

std::optional<Duration> Fields::take_clock(std::string_view key, bool needed) {
  const Node* found = take_kind(key, Node::Kind::text, needed);
  if (found == nullptr) return std::nullopt;
  const auto at = read_clock(found->text);
  if (!at) {
    faults_.add(*found, fmt::format("\"{}\" is no time of day", found->text),
                "write \"18:30\" or \"20:02:50\"; hours up to 29 reach into the night after");
  }
  return at;
}
std::optional<Duration> Fields::clock(std::string_view key) { return take_clock(key, false); }
Duration Fields::need_clock(std::string_view key) { return take_clock(key, true).value_or(Duration::zero()); }

const std::vector<Node>& Fields::list(std::string_view key) {
  const Node* found = take_kind(key, Node::Kind::list, false);
  return found == nullptr ? no_nodes : found->items;
}

const std::vector<Node>& Fields::need_list(std::string_view key) {
  const Node* found = take_kind(key, Node::Kind::list, true);
  if (found == nullptr) return no_nodes;
  if (found->items.empty()) faults_.add(*found, fmt::format("\"{}\" is empty", key), "it needs at least one entry");
  return found->items;
}

std::vector<std::string> Fields::texts(std::string_view key) {
  std::vector<std::string> out;
  for (const Node& item : list(key)) {
    if (item.kind != Node::Kind::text) {
      faults_.add(item, fmt::format("each of \"{}\" should be a text, this is {}", key, kind_name(item.kind)));
    } else if (std::find(out.begin(), out.end(), item.text) != out.end()) {
      faults_.add(item, fmt::format("\"{}\" is listed twice", item.text), "keep one of them");
    } else {
      out.push_back(item.text);
    }
  }
  return out;
}

const Node* Fields::object(std::string_view key) { return take_kind(key, Node::Kind::object, false); }
const Node* Fields::need_object(std::string_view key) { return take_kind(key, Node::Kind::object, true); }

std::size_t Fields::choice(std::string_view key, const std::vector<std::string>& words,
                           std::optional<std::size_t> otherwise) {
  const Node* found = take_kind(key, Node::Kind::text, !otherwise.has_value());
  if (found == nullptr) return otherwise.value_or(0);
  const auto at = std::find(words.begin(), words.end(), found->text);
  if (at != words.end()) return static_cast<std::size_t>(at - words.begin());
  faults_.add(*found, fmt::format("\"{}\" is none of the words for \"{}\"", found->text, key),
              fmt::format("it is one of {}", fmt::join(words, ", ")));
  return otherwise.value_or(0);
}

void Fields::finish() {
  for (std::size_t i = 0; i < node_.keys.size(); ++i) {
    const std::string& name = node_.keys[i].name;
    if (std::find(asked_.begin(), asked_.end(), name) != asked_.end()) continue;
    std::vector<std::string> open;
    for (const std::string& key : asked_) {
      if (!has(key) && std::find(open.begin(), open.end(), key) == open.end()) open.push_back(key);
    }
    const auto near = nearest(name, open);
    faults_.add_key(node_, i, fmt::format("{} knows no key \"{}\"", thing_, name),
                    near ? fmt::format("did you mean \"{}\"?", *near) : "take it away or correct its name");
  }
}

void refuse_duplicates(const std::vector<std::string>& ids, const std::vector<const Node*>& places,
                       std::string_view what, Faults& faults) {
  for (std::size_t i = 0; i < ids.size(); ++i) {
    const auto first = std::find(ids.begin(), ids.end(), ids[i]);
    const auto first_index = static_cast<std::size_t>(first - ids.begin());
    if (first_index == i || ids[i].empty()) continue;
    const Node& before = *places[first_index];
    faults.add(*places[i], fmt::format("the {} \"{}\" is there twice", what, ids[i]),
               fmt::format("the first is at {}:{}; give one of them another", before.file, before.line));
  }
}

bool refuse_unknown(const std::string& id, const std::vector<std::string>& known, std::string_view thing,
                    const Node& at, Faults& faults) {
  if (std::find(known.begin(), known.end(), id) != known.end()) return true;
  faults.add(at, fmt::format("there is no {} \"{}\"", thing, id), suggest(id, known));
  return false;
}

std::string read_allergen(const Node& at, Faults& faults) {
  if (at.kind != Node::Kind::text) {
    faults.add(at, fmt::format("an allergen should be a text, this is {}", kind_name(at.kind)));
    return {};
  }
  if (const Allergen* known = find_allergen(at.text)) return std::string(known->name);
  const auto near = nearest_allergen(at.text);
  faults.add(at, fmt::format("\"{}\" is none of the fourteen allergen groups nor a kind within one", at.text),
             near ? fmt::format("did you mean \"{}\"?", *near) : "the groups are those of Annex II, (EU) 1169/2011");
  return {};
}

std::vector<std::string> read_allergens(Fields& fields, std::string_view key, Faults& faults) {
  std::vector<std::string> out;
  for (const Node& item : fields.list(key)) {
    std::string name = read_allergen(item, faults);
    if (name.empty()) continue;
    if (std::find(out.begin(), out.end(), name) != out.end()) {
      faults.add(item, fmt::format("\"{}\" is listed twice", name), "keep one of them");
      continue;
    }
    out.push_back(std::move(name));
  }
  return out;
}

const std::vector<std::string>& document_kinds() {
  static const std::vector<std::string> kinds{"house",  "stations", "components", "dishes", "batches", "bookings",
                                              "events", "rules",    "prep",       "learnt", "kitchen"};
  return kinds;
}

void refuse_kind(const Node& root, std::string_view kind, std::string_view wanted, Faults& faults) {
  faults.add(root, fmt::format("this file holds {}, not {}", kind, wanted), "name another file");
}

std::string document_kind(const Node& root, Faults& faults) {
  const std::string how =
      "add \"$schema\": \"../schema/house.schema.json\" (or stations, components, dishes, batches, "
      "bookings, events, prep)";
  if (root.kind != Node::Kind::object) {
    faults.add(root, fmt::format("a kitchen file is an object, this is {}", kind_name(root.kind)), "begin with {");
    return {};
  }
  const Node* schema = root.find("$schema");
  if (schema == nullptr) {
    faults.add(root, "the file does not say what it holds", how);
    return {};
  }
  if (schema->kind != Node::Kind::text) {
    faults.add(*schema, fmt::format("\"$schema\" should be a text, this is {}", kind_name(schema->kind)), how);
    return {};
  }
  const std::string& name = schema->text;
  const std::string leaf = name.substr(name.rfind('/') == std::string::npos ? 0 : name.rfind('/') + 1);
  for (const std::string& kind : document_kinds()) {
    if (leaf == kind + ".schema.json") return kind;
  }
  const std::string stem = leaf.substr(0, leaf.find('.'));
  faults.add(*schema, fmt::format("\"{}\" is no kitchen schema", name), suggest(stem, document_kinds()));
  return {};
}

}  // namespace nappe::kitchen
