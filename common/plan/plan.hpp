#pragma once
// When to start what, so that courses meet. A plan is advice computed from the state, never history.

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "common/line/chain.hpp"
#include "common/line/state.hpp"
#include "common/plan/kitchen_planner.hpp"

namespace nappe::plan {

/// One step of a pan on the time axis.
struct Slot {
  int step = 0;
  int round = 0;
  Instant latest{};   ///< Start so that the course can still meet as planned; what hand lists are ordered by.
  Instant soonest{};  ///< Before this it cannot begin: what comes before has to end first.
  Duration takes{};
  bool running = false;
  bool by_hand = false;
};

struct PanPlan {
  line::PanId pan{};
  std::vector<Slot> slots;  ///< From where the pan stands to its last step.
  Instant ready{};          ///< When it is planned to be finished.
  Instant forecast{};       ///< When it would be finished if everything from now on took its usual time.
  bool pull = false;        ///< It sets its course's time.
  bool scheduled = false;   ///< Planned among all the others, not alone (its course is fired or it has been begun).
  /// Where the pan stood when this was planned: what tells an event apart from mere time.
  line::Place place;
  bool begun = false;
  int portions = 0;
};

struct CoursePlan {
  line::CourseKey course;
  Instant meet{};                   ///< When the course is now expected to meet.
  std::optional<Instant> promised;  ///< The meet that people set, if it is fired.
  Duration drift{};                 ///< Against the meet that was promised; zero or more.
  line::PanId pull{};               ///< The pan that sets it; 0 when all is finished.
  Instant word{};                   ///< What to tell the floor: the 80 % point, rounded up to a whole minute.
  bool tentative = false;           ///< Not fired: when it could meet if fired now.
  bool expected = false;            ///< Not fired either: when it will meet if its table is clear as guessed.
};

struct StationPlan {
  std::string station;
  Duration behind{};        ///< Late whatever it does; zero when it can all be done.
  std::string hurts_table;  ///< The first table that `behind` makes late.
  Instant behind_from{};
  std::map<std::int64_t, double> load;  ///< Start of a five-minute slot (ms) -> hands wanted over hands there.
};

struct Plan {
  Instant made{};
  std::map<line::PanId, PanPlan> pans;
  std::map<line::CourseKey, CoursePlan> courses;
  std::map<std::string, StationPlan> stations;
};

/// Plans every live pan again and again. Keeps buffers between calls; what it answers never depends on earlier ones:
/// the same state, instant, plan before and effort give the same plan. One thread at a time.
class Planner {
 public:
  /// `effort`: how long to go on improving after each event, counted in tries (kitchen_planner.hpp).
  explicit Planner(Effort effort = {40, 1});
  ~Planner();
  Planner(Planner&&) noexcept;
  Planner& operator=(Planner&&) noexcept;

  /// `before` is the plan that was shown until now (or null): what a cook was told for the next minute stays, and a
  /// change moves as little as it must.
  Plan make(const line::State& state, Instant now, const Plan* before);

  /// When a waiting course would meet if it were fired now, among all that is fired already: what firing it without a
  /// meet promises. Nothing when there is no such course waiting.
  std::optional<Instant> meet_if_fired(const line::State& state, const line::CourseKey& course, Instant now,
                                       const Plan* before);

 private:
  struct Impl;
  Effort effort_;
  std::unique_ptr<Impl> impl_;
};

/// Plans every live pan. `before` is the plan that was shown until now (or null): what a cook was told for the next
/// minute stays. Pure: the same arguments give the same plan.
Plan make_plan(const line::State& state, Instant now, const Plan* before);

}  // namespace nappe::plan
