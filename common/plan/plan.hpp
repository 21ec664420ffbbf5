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
  bool tentative = false;           ///< Not fired: when it could meet (foresee).
  bool expected = false;            ///< Not fired either: when it will meet if its table is clear as guessed.
};

struct StationPlan {
  std::string station;
  double hands = 0;         ///< What the people there count.
  bool nobody = false;      ///< There is work for a fired course, and nobody to do it.
  Duration behind{};        ///< Late whatever it does, against what was promised; zero when it can all be done.
  std::string hurts_table;  ///< The first table that `behind` makes late, or that waits for somebody to come.
  Instant behind_from{};    ///< When its work was due.
  std::map<std::int64_t, double> load;  ///< Start of a five-minute slot (ms) -> hands wanted over hands there.
};

/// A table that is booked again and will not be free by then.
struct TableWanted {
  std::string table;
  line::TicketId ticket{};  ///< The one that sits there now.
  Instant booked{};
  int covers = 0;       ///< Of the booking.
  std::string course;   ///< The last one they are to eat ...
  Instant leaves{};     ///< ... and when it leaves the pass at the soonest (or left).
  Instant free_from{};  ///< With eating and clearing: the soonest that others can sit there.
};

struct Plan {
  Instant made{};
  std::map<line::PanId, PanPlan> pans;
  std::map<line::CourseKey, CoursePlan> courses;
  std::map<std::string, StationPlan> stations;
  std::vector<TableWanted> wanted;  ///< In order of their bookings.
};

/// How far a plan looks.
enum class Scope {
  on_the_line,   ///< What is fired, begun or expected: what the cooks need.
  whole_evening  ///< Also when all else that was ordered could meet, and which tables are wanted again.
};

/// Plans every live pan again and again. Keeps buffers between calls; what it answers never depends on earlier ones:
/// the same state, instant, plan before and effort give the same plan. One thread at a time.
class Planner {
 public:
  /// `effort`: how long to go on improving after each event, counted in tries (kitchen_planner.hpp).
  /// `plays`: how often a plan is played out for a word (play_out.hpp); 0: words by the sum of variances.
  explicit Planner(Effort effort = {40, 1}, int plays = 200);
  ~Planner();
  Planner(Planner&&) noexcept;
  Planner& operator=(Planner&&) noexcept;

  /// `before` is the plan that was shown until now (or null): what a cook was told for the next minute stays, and a
  /// change moves as little as it must.
  ///
  /// Courses that wait are looked at when all else is planned: one whose table has nothing on its way and is not
  /// eating meets as `if_fired` says; of the others none before its table is clear as guessed, or as it will be when
  /// the course before has left and been eaten; all of them among what is planned already. Then the tables that are
  /// wanted again.
  Plan make(const line::State& state, Instant now, const Plan* before, Scope scope = Scope::whole_evening);

  /// What firing a waiting course without a meet promises, among all that is fired already.
  struct Promise {
    Instant meet{};
    Instant word{};
    Plan plan;          ///< As it would be then, of what is on the line.
    bool kept = false;  ///< Planning on the line once it is fired for that meet, from the same plan before, gives it.
  };
  /// Wanted not before this instant, else as soon as can be. Nothing when there is no such course waiting.
  std::optional<Promise> if_fired(const line::State& state, const line::CourseKey& course, Instant now,
                                  const Plan* before, Instant wanted = {});
  /// The meet alone.
  std::optional<Instant> meet_if_fired(const line::State& state, const line::CourseKey& course, Instant now,
                                       const Plan* before);

 private:
  struct Impl;
  struct Made;
  std::optional<Promise> promise(const line::State& state, const line::CourseKey& course, Instant now,
                                 const Plan* before, Instant wanted, bool words);
  // When all that is fired, begun or expected meets; then the words, and what the stations have before them.
  [[nodiscard]] Made arrange(const line::State& state, Instant now, const Plan* before, const Effort& effort);
  void tell(const line::State& state, const Plan* before, bool again, Made& made);

  Effort effort_;
  int plays_;
  std::unique_ptr<Impl> impl_;
};

/// Plans every live pan. `before` is the plan that was shown until now (or null): what a cook was told for the next
/// minute stays. Pure: the same arguments give the same plan.
Plan make_plan(const line::State& state, Instant now, const Plan* before);

}  // namespace nappe::plan
