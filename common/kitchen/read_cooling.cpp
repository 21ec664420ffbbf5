#include "common/kitchen/read_cooling.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "common/food/cooling.hpp"

namespace nappe::kitchen {
namespace {

constexpr Range celsius{-40, 300};

// The readings as the file gives them, and what they come to.
struct Read {
  food::TwoReadings two;
  double until_c = 0;  // of a keep: where it ends
  Duration step{};     // times are rounded inwards to whole ones of this
  Duration time_constant{};
};

// The readings, or nothing when something about them is wrong (said already).
std::optional<Read> read_readings(const Node& node, bool with_end, Faults& faults) {
  Fields fields(node, "a pair of readings", faults);
  Read out;
  food::TwoReadings& two = out.two;
  two.first_c = fields.need_number("from_c", celsius);
  two.second_c = fields.need_number("then_c", celsius);
  two.between = fields.need_span("after_s", {0, 86'400, true});
  two.surround_c = fields.need_number("around_c", celsius);
  if (with_end) out.until_c = fields.need_number("until_c", celsius);
  out.step = fields.span("round_s", {1, 3600}).value_or(seconds(1));
  fields.finish();
  for (const char* key : {"from_c", "then_c", "after_s", "around_c"}) {
    if (!fields.has(key)) return std::nullopt;
  }
  if (with_end && !fields.has("until_c")) return std::nullopt;
  if (two.between <= Duration::zero()) return std::nullopt;
  const auto tau = food::time_constant(two);
  if (!tau) {
    faults.add(node, tau.error().detail, "read the same spot twice, the second time nearer to \"around_c\"");
    return std::nullopt;
  }
  out.time_constant = *tau;
  return out;
}

std::optional<Duration> time_to(const Read& read, double limit_c, const Node& node, Faults& faults) {
  const food::Cooling cooling{read.two.first_c, read.two.surround_c, read.time_constant};
  const auto time = food::keep_from_cooling(cooling, limit_c);
  if (time) return *time;
  faults.add(node, time.error().detail, "correct the readings or the temperature it is to reach");
  return std::nullopt;
}

Duration rounded_down(Duration time, Duration step) { return time / step * step; }
Duration rounded_up(Duration time, Duration step) { return rounded_down(time + step - Duration(1), step); }

void derive_rest(Component& component, Step& rest, const std::string& before, const Node& node, Faults& faults,
                 ClockWords* words) {
  const auto read = read_readings(node, false, faults);
  if (!read) return;
  if (!component.plated_c) {
    faults.add(node, fmt::format("\"{}\" cools, but nothing says to what", rest.id),
               fmt::format("give \"{}\" a \"plated_c\": the rest ends inside it", component.id));
    return;
  }
  const Band band = *component.plated_c;
  if (read->two.first_c <= read->two.surround_c) {
    faults.add(
        node, fmt::format("\"{}\" does not cool: it is {} C in {} C", rest.id, read->two.first_c, read->two.surround_c),
        "\"from_c\" is above \"around_c\"");
    return;
  }
  const auto ready = time_to(*read, band.max_c, node, faults);
  const auto cold = ready ? time_to(*read, band.min_c, node, faults) : std::nullopt;
  if (!cold) return;
  const Duration plating = component.steps.back().usual(1);
  rest.takes = {rounded_up(*ready, read->step), {}};
  rest.rest_max = rounded_down(std::max(Duration::zero(), *cold - plating), read->step);
  if (rest.rest_max < rest.takes.fixed || rest.rest_max <= Duration::zero()) {
    faults.add(node,
               fmt::format("\"{}\" is at {} C after {} and at {} C after {}, and plating takes {}: there is no moment "
                           "to plate it",
                           rest.id, band.max_c, span_text(*ready), band.min_c, span_text(*cold), span_text(plating)),
               "widen \"plated_c\", plate faster or keep it warmer");
    rest.rest_max = rest.takes.fixed + seconds(1);
    return;
  }
  if (words == nullptr) return;
  words->push_back(fmt::format("{}: rests {} to {} after \"{}\" (at {} C after {}, at {} C after {}, {} of plating)",
                               component.id, span_text(rest.takes.fixed), span_text(rest.rest_max), before, band.max_c,
                               span_text(*ready), band.min_c, span_text(*cold), span_text(plating)));
}

}  // namespace

void derive_rests(Component& component, const std::vector<const Node*>& places, Faults& faults, ClockWords* words) {
  for (std::size_t i = 0; i < component.steps.size() && i < places.size(); ++i) {
    Step& step = component.steps[i];
    const Node* node = places[i]->find("cools");
    if (node == nullptr || step.kind != StepKind::rest) continue;
    const std::string before = i > 0 ? component.steps[i - 1].word : std::string();
    derive_rest(component, step, before, *node, faults, words);
  }
}

std::optional<Duration> derive_keep(const Node& node, const std::string& what, Faults& faults, ClockWords* words) {
  const auto read = read_readings(node, true, faults);
  if (!read) return std::nullopt;
  const auto time = time_to(*read, read->until_c, node, faults);
  if (!time) return std::nullopt;
  const Duration keep = rounded_down(*time, read->step);
  if (keep <= Duration::zero()) {
    faults.add(node, fmt::format("{} is past {} C at once", what, read->until_c), "correct \"from_c\" or \"until_c\"");
    return std::nullopt;
  }
  if (words != nullptr) {
    words->push_back(fmt::format("{}: keeps {} once plated ({} C to {} C in {} C)", what, span_text(keep),
                                 read->two.first_c, read->until_c, read->two.surround_c));
  }
  return keep;
}

}  // namespace nappe::kitchen
