// Reading rule sets from JSON text. The format: config/schema/rules.schema.json.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>
#include <utility>

#include "common/food/rules.hpp"

namespace nappe::food {
namespace {

using Json = nlohmann::json;

// The first fault found; everything read after it is thrown away.
struct Fault {
  std::optional<Error> first;
  void say(const std::string& where, std::string what) {
    if (!first) first = Error{Errc::invalid, std::move(what), where};
  }
};

// One object, read key by key; done() complains about every key that was not asked for.
class Fields {
 public:
  Fields(const Json& value, std::string at, Fault& fault) : value_(value), at_(std::move(at)), fault_(fault) {
    if (!value.is_object()) fault_.say(at_, "this must be an object");
  }

  const std::string& at() const { return at_; }
  std::string at(std::string_view key) const { return fmt::format("{}/{}", at_, key); }
  Fault& fault() const { return fault_; }

  const Json* find(const char* key) {
    known_.insert(key);
    if (!value_.is_object()) return nullptr;
    const auto it = value_.find(key);
    return it == value_.end() ? nullptr : &*it;
  }
  const Json* need(const char* key) {
    const Json* found = find(key);
    if (found == nullptr) fault_.say(at_, fmt::format("\"{}\" is missing here", key));
    return found;
  }

  std::optional<double> maybe_number(const char* key, double low, double high) {
    const Json* found = find(key);
    return found == nullptr ? std::nullopt : std::optional(as_number(*found, key, low, high));
  }
  double number(const char* key, double low, double high) {
    const Json* found = need(key);
    return found == nullptr ? low : as_number(*found, key, low, high);
  }
  std::optional<double> maybe_celsius(const char* key) { return maybe_number(key, -60, 300); }
  double celsius(const char* key) { return number(key, -60, 300); }
  Duration minutes_of(const char* key) { return from_seconds(60 * number(key, 0, 100'000)); }
  int whole(const char* key, int low, int high) {
    const double n = number(key, low, high);
    if (n != std::floor(n)) fault_.say(at(key), "this must be a whole number");
    return static_cast<int>(n);
  }
  int whole_or(const char* key, int otherwise, int low, int high) {
    return find(key) == nullptr ? otherwise : whole(key, low, high);
  }
  bool flag(const char* key) {
    const Json* found = find(key);
    if (found == nullptr) return false;
    if (!found->is_boolean()) fault_.say(at(key), "this must be true or false");
    return found->is_boolean() && found->get<bool>();
  }
  std::string text(const char* key) {
    const Json* found = need(key);
    return found == nullptr ? std::string() : as_text(*found, key);
  }
  std::string text_or_empty(const char* key) {
    const Json* found = find(key);
    return found == nullptr ? std::string() : as_text(*found, key);
  }
  // Calls read(element, its place) for each element of a list that must not be empty.
  template <class Read>
  void list(const char* key, bool needed, Read read) {
    const Json* found = needed ? need(key) : find(key);
    if (found == nullptr) return;
    if (!found->is_array() || found->empty()) {
      fault_.say(at(key), "this must be a list with at least one entry");
      return;
    }
    std::size_t i = 0;
    for (const Json& element : *found) read(element, fmt::format("{}/{}", at(key), i++));
  }

  void done() {
    if (!value_.is_object()) return;
    for (const auto& item : value_.items()) {
      if (known_.count(item.key()) != 0) continue;
      std::string keys;
      for (const std::string& key : known_) keys += (keys.empty() ? "" : ", ") + key;
      fault_.say(at(escaped(item.key())), fmt::format("unknown key; known here: {}", keys));
    }
  }

 private:
  // RFC 6901: ~ and / in a key.
  static std::string escaped(const std::string& key) {
    std::string out;
    for (const char c : key) out += c == '~' ? "~0" : c == '/' ? "~1" : std::string(1, c);
    return out;
  }
  double as_number(const Json& value, const char* key, double low, double high) {
    if (!value.is_number()) {
      fault_.say(at(key), "this must be a number");
      return low;
    }
    const double n = value.get<double>();
    if (!(n >= low && n <= high)) fault_.say(at(key), fmt::format("{} is not between {} and {}", n, low, high));
    return n;
  }
  std::string as_text(const Json& value, const char* key) {
    if (!value.is_string() || value.get_ref<const std::string&>().empty()) {
      fault_.say(at(key), "this must be a text that is not empty");
      return {};
    }
    return value.get<std::string>();
  }

  const Json& value_;
  std::string at_;
  Fault& fault_;
  std::set<std::string> known_;
};

template <class Value, std::size_t N>
Value one_of(Fields& in, const char* key, const std::pair<std::string_view, Value> (&words)[N]) {
  const std::string got = in.text(key);
  std::string known;
  for (const auto& [word, value] : words) {
    if (word == got) return value;
    known += (known.empty() ? "" : ", ") + std::string(word);
  }
  in.fault().say(in.at(key), fmt::format("\"{}\" is none of: {}", got, known));
  return words[0].second;
}

class RuleReader {
 public:
  RuleReader(std::string rule, Fault& fault) : rule_(std::move(rule)), fault_(fault) {}

  Source source(Fields& in) const {
    const Json* found = in.need("source");
    if (found == nullptr) return {};
    Fields fields(*found, in.at("source"), fault_);
    Source out;
    out.rule = rule_;
    out.text = fields.text("text");
    static constexpr std::pair<std::string_view, Standing> standings[] = {{"law", Standing::law},
                                                                          {"guidance", Standing::guidance},
                                                                          {"practice", Standing::practice},
                                                                          {"house", Standing::house}};
    static constexpr std::pair<std::string_view, Checked> checks[] = {{"primary", Checked::primary},
                                                                      {"secondary", Checked::secondary},
                                                                      {"memory", Checked::memory},
                                                                      {"own", Checked::own}};
    out.standing = one_of(fields, "standing", standings);
    out.verified = one_of(fields, "verified", checks);
    out.note = fields.text_or_empty("note");
    fields.done();
    return out;
  }

  std::optional<Allowance> allowance(Fields& in) const {
    const Json* found = in.find("outside");
    if (found == nullptr) return {};
    Fields fields(*found, in.at("outside"), fault_);
    Allowance out{fields.minutes_of("minutes"), fields.whole_or("periods", 0, 0, 1000), source(fields)};
    fields.done();
    return out;
  }

  HotHolding hot(const Json& value, const std::string& at) const {
    Fields in(value, at, fault_);
    HotHolding out;
    if (!no_number(in)) {
      out.min_c = in.celsius("min_c");
      out.above = in.flag("above");
      out.outside = allowance(in);
    }
    out.source = source(in);
    in.done();
    return out;
  }

  ChillHolding chill(const Json& value, const std::string& at) const {
    Fields in(value, at, fault_);
    ChillHolding out;
    if (!no_number(in)) {
      out.max_c = in.celsius("max_c");
      out.outside = allowance(in);
    }
    out.source = source(in);
    in.done();
    return out;
  }

  CoolingRule cooling(const Json& value, const std::string& at) const {
    Fields in(value, at, fault_);
    CoolingRule out;
    if (!no_number(in)) {
      in.list("stages", true, [&](const Json& element, const std::string& place) {
        Fields stage(element, place, fault_);
        out.stages.push_back({stage.maybe_celsius("from_c"), stage.celsius("to_c"), stage.minutes_of("minutes")});
        const CoolingStage& read = out.stages.back();
        if (read.from_c && *read.from_c <= read.to_c) fault_.say(place, "from_c must be warmer than to_c");
        if (read.within == Duration::zero()) fault_.say(stage.at("minutes"), "this must be above zero");
        stage.done();
      });
      out.recook = recook(in);
    }
    out.source = source(in);
    in.done();
    return out;
  }

  std::optional<RecookRule> recook(Fields& in) const {
    const Json* found = in.find("recook");
    if (found == nullptr) return {};
    Fields fields(*found, in.at("recook"), fault_);
    RecookRule out{holds(fields), fields.minutes_of("late_minutes"), source(fields)};
    fields.done();
    return out;
  }

  ReheatingRule reheating(const Json& value, const std::string& at) const {
    Fields in(value, at, fault_);
    ReheatingRule out;
    if (!no_number(in)) {
      out.holds = holds(in);
      if (const auto minutes = in.maybe_number("minutes", 0, 100'000)) out.within = from_seconds(60 * *minutes);
      out.counted_from_c = in.maybe_celsius("counted_from_c");
      if (out.within.has_value() != out.counted_from_c.has_value()) {
        fault_.say(in.at(), "minutes and counted_from_c belong together: give both or neither");
      }
    }
    out.times = in.whole_or("times", 0, 0, 1000);
    out.order_exempt = in.flag("order_exempt");
    out.source = source(in);
    in.done();
    return out;
  }

  CookingRule cooking(const Json& value, const std::string& at) const {
    Fields in(value, at, fault_);
    CookingRule out{in.text("food"), holds(in), source(in)};
    in.done();
    return out;
  }

  TimeOnlyRule time_only(const Json& value, const std::string& at) const {
    Fields in(value, at, fault_);
    TimeOnlyRule out;
    out.name = in.text("name");
    out.food = in.text_or_empty("food");
    out.starts_max_c = in.maybe_celsius("starts_max_c");
    out.starts_min_c = in.maybe_celsius("starts_min_c");
    if (!out.starts_max_c && !out.starts_min_c) fault_.say(at, "give starts_max_c, starts_min_c or both");
    out.warmest_c = in.maybe_celsius("warmest_c");
    out.longest = in.minutes_of("minutes");
    out.source = source(in);
    in.done();
    return out;
  }

  KeepingRule keeping(const Json& value, const std::string& at) const {
    Fields in(value, at, fault_);
    KeepingRule out;
    out.what = in.text("what");
    out.days = in.whole("days", 1, 3650);
    out.first_day_counts = in.flag("first_day_counts");
    out.max_c = in.maybe_celsius("max_c");
    out.source = source(in);
    in.done();
    return out;
  }

  AllergenRule allergens(const Json& value, const std::string& at) const {
    Fields in(value, at, fault_);
    AllergenRule out;
    in.list("groups", true, [&](const Json& element, const std::string& place) {
      if (!element.is_string() || element.get_ref<const std::string&>().empty()) {
        fault_.say(place, "this must be a text that is not empty");
        return;
      }
      const auto name = element.get<std::string>();
      if (std::find(out.groups.begin(), out.groups.end(), name) != out.groups.end())
        fault_.say(place, fmt::format("\"{}\" stands here twice", name));
      out.groups.push_back(name);
    });
    out.source = source(in);
    in.done();
    return out;
  }

 private:
  // "no_number": true says that the rule set speaks of the matter and sets no number.
  bool no_number(Fields& in) const {
    const Json* found = in.find("no_number");
    if (found == nullptr) return false;
    if (!found->is_boolean() || !found->get<bool>()) fault_.say(in.at("no_number"), "leave this out or set it to true");
    return true;
  }

  std::vector<Hold> holds(Fields& in) const {
    std::vector<Hold> out;
    in.list("holds", true, [&](const Json& element, const std::string& place) {
      Fields hold(element, place, fault_);
      out.push_back({hold.celsius("min_c"), from_seconds(hold.number("seconds", 0, 1'000'000))});
      hold.done();
    });
    return out;
  }

  std::string rule_;
  Fault& fault_;
};

bool is_date(const std::string& text) { return text.size() == 10 && from_rfc3339(text + "T00:00:00Z").has_value(); }

// The same key twice in one object: the library keeps the last, silently.
Result<Json> parse_json(std::string_view text) {
  std::vector<std::set<std::string>> open;
  std::optional<std::string> doubled;
  const auto watch = [&](int, Json::parse_event_t event, Json& parsed) {
    if (event == Json::parse_event_t::object_start) open.emplace_back();
    if (event == Json::parse_event_t::object_end) open.pop_back();
    if (event == Json::parse_event_t::key && !open.back().insert(parsed.get<std::string>()).second) {
      doubled = parsed.get<std::string>();
    }
    return true;
  };
  try {
    Json document = Json::parse(text.begin(), text.end(), watch, true, true);
    if (doubled) return Error{Errc::invalid, fmt::format("the key \"{}\" stands twice in one object", *doubled)};
    return document;
  } catch (const Json::parse_error& error) {
    return Error{Errc::invalid, fmt::format("this is no JSON (at byte {}): {}", error.byte, error.what())};
  }
}

template <class Rule, class Read>
void read_section(Fields& top, const char* key, std::optional<Rule>& out, Read read) {
  if (const Json* found = top.find(key)) out = read(*found, top.at(key));
}

}  // namespace

Result<RuleSet> parse_rule_set(std::string_view json_text) {
  const Result<Json> document = parse_json(json_text);
  if (!document) return document.error();
  Fault fault;
  Fields top(*document, "", fault);
  RuleSet out;
  if (const Json* schema = top.find("$schema"); schema != nullptr && !schema->is_string()) {
    fault.say("/$schema", "this must be a text");
  }
  out.id = top.text("id");
  out.name = top.text("name");
  out.edition = top.text("edition");
  out.as_of = top.text("as_of");
  if (!is_date(out.as_of)) fault.say("/as_of", "this must be a date such as 2026-11-01");

  const RuleReader reader(out.name, fault);
  const auto each = [&](const char* key, auto& list, auto read) {
    top.list(key, false, [&](const Json& element, const std::string& at) { list.push_back(read(element, at)); });
  };
  read_section(top, "hot_holding", out.hot_holding, [&](auto& v, auto at) { return reader.hot(v, at); });
  read_section(top, "chill_holding", out.chill_holding, [&](auto& v, auto at) { return reader.chill(v, at); });
  read_section(top, "cooling", out.cooling, [&](auto& v, auto at) { return reader.cooling(v, at); });
  read_section(top, "reheating", out.reheating, [&](auto& v, auto at) { return reader.reheating(v, at); });
  each("cooking", out.cooking, [&](auto& v, auto& at) { return reader.cooking(v, at); });
  each("time_only", out.time_only, [&](auto& v, auto& at) { return reader.time_only(v, at); });
  each("keeping", out.keeping, [&](auto& v, auto& at) { return reader.keeping(v, at); });
  read_section(top, "allergens", out.allergens, [&](auto& v, auto at) { return reader.allergens(v, at); });
  top.done();
  if (fault.first) return *fault.first;
  return out;
}

}  // namespace nappe::food
