#pragma once
// The day's order of work: every batch of every item planned backwards from when it is wanted, over hands, trays of the
// blast chiller, rings, ovens and baths, by the planner that plans the service.

#include <optional>
#include <string>
#include <vector>

#include "common/kitchen/prep.hpp"
#include "common/mise/prep_need.hpp"
#include "common/plan/kitchen_problem.hpp"

namespace nappe::mise {

/// How long a step takes for a batch, and what a cook has to know about it.
struct StepTime {
  Duration takes{};
  int trays = 0;        ///< chill: how many ...
  double depth_mm = 0;  ///< ... filled how deep.
  std::string detail;   ///< "5 trays, 26 mm deep: core at 8 C after 1:09"
};

/// `invalid` when physics says that it cannot be: a chill or a bath that never gets there. grams and portions are of
/// one batch.
Result<StepTime> step_time(const kitchen::PrepStep& step, double grams, double portions);

/// One step of one batch in the day. Times since midnight.
struct Task {
  std::string item;
  int batch = 1;  ///< From 1 ...
  int of = 1;     ///< ... of so many.
  int step = 0;   ///< Index into the item's steps.
  std::string word;
  std::string station;
  bool hands = false;
  Duration begin{};
  Duration end{};
  std::vector<std::string> equipment;  ///< Ids.
  std::string detail;
  int trays = 0;                         ///< Of a chill: how many places of the chiller it takes.
  [[nodiscard]] std::string id() const;  ///< "swede_puree/1/2": the same from run to run.
};

/// A batch that could not stand where it would have stood alone in the kitchen.
struct Shift {
  std::string item;
  int batch = 1;
  Duration by{};        ///< Ready so much before (or, below 0, after) it is wanted.
  std::string because;  ///< "blast chiller: swede puree, 12:10 to 13:21"
  bool hands = false;   ///< It is hands that lacked, not equipment.
};

struct WorkPlan {
  std::vector<Task> tasks;          ///< By begin, then by station.
  std::vector<Shift> moved;         ///< Earlier than alone.
  std::vector<Shift> late;          ///< Not ready in time.
  std::vector<std::string> cannot;  ///< Batches the kit cannot take at all, in words; they are in no task.
  plan::KitchenProblem problem;     ///< For whoever wants to check the plan by other means.
  plan::Schedule schedule;
};

/// Plans the batches of `needs`. Births of short-lived items that fall behind the line check are planned too, each for
/// its own time. With `before`, a plan of the same sheet for other bookings, batches that are in both stay where they
/// stand as far as that is possible.
WorkPlan plan_work(const kitchen::Kitchen& kitchen, const kitchen::PrepSheet& sheet, const std::vector<Need>& needs,
                   const WorkPlan* before = nullptr);

}  // namespace nappe::mise
