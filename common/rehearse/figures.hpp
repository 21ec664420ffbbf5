#pragma once
// The drawings of a rehearsal: each an SVG with its axes named. Empty when there is nothing to draw.

#include <string>

#include "common/rehearse/stage.hpp"
#include "common/rehearse/summary.hpp"

namespace nappe::rehearse {

/// One station's load by quarter-hour: the band holds eight nights in ten, the line is the mean.
std::string draw_load(const Stage& stage, const StationSummary& station);

/// How full the fullest quarter-hour of a night was, station by station, fullest first: the stroke holds all nights,
/// the band eight in ten, the mark is the median.
std::string draw_worst(const Summary& summary);

/// Courses by minutes against the first word given.
std::string draw_lateness(const Summary& summary);

}  // namespace nappe::rehearse
