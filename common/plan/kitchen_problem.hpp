#pragma once
// The planner's problem: what must still happen in a kitchen so that courses meet, and what each way of doing it costs.
//
// How to use it
//   1. Choose a tick (the kitchen plans with 5 s) and an origin; every Tick below counts from that origin.
//   2. Fill a KitchenProblem: resources first, then courses, their plates, the components that feed them. The functions
//      add_* at the end keep the index ranges right. Indices are the caller's: resource r, course c, plate p,
//      component k and block b are positions in the vectors, and the plan answers by the same positions.
//   3. Give every block and course its place in the plan in force (`shown_start`, `shown_meet`), `no_tick` when new.
//   4. Ask a KitchenPlanner (kitchen_planner.hpp): `repair` after an event, `improve` with the time that is left,
//      `replan` to start afresh. A plan is advice: it never changes the problem.
//
// Blocks. Steps that follow each other without any slack are one rigid block: its uses say which resource is taken in
// which part of it. Between blocks of a component stands a Link: the next block starts at least `lag_min` and at most
// `lag_max` after the end of the one before (a pause point has 0 and its length; a rest has both ends; equipment that
// stays taken during the lag, such as the ring under a resting pan, is in `held`). A component ends in feeds: the
// plating block of each plate it goes on starts between `lag_min` (rest over, cool enough) and `lag_max` (the keep)
// after the component's last block ends. One component may feed plates of several courses: that is one pan.
//
// Hands. A station's capacity is the number of pairs of hands present; a block never takes part of a pair. Somebody
// slower than the house (a commis who counts 1/1.35) is not a smaller capacity: rounding 1 + 1/1.35 = 1.74 down to
// 1 would send the commis home. Instead the caller stretches the hand times of that station by hands / sum of speeds
// (2 / 1.74 = 1.149), which gives the station's true hand-seconds an hour; which of the two does a given move is not
// known when the plan is made. Kitchens whose station has one person only simply stretch by 1 / speed.

#include <cstdint>
#include <limits>
#include <vector>

#include "common/result.hpp"

