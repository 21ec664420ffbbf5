#include "common/rehearse/curve.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "common/rehearse/sentences.hpp"
#include "common/rehearse/svg.hpp"

namespace nappe::rehearse {
namespace {

// One of the three figures of a point, as it is drawn.
struct Drawn {
  std::string_view name;
  std::string_view unit;
  Estimate (*of)(const CurvePoint&);
};

Estimate percent_of(const Estimate& share) { return {100 * share.mean, 100 * share.error, share.nights}; }

constexpr Drawn drawn[]{
    {"components past their window", "%", [](const CurvePoint& point) { return percent_of(point.past); }},
    {"courses late", "%", [](const CurvePoint& point) { return percent_of(point.late); }},
    {"from fire to gone", "min", [](const CurvePoint& point) { return point.wait; }}};

std::string draw_one(const Drawn& what, const std::vector<CurvePoint>& curve) {
  constexpr double left = 66, right = 448, top = 10, bottom = 130;
  std::string svg;
  const Out out = std::back_inserter(svg);
  double most = 0;
  for (const CurvePoint& point : curve) most = std::max(most, what.of(point).mean + what.of(point).error);
  // From nothing: a difference looks as large as it is.
  const auto levels = round_ticks(0, std::max(most, 1.0), 4);
  const Axis x{0, 1, left + 12, right - 12};
  const Axis y{0, levels.back(), bottom, top};
  begin_svg(out, 172, fmt::format("{}, from fresh to prompt", what.name));
  for (const double level : levels) {
    line_between(out, level == 0 ? "axis" : "faint", left, y(level), right, y(level));
    text_at(out, left - 6, y(level) + 4, "end", fmt::format("{:.3g} {}", level, what.unit));
  }
  std::string line;
  for (const CurvePoint& point : curve) {
    const double at = y(what.of(point).mean);
    if (point.alone) {
      line_between(out, "limit", left, at, right, at);
      continue;
    }
    fmt::format_to(std::back_inserter(line), "{:.1f},{:.1f} ", x(point.prompt), at);
    text_at(out, x(point.prompt), bottom + 18, "middle", fmt::format("{:.3g}", point.prompt));
  }
  fmt::format_to(out, R"(<polyline class="mean" points="{}"/>)", line);
  for (const CurvePoint& point : curve) {
    if (point.alone) continue;
    const Estimate value = what.of(point);
    line_between(out, "mark", x(point.prompt), y(value.mean - value.error), x(point.prompt),
                 y(value.mean + value.error));
    fmt::format_to(out, R"(<circle class="dot" cx="{:.1f}" cy="{:.1f}" r="4"/>)", x(point.prompt), y(value.mean));
  }
  text_at(out, left, bottom + 38, "start", "fresh", "soft");
  text_at(out, right, bottom + 38, "end", "prompt", "soft");
  end_svg(out);
  return svg;
}

}  // namespace

CurvePoint curve_point(const Summary& summary, bool alone, double prompt) {
  return {alone ? "each table alone" : fmt::format("prompt {:.2f}", prompt),
          alone,
          prompt,
          summary.late,
          summary.past,
          summary.wait};
}

std::vector<std::string> curve_in_sentences(const std::vector<CurvePoint>& curve) {
  std::vector<std::string> out;
  if (curve.empty()) return out;
  out.emplace_back("Fresh (0) … prompt (1) on the same nights:");
  for (const CurvePoint& point : curve)
    out.push_back(fmt::format("{}: {} of components past their window, {} of courses late, {} from fire to gone.",
                              point.name, percent_text(point.past), percent_text(point.late),
                              number_text(point.wait, 1, "min")));
  return out;
}

std::vector<CurveFigure> draw_curve(const std::vector<CurvePoint>& curve) {
  std::vector<CurveFigure> out;
  if (curve.empty()) return out;
  for (const Drawn& one : drawn) out.push_back({std::string(one.name), draw_one(one, curve)});
  return out;
}

}  // namespace nappe::rehearse
