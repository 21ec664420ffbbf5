#pragma once
// What the parts of the hand list's drawing share. Only for station_view.cpp and station_list.cpp.

#include <string>

#include "client/draw.hpp"

namespace nappe::client {

/// What every part of the drawing needs.
struct StationPage {
  const StationModel& model;
  const StationScreen& screen;
  Times now;
  const Look& look;
  Grid& grid;
  int columns;
  bool small;  // Too small for the full layout.
  bool large;  // Room for a third column.
  [[nodiscard]] Duration until(Instant at) const { return at - now.kitchen; }
  [[nodiscard]] bool coloured(const std::string& key) const { return !key.empty() && screen.colour == key; }
};

/// The moves to come, in rows from `row` up to `end_row` (excluded), between the columns `left` and `right`.
void draw_list(const StationPage& page, int row, int end_row, int left, int right);

}  // namespace nappe::client