namespace nappe::plan {

/// A moment or a length in ticks from the caller's origin.
using Tick = std::int32_t;
/// Stands for "not given".
inline constexpr Tick no_tick = std::numeric_limits<Tick>::min();
/// A cost. All prices are whole numbers, so that a plan never depends on rounding; only their ratios matter.
using Price = std::int64_t;

/// A run of positions in one of the problem's vectors.
struct Range {
  int first = 0;
  int count = 0;
  int end() const { return first + count; }
};

/// Hands of a station, rings, oven shelves, presses, the pass: `capacity` whole units, at most 32,000.
struct Resource {
  int capacity = 1;
};

/// Units of a resource that are missing in [from, to): a cook away, a ring out of order, work that is no part of a
/// plate.
struct Outage {
  int resource = 0;
  int units = 1;
  Tick from = 0;
  Tick to = 0;
};

/// A block takes `units` of `resource` in [from, to), counted from the block's start. In `held` ranges the
/// times are ignored: it is taken for the whole lag.
struct Use {
  int resource = 0;
  int units = 1;
  Tick from = 0;
  Tick to = 0;
};

/// From the end of one block to the start of the next.
struct Link {
  Tick lag_min = 0;
  Tick lag_max = 0;
  Price price_stand = 0;  ///< For each tick beyond lag_min.
  Range held;             ///< Into KitchenProblem::uses: taken from the end of the one to the start of the next.
};

/// A rigid run of steps.
struct Block {
  Tick length = 0;
  Range uses;  ///< Into KitchenProblem::uses.
  Link next;   ///< To the next block of the same component. Ignored on a component's last block and on platings.
  Tick fixed_start = no_tick;  ///< Begun or finished: it started then and stays. Its length is the one now expected.
                               ///< All blocks before a fixed one are fixed too (also those that feed a fixed plating).
  Tick shown_start = no_tick;  ///< Its start in the plan in force.
  Price price_move = 0;        ///< For each tick that its start differs from shown_start.
  Tick release = no_tick;      ///< Not before this, besides KitchenProblem::now.
};

/// A component's way on to one plate.
struct Feed {
  int plate = 0;
  Tick lag_min = 0;
  Tick lag_max = 0;
  Price price_stand = 0;  ///< For each tick between last block and plating beyond lag_min.
};

/// One thing cooked at one station, or one pan for several plates. It may have no block (drawn cold from a batch).
struct Component {
  Range blocks;  ///< Into KitchenProblem::blocks, in cooking order.
  Range feeds;   ///< Into KitchenProblem::feeds.
  Range held;    ///< Into KitchenProblem::uses: taken from the end of the last block until the last plating it feeds
                 ///< starts.
};

/// One plate: its plating block ends within [meet - spread_max, meet] of its course.
struct Plate {
  int course = 0;
  int block = 0;
};

/// One course of one table, fired or expected.
struct Course {
  Tick wanted = 0;            ///< The meet that was asked for.
  Price price_late = 0;       ///< For each tick of meet - wanted ...
  Tick late_after = 0;        ///< ... and from this many ticks on
  Price price_late_more = 0;  ///< this much more a tick: lateness is convex.
  Price price_early = 0;      ///< For each tick of wanted - meet.
  Tick early_max = 0;         ///< The meet is never more than this before wanted.
  Tick spread_max = 0;        ///< Last plate minus first is at most this.
  Price price_spread = 0;     ///< For each tick that a finished plate waits for the meet, each plate.
  Tick shown_meet = no_tick;  ///< The meet in the plan in force ...
  int shown_pull = -1;        ///< ... and the component that set it: kept while the course stays where it is.
  bool changed = true;        ///< An event touched it: what is left of it is worth another thought.
  bool anew = true;           ///< `repair` places it afresh: it is new, or is wanted at another time. Of the others
                              ///< each block keeps its turn.
};

/// What the house asks of every plan.
struct Terms {
  Tick now = 0;                  ///< No block that is not fixed starts before this.
  Tick frozen_until = 0;         ///< A block shown to start before this keeps its start while that is possible.
  Price price_thaw = 20000;      ///< For each frozen block that is brought forward; put off, it costs its price_move.
  Price price_break = 50000;     ///< For each window (keep, lag or spread) that has to be broken ...
  Price price_break_tick = 500;  ///< ... and for each tick it is broken by.
  Tick late_search_max = 2160;   ///< How far beyond the wanted meet (or now) a meet is looked for.
};

/// Everything. Valid when check_problem says so.
struct KitchenProblem {
  Terms terms;
  std::vector<Resource> resources;
  std::vector<Outage> outages;
  std::vector<Course> courses;
  std::vector<Plate> plates;
  std::vector<Component> components;
  std::vector<Feed> feeds;
  std::vector<Block> blocks;
  std::vector<Use> uses;
};

/// A window that no placing could keep, and the plan's proposal: a decision for the chef, never done silently. Least
/// lags are never broken, nor is capacity. What lies between two fixed blocks is history and not reported.
struct Broken {
  enum class What {
    keep,   ///< Component `component` stands longer than its keep before plate `plate` is plated.
    lag,    ///< The lag between block `block` and the next one of component `component` is too long.
    spread  ///< Plate `plate` is ready longer before the meet than the course allows.
  };
  What what = What::keep;
  int course = -1;
  int plate = -1;
  int component = -1;
  int block = -1;
  Tick by = 0;  ///< Ticks beyond the window.
};

/// What a plan costs, by kind.
struct Cost {
  Price late = 0;
  Price early = 0;
  Price spread = 0;
  Price stand = 0;
  Price moved = 0;  ///< Stability: shown starts that move.
  Price thawed = 0;
  Price broken = 0;
  Price total() const { return late + early + spread + stand + moved + thawed + broken; }
};

/// The planner's answer, by the problem's indices.
struct Schedule {
  std::vector<Tick> block_start;  ///< Every block, fixed ones included.
  std::vector<Tick> meet;         ///< Every course.
  std::vector<int> pull;  ///< By course: the component that sets its meet (the one that kept it from meeting nearer
                          ///< to the wanted time; when it meets as wanted, the one with the least time in hand
                          ///< before its first move). -1: nothing but the platings.
  std::vector<int> pull_block;  ///< Its first block that has not begun, or -1 when all have.
  std::vector<Broken> broken;   ///< Windows broken, in order of course.
  std::vector<int> thawed;      ///< Frozen blocks that had to move.
  Cost cost;
};

/// How far two plans differ for those who have seen the first.
struct Difference {
  int moved = 0;       ///< Blocks whose start changed.
  int moved_soon = 0;  ///< Of these, due within `soon` ticks of now in either plan.
  Tick ticks = 0;      ///< Sum of changes of start.
  int inversions = 0;  ///< Pairs of blocks on one resource, both among its next five, that changed order.
};

/// What is wrong with a problem's form (an index out of range, a negative length, a lag_max below lag_min, a
/// component's use that exceeds capacity), in one sentence naming the position.
[[nodiscard]] Status check_problem(const KitchenProblem& problem);

/// Works out cost, broken windows and thawed blocks of given starts and meets (block_start and meet must be filled).
void price_schedule(const KitchenProblem& problem, Schedule& plan);

/// Ticks that each block's start can still be put off without moving any meet, if everything after it in its chain
/// runs with least lags and nobody else is in the way. 0 for fixed blocks; never negative.
[[nodiscard]] std::vector<Tick> give_of(const KitchenProblem& problem, const Schedule& plan);

/// Compares two plans of the same problem.
[[nodiscard]] Difference compare_schedules(const KitchenProblem& problem, const Schedule& before, const Schedule& after,
                                           Tick soon);

/// Appends a course; its index.
int add_course(KitchenProblem& problem, const Course& course);
/// Appends a block with these uses; its index. The block's own `uses` range is overwritten.
int add_block(KitchenProblem& problem, Block block, const std::vector<Use>& uses);
/// Makes this the range of uses held during a lag: assign it to Link::held or Component::held.
[[nodiscard]] Range add_held(KitchenProblem& problem, const std::vector<Use>& uses);
/// Appends a plate of a course with its plating block; its index.
int add_plate(KitchenProblem& problem, int course, const Block& plating, const std::vector<Use>& uses);
/// Starts a component; its index. Its blocks are those added by add_block from here until end_component.
int begin_component(KitchenProblem& problem);
/// Ends the component begun last: its blocks are those added since, its feeds these.
void end_component(KitchenProblem& problem, const std::vector<Feed>& feeds, Range held = {});

}  // namespace nappe::plan
