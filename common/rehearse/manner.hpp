#pragma once
// How guests and cooks behave in a rehearsal, and by which rule the kitchen plans.

#include <cstdint>
#include <vector>

#include "common/time.hpp"

namespace nappe::rehearse {

/// When things are begun.
enum class Rule {
  at_fire,  ///< Everything as soon as its course is fired.
  fixed,    ///< Each course backwards from the meet it was given; the meet never moves.
  alone,    ///< Each course backwards from its meet, which follows the slowest component.
  planner   ///< All courses together (plan::Planner): what the live service does.
};

/// Which of the moves that could be made now the hands take first.
enum class HandOrder {
  latest_start,  ///< The one that can least be put off.
  table_time     ///< That of the table fired first.
};

/// How durations scatter about the usual time.
enum class Law {
  log_normal,  ///< The usual time is the median; the step's scatter is the deviation of the logarithm.
  exponential  ///< The usual time is the mean. No cook works like this: it holds the rehearsal against queueing theory.
};

/// A time with its mean and standard deviation.
struct Spell {
  Duration mean{};
  Duration sd{};
};

/// The dining room. Defaults are those of the demo restaurant, invented.
struct Guests {
  Spell arrives{minutes(3), seconds(330)};  ///< After the time of the booking.
  Spell orders{minutes(14), seconds(198)};  ///< After arriving.
  /// By course; the last goes on. What a house says of a course (kitchen::Eating) goes before.
  std::vector<Spell> eats{{minutes(15), seconds(210)}, {minutes(24), minutes(5)}};
  bool as_booked = false;  ///< Orders that stand on the sheet are taken from it; else all are drawn from its mix.
};

struct Manner {
  Rule rule = Rule::planner;
  HandOrder order = HandOrder::latest_start;
  int tries = 0;    ///< planner: tries at a better plan after each event, besides repairing the one there is.
  int plays = 60;  ///< planner: plays of the plan for a word; 0: by the sum of variances.
  Law law = Law::log_normal;
  double bias = 1.0;     ///< All moves and waits take this much longer than the kitchen's files say. Rests do not.
  double scatter = 1.0;  ///< Factor on every step's scatter.
  /// Scatter of a wait of which the files say nothing: equipment is steadier than hands (an assumption, no source).
  double wait_scatter = 0.07;
  /// A component with a rest that forgives at least this much is begun before its course is fired, the rest centred on
  /// the time at which the table is expected to have cleared.
  Duration early_slack_min = minutes(3);
  Duration replan_after = seconds(10);  ///< Least time between two plans; a course fired is planned for at once.
  Duration replan_small = seconds(30);  ///< The same when only moves began and ended as they should.
  /// A component stands until it is on the table; false: until it leaves the pass.
  bool walk_counts = true;
  Duration late_after = minutes(5);  ///< A course is late when it goes this much after the word.
  Guests guests;
};

}  // namespace nappe::rehearse
