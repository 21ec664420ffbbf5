#include "common/kitchen/read_quantiles.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "common/kitchen/read_kitchen.hpp"

namespace nappe::kitchen {
namespace {

constexpr Range seconds_range{0, 86'400, true};
// The standard normal's 90 % point.
constexpr double z90 = 1.2815515655446004;
// What stands in the house's file counts like so many times.
constexpr double house_counts = 8;

Growth scaled(const Growth& growth, double factor) {
  return {from_seconds(in_seconds(growth.fixed) * factor), from_seconds(in_seconds(growth.each) * factor)};
}

// What nights say of one step, in sum.
struct Learnt {
  double times = 0;
  double log_factor = 0;
  double variance = 0;
};

void apply(const Learnt& learnt, Step& step) {
  const double all = learnt.times + house_counts;
  step.takes = scaled(step.takes, std::exp(learnt.log_factor / all));
  if (step.most) step.most = scaled(*step.most, std::exp(learnt.log_factor / all));
  step.scatter = std::sqrt((learnt.variance + house_counts * step.scatter * step.scatter) / all);
  step.origin = Origin::learnt;
}

}  // namespace

double Quantiles::scatter() const { return std::log(in_seconds(q90) / in_seconds(q10)) / (2 * z90); }

Quantiles read_quantiles(Fields& fields, Faults& faults) {
  Quantiles out;
  out.portions = static_cast<int>(fields.whole("portions", {1, 1000}).value_or(1));
  const std::size_t before = faults.all().size();
  out.q10 = fields.need_span("q10_s", seconds_range);
  out.q50 = fields.need_span("q50_s", seconds_range);
  out.q90 = fields.need_span("q90_s", seconds_range);
  if (faults.all().size() == before && fields.is_object() && !out.good())
    faults.add(fields.place("q50_s"),
               fmt::format("quantiles {} s, {} s, {} s do not rise", in_seconds(out.q10), in_seconds(out.q50),
                           in_seconds(out.q90)),
               "one time in ten is below \"q10_s\", half are below \"q50_s\", nine in ten below \"q90_s\"");
  return out;
}

void take_quantiles(const Quantiles& quantiles, Step& step) {
  if (!quantiles.good()) return;
  const double usual = in_seconds(step.takes.of(quantiles.portions));
  if (usual > 0)
    step.takes = scaled(step.takes, in_seconds(quantiles.q50) / usual);
  else
    step.takes = {quantiles.q50, Duration::zero()};
  step.scatter = quantiles.scatter();
}

void read_learnt(const Node& root, std::vector<Component>& components, Faults& faults) {
  Fields file(root, "the file", faults);
  std::map<Step*, Learnt> all;
  for (const Node& node : file.need_list("learnt")) {
    Fields fields(node, "a learnt time", faults);
    const std::string component = fields.need_text("component");
    const std::string step = fields.need_text("step");
    const auto times = static_cast<double>(fields.need_whole("times", {1, 1'000'000}));
    const Quantiles quantiles = read_quantiles(fields, faults);
    fields.finish();
    if (component.empty() || step.empty() || !quantiles.good()) continue;
    if (!refuse_unknown(component, ids_of(components), "component", fields.place("component"), faults)) continue;
    auto& known =
        *std::find_if(components.begin(), components.end(), [&](const Component& one) { return one.id == component; });
    if (!refuse_unknown(step, ids_of(known.steps), "step", fields.place("step"), faults)) continue;
    Step& learnt =
        *std::find_if(known.steps.begin(), known.steps.end(), [&](const Step& one) { return one.id == step; });
    if (learnt.kind == StepKind::rest) {
      faults.add(fields.place("step"), fmt::format("\"{}\" is a rest: how long is right is not learnt", step),
                 "take it away");
      continue;
    }
    Learnt& sum = all[&learnt];
    sum.times += times;
    sum.log_factor += times * std::log(in_seconds(quantiles.q50) / in_seconds(learnt.usual(quantiles.portions)));
    sum.variance += times * quantiles.scatter() * quantiles.scatter();
  }
  for (auto& [step, learnt] : all) apply(learnt, *step);
}

}  // namespace nappe::kitchen
