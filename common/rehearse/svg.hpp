#pragma once
// Pieces of the drawings on a rehearsal's page. Lengths are in units of a drawing svg_width wide, which stands in a
// column of about as many pixels; classes are those of the page's style.

#include <algorithm>
#include <iterator>
#include <string>
#include <string_view>
#include <vector>

namespace nappe::rehearse {

constexpr int svg_width = 460;

/// Where text of the page is put.
using Out = std::back_insert_iterator<std::string>;

/// Maps a value on [from, to] to a coordinate; what lies outside is drawn at the edge.
struct Axis {
  double from = 0;
  double to = 1;
  double at_from = 0;
  double at_to = 1;
  [[nodiscard]] double operator()(double value) const {
    return at_from + (std::clamp(value, from, to) - from) / (to - from) * (at_to - at_from);
  }
};

/// Round steps of 1, 2 or 5 from `from` until `to` is covered, about `parts` of them; at least two values.
std::vector<double> round_ticks(double from, double to, int parts);

/// `says`: the drawing in words.
void begin_svg(Out out, int height, const std::string& says);
void end_svg(Out out);
/// `anchor`: start, middle or end. `kind` is a class, or nothing.
void text_at(Out out, double x, double y, std::string_view anchor, std::string_view text, std::string_view kind = {});
void line_between(Out out, std::string_view kind, double x1, double y1, double x2, double y2);
void box_at(Out out, std::string_view kind, double x, double y, double width, double height);

}  // namespace nappe::rehearse
