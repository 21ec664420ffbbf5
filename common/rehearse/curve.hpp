#pragma once
// The house's setting fresh ... prompt on the same nights: what each end costs, beside the table planned alone.

#include <string>
#include <vector>

#include "common/rehearse/summary.hpp"

namespace nappe::rehearse {

/// One setting, or one rule, on the same nights.
struct CurvePoint {
  std::string name;  ///< "prompt 0.25", "each table alone"
  bool alone = false;
  double prompt = 0;
  Estimate late;  ///< Share of courses late against the first word given.
  Estimate past;  ///< Share of pans past their window.
  Estimate wait;  ///< Minutes from fire to gone.
};

/// The point that a rehearsal's summary makes.
CurvePoint curve_point(const Summary& summary, bool alone, double prompt);

/// One sentence for each point, and one heading.
std::vector<std::string> curve_in_sentences(const std::vector<CurvePoint>& curve);

/// What the setting moves: three drawings over the same settings, each with its name. Strokes are one standard error to
/// each side, the dashed line is each table alone.
struct CurveFigure {
  std::string name;
  std::string svg;
};
std::vector<CurveFigure> draw_curve(const std::vector<CurvePoint>& curve);

}  // namespace nappe::rehearse
