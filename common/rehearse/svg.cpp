#include "common/rehearse/svg.hpp"

#include <fmt/format.h>

#include <cmath>

#include "common/html.hpp"

namespace nappe::rehearse {

std::vector<double> round_ticks(double from, double to, int parts) {
  const double wanted = std::max(to - from, 1e-9) / std::max(parts, 1);
  const double decade = std::pow(10, std::floor(std::log10(wanted)));
  double step = 10 * decade;
  for (const double round : {5.0, 2.0, 1.0})
    if (round * decade >= wanted * (1 - 1e-9)) step = round * decade;
  const double first = std::floor(from / step + 1e-9);
  const double last = std::max(first + 1, std::ceil(to / step - 1e-9));
  std::vector<double> out;
  for (double at = first; at <= last; ++at) out.push_back(at * step);
  return out;
}

void begin_svg(Out out, int height, const std::string& says) {
  fmt::format_to(out, R"(<svg viewBox="0 0 {} {}" role="img" aria-label="{}">)", svg_width, height, html_escaped(says));
}

void end_svg(Out out) { fmt::format_to(out, "</svg>\n"); }

void text_at(Out out, double x, double y, std::string_view anchor, std::string_view text, std::string_view kind) {
  const std::string classed = kind.empty() ? "" : fmt::format(R"( class="{}")", kind);
  fmt::format_to(out, R"(<text{} x="{:.1f}" y="{:.1f}" text-anchor="{}">{}</text>)", classed, x, y, anchor,
                 html_escaped(text));
}

void line_between(Out out, std::string_view kind, double x1, double y1, double x2, double y2) {
  fmt::format_to(out, R"(<line class="{}" x1="{:.1f}" y1="{:.1f}" x2="{:.1f}" y2="{:.1f}"/>)", kind, x1, y1, x2, y2);
}

void box_at(Out out, std::string_view kind, double x, double y, double width, double height) {
  fmt::format_to(out, R"(<rect class="{}" x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}"/>)", kind, x, y, width,
                 height);
}

}  // namespace nappe::rehearse
