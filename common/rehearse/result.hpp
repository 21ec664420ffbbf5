#pragma once
// What one night of a rehearsal came to. Everything by the position of the stage's kitchen: stations, components.

#include <string>
#include <vector>

#include "common/line/ids.hpp"
#include "common/time.hpp"

namespace nappe::rehearse {

/// One move of somebody's hands.
struct MoveTrace {
  line::PanId pan{};
  int station = 0;
  int component = 0;
  int step = 0;
  int round = 0;
  Instant wanted{};  ///< From when on it waited for hands or equipment.
  Instant start{};
  Instant end{};
};

/// One course of one table.
struct CourseTrace {
  std::string table;
  std::string course;
  Instant fired{};
  Instant word{};        ///< The first word given.
  Instant word_alone{};  ///< What the word would have been had the table had the kitchen to itself: a yardstick
                         ///< that does not depend on how the kitchen plans.
  Instant gone{};
  Duration spread{};
  int covers = 0;
};

struct ComponentNight {
  int pans = 0;
  int past = 0;         ///< Stood longer than it keeps, or rested longer than it may.
  Duration standing{};  ///< From done to the table (or the pass, see Manner::walk_counts), all pans.
};

struct StationNight {
  std::vector<double> load;  ///< By quarter-hour: hand time over the hands that are there.
  Duration waited{};         ///< Moves that waited for hands or equipment, in sum.
  int moves = 0;
  int last_of_late = 0;  ///< Late courses whose last component came from here.
};

struct NightResult {
  std::vector<CourseTrace> courses;
  std::vector<ComponentNight> components;
  std::vector<StationNight> stations;
  std::vector<MoveTrace> moves;  ///< Only when asked for.
  int plans = 0;
  int refused = 0;  ///< Commands the line refused: always 0 unless a dish has a form that cooks here cannot follow.
  bool unfinished = false;  ///< Ten hours after the last booking plates were still missing: nobody at a station,
                            ///< equipment too small for a pan, or far too much to do.
};

}  // namespace nappe::rehearse
