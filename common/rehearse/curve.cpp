#include "common/rehearse/curve.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

namespace nappe::rehearse {
namespace {

constexpr double left = 60, right = 860, top = 16, bottom = 240;

std::string share_text(Estimate one) { return fmt::format("{:.1f} % (±{:.1f})", 100 * one.mean, 100 * one.error); }

// From a little below the least to a little above the greatest, in whole steps.
struct Span {
  double from = 0;
  double to = 1;
};
Span span_of(const std::vector<CurvePoint>& curve, double step, double (*value)(const CurvePoint&)) {
  double least = value(curve.front());
  double most = least;
  for (const CurvePoint& point : curve) {
    least = std::min(least, value(point));
    most = std::max(most, value(point));
  }
  return {std::floor(least / step) * step, (std::floor(most / step) + 1) * step};
}

double minutes_of(const CurvePoint& point) { return point.wait.mean; }
double past_of(const CurvePoint& point) { return 100 * point.past.mean; }

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
    out.push_back(
        fmt::format("{}: {} of components past their window, {} of courses late, {:.1f} min (±{:.1f}) from "
                    "fire to gone.",
                    point.name, share_text(point.past), share_text(point.late), point.wait.mean, point.wait.error));
  return out;
}

std::string draw_curve(const std::vector<CurvePoint>& curve) {
  if (curve.empty()) return {};
  std::string svg;
  const auto out = std::back_inserter(svg);
  const Span minutes = span_of(curve, 1, minutes_of);
  const Span past = span_of(curve, 5, past_of);
  const auto x = [&](double value) {
    return left + (value - minutes.from) / (minutes.to - minutes.from) * (right - left);
  };
  const auto y = [&](double value) { return bottom - (value - past.from) / (past.to - past.from) * (bottom - top); };
  fmt::format_to(
      out, R"(<svg viewBox="0 0 900 290" role="img" aria-label="Components past their window against minutes from )"
           R"(fire to gone, from fresh to prompt">)");
  fmt::format_to(out, R"(<polyline class="axis" points="{0},{1} {0},{2} {3},{2}"/>)", left, top, bottom, right);
  for (double at = minutes.from; at <= minutes.to; ++at)
    fmt::format_to(out, R"(<text x="{:.1f}" y="256" text-anchor="middle">{:.0f}</text>)", x(at), at);
  for (double at = past.from; at <= past.to; at += 5)
    fmt::format_to(out, R"(<text x="54" y="{:.1f}" text-anchor="end">{:.0f} %</text>)", y(at) + 4, at);
  fmt::format_to(out, R"(<text x="{}" y="280" text-anchor="end">minutes from fire to gone</text>)", right);
  std::string line;
  for (const CurvePoint& point : curve)
    if (!point.alone)
      fmt::format_to(std::back_inserter(line), "{:.1f},{:.1f} ", x(minutes_of(point)), y(past_of(point)));
  fmt::format_to(out, R"(<polyline class="mean" points="{}"/>)", line);
  for (const CurvePoint& point : curve) {
    const double at_x = x(minutes_of(point));
    const double at_y = y(past_of(point));
    const double error = y(past_of(point) - 100 * point.past.error) - at_y;
    fmt::format_to(out, R"(<line class="whisker" x1="{0:.1f}" y1="{1:.1f}" x2="{0:.1f}" y2="{2:.1f}"/>)", at_x,
                   at_y - error, at_y + error);
    fmt::format_to(out, R"(<rect class="bar" x="{:.1f}" y="{:.1f}" width="8" height="8"/>)", at_x - 4, at_y - 4);
    const bool near_right = at_x > right - 160;
    fmt::format_to(out, R"(<text x="{:.1f}" y="{:.1f}" text-anchor="{}">{}, late {:.1f} %</text>)",
                   near_right ? at_x - 8 : at_x + 8, near_right ? at_y - 24 : at_y - 8, near_right ? "end" : "start",
                   point.name, 100 * point.late.mean);
  }
  fmt::format_to(out, "</svg>\n");
  return svg;
}

}  // namespace nappe::rehearse
