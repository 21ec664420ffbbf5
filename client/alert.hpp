#pragma once
// Alerts as the terminal's screens have them: which one is shown, how it is answered or put off. Pure.

#include <vector>

#include "client/draw.hpp"
#include "client/model.hpp"

namespace nappe::client {

/// The alert a screen shows now: the first by rank that nobody answered, else the first; one that is put off is not
/// there before its time.
struct ShownAlert {
  const AlertLine* alert = nullptr;  ///< Null: none.
  int open = 0;                      ///< So many wait for an answer.
  int put_off = 0;
};
ShownAlert shown_alert(const std::vector<AlertLine>& alerts, Instant now);

/// Answers the one shown.
std::vector<Ask> answer_alert(const std::vector<AlertLine>& alerts, Instant now);

/// Puts the one shown off for five minutes.
std::vector<Ask> shelve_alert(const std::vector<AlertLine>& alerts, Times now);

/// Draws it from `row` on in at most `rows_max` rows; the rows it took. `colour`: the screen's one coloured thing.
int draw_alert(Grid& grid, int row, int rows_max, const std::vector<AlertLine>& alerts, const std::string& colour,
               Instant now);

}  // namespace nappe::client
