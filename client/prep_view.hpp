#pragma once
// The prep list on a terminal, to be crossed out. Pure: keys change the model, the model is drawn as cells.

#include <string>
#include <vector>

#include "client/crossings.hpp"
#include "client/grid.hpp"
#include "client/keys.hpp"
#include "client/look.hpp"
#include "common/mise/prep_list.hpp"

namespace nappe::client {

struct PrepModel {
  std::string title;                 ///< "Larkfold: Friday, 48 covers"
  std::vector<mise::Part> parts;     ///< Headings and lines.
  std::vector<std::string> remarks;  ///< What did not fit; under a key of its own.
  Crossings crossings;
  std::size_t chosen = 0;  ///< Among the lines shown.
  std::string only;        ///< One station's lines; empty: all.
  std::string notice;      ///< A sentence at the foot: what was taken back, what could not be kept.
  bool help = false;
  bool show_remarks = false;
  bool quit = false;
};

/// The keys of this screen and their help.
const std::vector<Binding>& prep_keys();

/// One line as it is shown: behind which heading it stands.
struct ShownLine {
  const mise::Part* part = nullptr;
  const mise::Line* line = nullptr;
};
/// The lines shown now, in order.
std::vector<ShownLine> shown_lines(const PrepModel& model);

/// What a key does; true when the crossings changed and want to be kept.
bool press(PrepModel& model, Key key);

/// Useful from 40 x 12.
Grid draw_prep(const PrepModel& model, Size size, const Look& look);

}  // namespace nappe::client
