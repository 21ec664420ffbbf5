#pragma once
// A model as cells. Pure: the same model, moment and size give the same grid.

#include <string>
#include <vector>

#include "client/grid.hpp"
#include "client/look.hpp"
#include "client/model.hpp"

namespace nappe::client {

/// The hand list of a station. Useful from 40 x 12; more rows and columns see further.
Grid draw_station(const StationModel& model, Times now, Size size, const Look& look);

/// The run-in of the pass.
Grid draw_pass(const PassModel& model, Times now, Size size, const Look& look);

// --- shared by both

/// A stretch in which hands are free.
struct FreeTime {
  std::size_t before = 0;  ///< Stands above this row of the list.
  Instant from{}, until{};
  int hands = 1;  ///< How many of them,
  int of = 1;     ///< of how many.
};
/// The free stretches of at least `least` between the moves of a hand list, each move made at its latest start by the
/// first of `hands` that is free.
std::vector<FreeTime> free_times(const std::vector<const Item*>& list, int hands, Instant now, Duration least);

/// "Friday", "Friday closed at 23:41: nothing to do", "the service is not open".
std::string service_words(const Service& service);

/// "on its own since 20:19:04, 3 presses kept"; empty while the link is up.
std::string link_sentence(const Link& link, Duration utc_offset);

/// A box with a title and lines over the middle of the screen. A line too long for it goes on below; what the screen
/// has no rows for stands on the next page, and the box says so.
void draw_box(Grid& grid, const Look& look, const std::string& title, const std::vector<std::string>& lines,
              int page = 0);
std::vector<std::string> help_lines(const std::vector<Binding>& table);

/// A notice that ends in this row, in as many rows above it as it needs: a refusal is never cut.
void draw_notice(Grid& grid, int row, const Notice& notice);

/// A rule across with a label near its left end and one near its right end.
void draw_rule(Grid& grid, const Look& look, int row, const std::string& left = {}, const std::string& right = {});

/// Text in lines of at most `columns`, broken at blanks; a word longer than a line is broken where it must be.
std::vector<std::string> wrapped(const std::string& text, int columns);
/// The same for words about allergies: broken behind commas first, so that "NO" never ends a line without its allergen.
std::vector<std::string> wrapped_clauses(const std::string& text, int columns);

}  // namespace nappe::client
