// Reads a component and checks what can be seen from the component alone.

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "common/kitchen/allergen.hpp"
#include "common/kitchen/near.hpp"
#include "common/kitchen/read_cooling.hpp"
#include "common/kitchen/read_kitchen.hpp"
#include "common/kitchen/read_quantiles.hpp"

namespace nappe::kitchen {
namespace {

constexpr Range span_range{0, 86'400};
constexpr Range celsius{-40, 300};

Cue read_cue(const Node& node, Faults& faults) {
  Fields fields(node, "a cue", faults);
  Cue out;
  out.look = fields.text("look");
  out.sound = fields.text("sound");
  out.taste = fields.text("taste");
  out.too_far = fields.text("too_far");
  out.core_c = fields.number("core_c", celsius);
  fields.finish();
  if (fields.is_object() && out.look.empty() && out.sound.empty() && out.taste.empty() && !out.core_c) {
    faults.add(node, "a cue that says nothing", "say what it looks, sounds or tastes like, or give \"core_c\"");
  }
  return out;
}

Use read_use(const Node& node, Faults& faults) {
  Fields fields(node, "a use of equipment", faults);
  Use out;
  out.equipment = fields.need_text("equipment");
  const auto each = fields.whole("places_each", {0, 1000});
  const auto fixed = fields.whole("places", {0, 1000});
  fields.finish();
  out.each = static_cast<int>(each.value_or(0));
  out.fixed = static_cast<int>(fixed.value_or(each ? 0 : 1));
  if (out.fixed == 0 && out.each == 0) {
    faults.add(node, fmt::format("a use of \"{}\" that takes no place", out.equipment),
               "give \"places\" for the pan or \"places_each\" for each portion");
  }
  return out;
}

// Keys of a rest and of the other kinds exclude each other.
void refuse_keys(const Fields& fields, std::initializer_list<std::string_view> keys, std::string_view kind,
                 std::string_view instead, Faults& faults) {
  for (const std::string_view key : keys) {
    if (!fields.has(key)) continue;
    faults.add(fields.place(key), fmt::format("a {} has no \"{}\"", kind, key), std::string(instead));
  }
}

void read_times(Fields& fields, Step& step, Faults& faults) {
  const auto fixed = fields.span("fixed_s", span_range);
  const auto each = fields.span("each_s", span_range);
  const auto min = fields.span("min_s", span_range);
  const auto max = fields.span("max_s", {0, 86'400, true});
  const bool cools = fields.object("cools") != nullptr;  // its times are worked out when the whole component is read
  step.rest_past = fields.text("past");
  step.pause = fields.span("pause_s", span_range).value_or(Duration::zero());
  if (!fields.is_object()) return;
  const auto missing = [&](std::string_view key, std::string_view kind) {
    if (fields.has(key)) return;  // there, but wrong: already said
    faults.add(fields.node(), fmt::format("a {} has no \"{}\"", kind, key), fmt::format("add \"{}\": seconds", key));
  };
  if (step.kind == StepKind::rest) {
    if (cools) {
      refuse_keys(fields, {"min_s", "max_s"}, "rest with \"cools\"", "the readings say how long", faults);
    } else {
      if (!min) missing("min_s", "rest");
      if (!max) missing("max_s", "rest");
    }
    step.takes.fixed = min.value_or(Duration::zero());
    step.rest_max = max.value_or(step.takes.fixed);
    refuse_keys(fields, {"fixed_s", "each_s", "most", "quantiles"}, "rest", "it has \"min_s\" and \"max_s\"", faults);
    if (min && max && *min > *max) {
      faults.add(fields.place("min_s"),
                 fmt::format("the rest's minimum {} s is above its maximum {} s", in_seconds(*min), in_seconds(*max)),
                 "no rest can be long enough and short enough; swap or correct them");
    }
  } else {
    step.takes = {fixed.value_or(Duration::zero()), each.value_or(Duration::zero())};
    refuse_keys(fields, {"min_s", "max_s", "past", "cools"}, "step that is not a rest",
                "give \"fixed_s\" and \"each_s\", or make it a rest", faults);
    const bool readable = (fixed || !fields.has("fixed_s")) && (each || !fields.has("each_s"));
    if (readable && step.takes.of(1) == Duration::zero() && !fields.has("quantiles")) {
      faults.add(fields.node(), "a step that takes no time", "give \"fixed_s\", \"each_s\" or both");
    }
  }
  if (step.pause > Duration::zero() && !step.by_hand()) {
    faults.add(fields.place("pause_s"), "a wait or a rest cannot be put off: it begins when the step before it ends",
               "put \"pause_s\" on the move behind it");
  }
}

Step read_step(const Node& node, Faults& faults) {
  static const std::vector<std::string> kinds{"move", "wait", "rest", "plate"};
  static const std::vector<std::string> origins{"said", "timed", "learnt"};
  Fields fields(node, "a step", faults);
  Step out;
  out.id = fields.need_id("id");
  out.kind = static_cast<StepKind>(fields.choice("kind", kinds, std::nullopt));
  out.word = fields.need_text("word");
  out.how = fields.text("how");
  read_times(fields, out, faults);
  out.scatter = fields.number("scatter", {0, 2}).value_or(out.scatter);
  if (const Node* said = fields.object("quantiles")) {
    Fields inner(*said, "\"quantiles\"", faults);
    const Quantiles quantiles = read_quantiles(inner, faults);
    inner.finish();
    if (fields.has("scatter"))
      faults.add(fields.place("scatter"), "\"quantiles\" say already how much the time scatters",
                 "keep one of the two");
    if (out.kind != StepKind::rest) take_quantiles(quantiles, out);
  }
  if (const Node* most = fields.object("most")) {
    Fields times(*most, "\"most\"", faults);
    Growth growth{times.span("fixed_s", span_range).value_or(Duration::zero()),
                  times.span("each_s", span_range).value_or(Duration::zero())};
    times.finish();
    if (growth.of(1) < out.takes.of(1)) {
      faults.add(*most,
                 fmt::format("\"most\" is {} s for one portion, less than the usual {} s", in_seconds(growth.of(1)),
                             in_seconds(out.takes.of(1))),
                 "\"most\" is the time after which something is wrong");
    }
    out.most = growth;
  }
  if (const Node* cue = fields.object("cue")) out.cue = read_cue(*cue, faults);
  for (const Node& use : fields.list("uses")) out.uses.push_back(read_use(use, faults));
  out.origin = static_cast<Origin>(fields.choice("origin", origins, std::nullopt));
  fields.finish();
  return out;
}

void read_odds(const Node& node, Rounds& rounds, Faults& faults) {
  if (node.kind != Node::Kind::object) {
    faults.add(node, fmt::format("\"odds\" should be an object, this is {}", kind_name(node.kind)),
               "write { \"6\": 0.20, \"7\": 0.45, ... }");
    return;
  }
  double sum = 0;
  bool readable = true;
  for (std::size_t i = 0; i < node.keys.size(); ++i) {
    const std::string& name = node.keys[i].name;
    const Node& share = node.items[i];
    int count = 0;
    const auto [end, error] = std::from_chars(name.data(), name.data() + name.size(), count);
    if (error != std::errc() || end != name.data() + name.size() || count < rounds.min || count > rounds.max) {
      faults.add_key(node, i, fmt::format("\"{}\" is no number of rounds from {} to {}", name, rounds.min, rounds.max),
                     "odds name only numbers the rounds allow");
      readable = false;
    } else if (!share.is_number() || share.number < 0 || share.number > 1) {
      faults.add(share, "a chance should be a number from 0 to 1", "");
      readable = false;
    } else {
      rounds.seen[count] = share.number;
      sum += share.number;
    }
  }
  if (readable && std::abs(sum - 1.0) > 1e-6) {
    faults.add(node, fmt::format("the odds add up to {:.6g}", sum), "they must add up to 1");
  }
}

void read_rounds(const Node& node, Component& component, Faults& faults) {
  constexpr Range count{1, 1000};
  Fields fields(node, "rounds", faults);
  Rounds out;
  out.word = fields.need_text("word");
  out.min = static_cast<int>(fields.need_whole("min", count));
  out.usual = static_cast<int>(fields.need_whole("usual", count));
  out.max = static_cast<int>(fields.need_whole("max", count));
  const bool ordered = out.min <= out.usual && out.usual <= out.max;
  if (!ordered && fields.is_object()) {
    faults.add(fields.place("usual"), fmt::format("rounds from {} to {}, usually {}", out.min, out.max, out.usual),
               "it must be min <= usual <= max");
  }
  const Node* odds = fields.object("odds");
  if (odds != nullptr && ordered) read_odds(*odds, out, faults);
  if (const Node* cue = fields.object("cue")) out.cue = read_cue(*cue, faults);
  out.join_before = static_cast<int>(fields.whole("join_before", {0, 1000}).value_or(0));
  if (ordered && out.join_before > out.max) {
    faults.add(fields.place("join_before"),
               fmt::format("portions may join before round {}, but there are at most {}", out.join_before, out.max),
               "name one of the rounds, or 0 for never");
  }
  out.first = static_cast<int>(component.steps.size());
  bool by_hand = false;
  for (const Node& step : fields.need_list("steps")) {
    component.steps.push_back(read_step(step, faults));
    component.steps.back().group = static_cast<int>(component.groups.size());
    by_hand = by_hand || component.steps.back().kind == StepKind::move;
    if (component.steps.back().kind == StepKind::plate) {
      faults.add(step, "a plate step inside rounds", "portions go on their plates once, in the last step");
    }
  }
  fields.finish();
  out.last = static_cast<int>(component.steps.size()) - 1;
  if (out.last < out.first) return;
  if (!by_hand) faults.add(node, "rounds without a move", "a hand must be there to feel for the cue");
  component.groups.push_back(std::move(out));
}

// Reads the chain; answers the node of each step, in step with component.steps.
std::vector<const Node*> read_chain(Fields& fields, Component& component, Faults& faults) {
  std::vector<const Node*> places;
  for (const Node& entry : fields.need_list("steps")) {
    const Node* rounds = entry.kind == Node::Kind::object ? entry.find("rounds") : nullptr;
    if (rounds == nullptr) {
      component.steps.push_back(read_step(entry, faults));
      places.push_back(&entry);
      continue;
    }
    Fields wrapper(entry, "an entry with rounds", faults);
    wrapper.skip("rounds");
    wrapper.finish();
    read_rounds(*rounds, component, faults);
    const Node* steps = rounds->find("steps");
    for (std::size_t i = 0; places.size() < component.steps.size(); ++i) places.push_back(&steps->items[i]);
  }
  return places;
}

void check_chain(const Component& component, const std::vector<const Node*>& places, Faults& faults) {
  if (component.steps.empty()) return;
  const auto id_place = [&](std::size_t i) {
    const Node* id = places[i]->find("id");
    return id == nullptr ? places[i] : id;
  };
  std::vector<const Node*> ids;
  for (std::size_t i = 0; i < places.size(); ++i) ids.push_back(id_place(i));
  refuse_duplicates(ids_of(component.steps), ids, "step", faults);
  if (!component.steps.front().by_hand()) {
    faults.add(*places.front(), "the first step is a wait: nobody puts it on", "begin with a move");
  }
  if (component.steps.back().kind != StepKind::plate) {
    faults.add(*places.back(), fmt::format("no step finishes \"{}\"", component.id),
               "make the last step a plate step: \"kind\": \"plate\"");
  }
  for (std::size_t i = 0; i + 1 < component.steps.size(); ++i) {
    if (component.steps[i].kind != StepKind::plate || component.steps[i].group >= 0) continue;
    faults.add(*places[i], "a plate step before the last", "portions go on their plates once, in the last step");
  }
}

std::optional<Band> read_band(const Node& node, Faults& faults) {
  Fields fields(node, "a span of temperatures", faults);
  Band out;
  const auto min = fields.number("min_c", celsius);
  const auto max = fields.number("max_c", celsius);
  fields.finish();
  if (!min || !max) {
    if (fields.is_object() && !(fields.has("min_c") && fields.has("max_c"))) {
      faults.add(node, "a span of temperatures needs both ends", "give \"min_c\" and \"max_c\"");
    }
    return std::nullopt;
  }
  out = {*min, *max};
  if (out.min_c > out.max_c) {
    faults.add(fields.place("min_c"), fmt::format("\"min_c\" {} is above \"max_c\" {}", out.min_c, out.max_c),
               "swap or correct them");
  }
  return out;
}

void check_limit(const Fields& fields, std::optional<double> fails_c, std::optional<double> limit_c, Faults& faults) {
  if (!fails_c || !limit_c || *limit_c <= *fails_c) return;
  faults.add(fields.place("limit_c"),
             fmt::format("the house limit {} C is above {} C, where it fails", *limit_c, *fails_c),
             "\"limit_c\" is at most \"fails_c\"");
}

Layer read_layer(const Node& node, Faults& faults) {
  Fields fields(node, "a layer", faults);
  Layer out;
  out.id = fields.need_id("id");
  out.name = fields.need_text("name");
  out.batch = fields.text("batch");
  out.fails_c = fields.number("fails_c", celsius);
  out.limit_c = fields.number("limit_c", celsius);
  fields.skip("keeps");
  fields.finish();
  check_limit(fields, out.fails_c, out.limit_c, faults);
  return out;
}

void read_without(const Node& node, Component& component, Faults& faults) {
  for (std::size_t i = 0; i < node.keys.size(); ++i) {
    const std::string& said = node.keys[i].name;
    const Node& words = node.items[i];
    const Allergen* known = find_allergen(said);
    if (known == nullptr) {
      const auto near = nearest_allergen(said);
      faults.add_key(node, i, fmt::format("\"{}\" is none of the fourteen allergen groups nor a kind within one", said),
                     near ? fmt::format("did you mean \"{}\"?", *near) : "");
      continue;
    }
    const auto& held = component.allergens;
    if (std::find(held.begin(), held.end(), known->name) == held.end()) {
      faults.add_key(node, i, fmt::format("\"{}\" is left out of a component that does not list it", known->name),
                     held.empty() ? "add it to \"allergens\" or take this away"
                                  : fmt::format("it holds {}", fmt::join(held, ", ")));
    }
    if (words.kind != Node::Kind::text || words.text.empty()) {
      faults.add(words, fmt::format("what to do without {} should be a text", known->name),
                 "say what the cook does: \"no curd, mount with leek oil\"");
      continue;
    }
    component.without[std::string(known->name)] = words.text;
  }
}

void read_join(Fields& fields, Component& component, Faults& faults) {
  const std::string join = fields.text("join_before_step");
  if (join.empty()) return;
  const Node& at = fields.place("join_before_step");
  if (!refuse_unknown(join, ids_of(component.steps), "step", at, faults)) return;
  const Step* step = component.find_step(join);
  const auto index = static_cast<int>(step - component.steps.data());
  if (index == 0) {
    faults.add(at, "nothing can join before the first step", "name the step a portion may still join before");
  }
  const bool by_round = std::any_of(component.groups.begin(), component.groups.end(),
                                    [](const Rounds& rounds) { return rounds.join_before > 0; });
  if (by_round) faults.add(at, "the rounds already say when a portion may join", "keep one of the two");
  component.join_before_step = index;
}

// How long it stands once plated: what is typed, what its own readings say, what those of its layers say; the least.
void read_keep(Fields& fields, Component& component, const std::vector<Node>& layers, Faults& faults,
               ClockWords* words) {
  const auto typed = fields.span("keep_s", {0, 86'400, true});
  std::optional<Duration> least = typed;
  bool given = fields.has("keep_s");
  const auto take = [&](const Node& readings, const std::string& what) {
    given = true;
    const auto keep = derive_keep(readings, what, faults, words);
    if (keep) least = least ? std::min(*least, *keep) : *keep;
  };
  if (const Node* readings = fields.object("keeps")) take(*readings, component.id);
  for (std::size_t i = 0; i < layers.size() && i < component.layers.size(); ++i) {
    const Node* readings = layers[i].find("keeps");
    if (readings != nullptr) take(*readings, fmt::format("{}, {}", component.id, component.layers[i].name));
  }
  if (!given && fields.is_object()) {
    faults.add(fields.node(), "nothing says how long it keeps",
               "add \"keep_s\", or \"keeps\" with two probe readings, to it or to one of its layers");
  }
  component.keep = least.value_or(seconds(1));
}

}  // namespace

Component read_component(const Node& node, Faults& faults, ClockWords* words) {
  Fields fields(node, "a component", faults);
  Component out;
  out.id = fields.need_id("id");
  out.name = fields.need_text("name");
  out.station = fields.need_text("station");
  out.cap = static_cast<int>(fields.need_whole("cap", {1, 1000}));
  out.vessel = fields.text("vessel", out.vessel);
  const auto places = read_chain(fields, out, faults);
  check_chain(out, places, faults);
  out.allergens = read_allergens(fields, "allergens", faults);
  if (const Node* without = fields.object("without")) read_without(*without, out, faults);
  out.batches = fields.texts("batches");
  read_join(fields, out, faults);
  if (const Node* band = fields.object("plated_c")) out.plated_c = read_band(*band, faults);
  out.fails_c = fields.number("fails_c", celsius);
  out.limit_c = fields.number("limit_c", celsius);
  check_limit(fields, out.fails_c, out.limit_c, faults);
  const auto& layers = fields.list("layers");
  std::vector<const Node*> layer_places;
  for (const Node& layer : layers) {
    out.layers.push_back(read_layer(layer, faults));
    layer_places.push_back(&layer);
  }
  refuse_duplicates(ids_of(out.layers), layer_places, "layer", faults);
  read_keep(fields, out, layers, faults, words);
  if (!out.steps.empty()) derive_rests(out, places, faults, words);
  fields.finish();
  return out;
}

}  // namespace nappe::kitchen
