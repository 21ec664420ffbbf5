#pragma once
// Many nights in a few figures, each with its standard error.

#include <cstdint>
#include <string>
#include <vector>

#include "common/rehearse/manner.hpp"
#include "common/rehearse/result.hpp"
#include "common/rehearse/stage.hpp"

namespace nappe::rehearse {

/// A mean over nights and its standard error: the deviation between nights over the root of their number.
struct Estimate {
  double mean = 0;
  double error = 0;
  std::int64_t nights = 0;
  /// One night has no deviation: its error stands at 0 and is not known.
  [[nodiscard]] bool error_known() const { return nights > 1; }
};

/// Fewer nights never tell a difference from luck: not even when all point one way (the chance of that is 2 in 2^n).
constexpr std::int64_t nights_to_tell = 6;

/// The mean differs from nothing by more than luck does in 95 of 100 rehearsals (Student, Biometrika 6(1), 1908).
bool told_from_luck(const Estimate& difference);

/// Welford's running mean and variance (Technometrics 4(3), 1962). Fed in the order of the nights: the same nights give
/// the same bits.
class Mean {
 public:
  void add(double value);
  [[nodiscard]] Estimate estimate() const;
  [[nodiscard]] std::int64_t count() const { return count_; }

 private:
  std::int64_t count_ = 0;
  double mean_ = 0;
  double squares_ = 0;
};

/// The quantile of a sample by linear interpolation between order statistics (type 7 of Hyndman and Fan, The American
/// Statistician 50(4), 1996); 0 for an empty one.
double sample_quantile(std::vector<double> sample, double p);

struct SlotLoad {
  Instant start{};
  Estimate mean;
  double low = 0;   ///< One night in ten lies below ...
  double high = 0;  ///< ... and one in ten above.
};

struct StationSummary {
  std::string id;
  std::string name;
  bool works = false;          ///< Any move was made here.
  double hands = 0;            ///< What its people count.
  Estimate worst;              ///< Load of each night's fullest quarter-hour.
  Estimate over;               ///< Share of nights with a quarter-hour above 90 %.
  std::vector<double> worsts;  ///< Of each night.
  Instant fullest{};           ///< Start of the quarter-hour that is fullest on average ...
  double fullest_load = 0;     ///< ... and its mean load.
  std::vector<SlotLoad> load;
  double waited_s = 0;      ///< Mean wait of a move for hands or equipment.
  double last_of_late = 0;  ///< Share of late courses whose last component came from here.
};

struct ComponentSummary {
  std::string id;
  std::string name;
  double keep_s = 0;
  Estimate pans;      ///< A night.
  Estimate past;      ///< Share of its pans, nights without any left out.
  Estimate standing;  ///< Mean seconds from done to the table.
};

struct Summary {
  int nights = 0;
  int covers = 0;
  Estimate late;        ///< Share of courses that went more than Manner::late_after beyond their first word, or never.
  Estimate late_alone;  ///< The same against the word as if each table had the kitchen to itself.
  Estimate kept;        ///< Share of courses gone by their first word: well judged it is the house's word_chance.
  Estimate past;        ///< Share of pans past their window.
  Estimate standing;    ///< Mean seconds that a component stood.
  Estimate spread;      ///< Mean seconds between a course's first and last plate.
  Estimate wait;        ///< Mean minutes from fire to gone.
  std::vector<int> lateness;  ///< Courses by whole minutes against the word, from lateness_from on.
  int lateness_from = -15;
  std::vector<StationSummary> stations;
  std::vector<ComponentSummary> components;  ///< Those that were cooked.
  int unfinished = 0;                        ///< Nights that never ended, see NightResult.
  int refused = 0;                           ///< Commands that the line refused.

  /// The station with the highest worst quarter-hour; null when nobody worked.
  [[nodiscard]] const StationSummary* tightest() const;
};

/// Above this a station is said to be full.
constexpr double full_load = 0.9;

/// `nights` in their order.
Summary summarise(const Stage& stage, const Manner& manner, const std::vector<NightResult>& nights);

/// What one change would do, night by night against the same luck. Negative: less of it. Lateness is counted against
/// the word as if each table had the kitchen to itself, so that a change of plan is not hidden by later words.
struct Change {
  std::string name;
  int nights = 0;
  Estimate late_alone_before;  ///< Of these nights without the change, as Summary::late_alone is of all ...
  Estimate past_before;        ///< ... and Summary::past.
  Estimate late_alone;         ///< Difference of the share of late courses.
  Estimate past;               ///< Difference of the share of pans past their window.
  Estimate worst;              ///< Difference of the worst quarter-hour of the station that was tightest before.
};

/// The same nights without and with the change; `tight` is the position of the station that was tightest before.
Change compare(const std::string& name, const Manner& manner, const std::vector<NightResult>& before,
               const std::vector<NightResult>& after, std::size_t tight);

}  // namespace nappe::rehearse
