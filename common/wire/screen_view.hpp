#pragma once
// What all screens share while they are built: the state and the plan by the keys that screens ask for, the clock, and
// the words. Internal to common/wire.

#include <deque>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/line/state.hpp"
#include "common/plan/plan.hpp"

namespace nappe::wire {

/// A live pan with what every screen wants to know about it.
struct PanView {
  const line::Pan* pan = nullptr;
  const kitchen::Component* component = nullptr;
  const plan::PanPlan* planned = nullptr;  ///< Null only when the plan is older than the pan.
  const std::vector<plan::Slot>* slots = nullptr;
  std::vector<line::CourseKey> courses;  ///< Those with a portion in it that has not gone; sorted.
  std::string key;                       ///< "p31"
  std::string tables;                    ///< "10, 12"
  int n = 0;                             ///< Portions in the pan.
  bool allergies = false;                ///< Some guest of it has one.
  bool changes = false;                  ///< Some guest of it asked for a change.

  [[nodiscard]] const kitchen::Step& step(int index) const { return component->steps[static_cast<std::size_t>(index)]; }
  /// "emmer A"
  [[nodiscard]] std::string name() const;
};

/// Reads; never changes state or plan, which must outlive it.
class View {
 public:
  View(const line::State& state, const plan::Plan& plan, Instant now);
  View(const View&) = delete;
  View& operator=(const View&) = delete;

  [[nodiscard]] const line::State& state() const { return state_; }
  [[nodiscard]] const plan::Plan& plan() const { return plan_; }
  [[nodiscard]] Instant now() const { return now_; }

  /// Whether `at` has come. Every comparison of a screen with the clock goes through here, so that changes_at() knows
  /// when time alone will change a screen.
  bool reached(Instant at) const;
  /// The first instant asked about that has not come.
  [[nodiscard]] std::optional<Instant> changes_at() const { return changes_at_; }

  [[nodiscard]] const std::vector<const PanView*>& pans_at(const std::string& station) const;
  [[nodiscard]] const std::vector<const PanView*>& pans_of(const line::CourseKey& course) const;
  [[nodiscard]] const std::vector<const PanView*>& pans_of(const line::PlateKey& plate) const;
  [[nodiscard]] const PanView* find_pan(line::PanId id) const;
  [[nodiscard]] const plan::CoursePlan* plan_of(const line::CourseKey& course) const;
  [[nodiscard]] const line::Course* find_course(const line::CourseKey& key) const;
  /// As people say it; the id when the kitchen no longer knows it.
  [[nodiscard]] std::string station_name(const std::string& id) const;
  /// "20:31:05", as the kitchen's clocks show it.
  [[nodiscard]] std::string clock(Instant at) const;

 private:
  void add(const line::Pan& pan);

  const line::State& state_;
  const plan::Plan& plan_;
  Instant now_;
  mutable std::optional<Instant> changes_at_;
  std::deque<PanView> pans_;
  std::deque<std::vector<plan::Slot>> own_slots_;  // of pans that the plan does not know
  std::map<line::PanId, const PanView*> by_id_;
  std::map<std::string, std::vector<const PanView*>> by_station_;
  std::map<line::CourseKey, std::vector<const PanView*>> by_course_;
  std::map<line::PlateKey, std::vector<const PanView*>> by_plate_;
};

// --- times of a step that runs

struct StepTimes {
  Instant started{};
  Instant usual{};  ///< Has taken its usual time; of a rest: is long enough.
  Instant most{};   ///< Has taken too long; of a rest: has become too long.
};
StepTimes times_of(const PanView& pan, const line::Run& run);
/// "usual", "most", or empty when it is neither yet.
std::string_view over_of(const View& view, const StepTimes& times);
/// When a hand is next wanted at a pan whose wait or rest runs.
Instant hand_wanted(const PanView& pan, const line::Run& run);
/// The first step by hand that is ahead and has not begun; null when there is none.
const kitchen::Step* next_by_hand(const PanView& pan);
/// The last good moment of a finished component.
Instant keep_end(const PanView& pan);
/// The group of rounds whose cue has not come and that the pan stands in or right behind; -1: none.
int open_group(const PanView& pan);
/// Rounds of this group that have at least begun.
int rounds_begun(const PanView& pan, int group);

// --- words

/// "NO GLUTEN, NO MILK"
std::string no_words(const std::vector<std::string>& allergies);
/// "GLUTEN, MILK"
std::string allergy_names(const std::vector<std::string>& allergies);
/// What a cook must read before touching this pan: "CLEAN PAN, NO MILK, position 2: no curd". Empty without allergies.
struct PanWords {
  bool clean = false;      ///< The pan has not been begun: it can still be a clean one.
  bool positions = false;  ///< Name all positions, not only a single one (plating).
  bool how = true;         ///< Say what the cook does to leave it out.
};
std::string pan_words(const View& view, const PanView& pan, PanWords wanted);
/// What guests asked to be changed, with the positions when the pan is not for one plate alone.
std::string pan_change(const View& view, const PanView& pan);
/// "sauce beside; no crumb"
std::string plate_change(const View& view, const line::Ticket& ticket, const line::Plate& plate);
/// "turnips (garnish), loin (sauce)": what is not on the plate yet.
std::string missing_of(const View& view, const line::PlateKey& plate);
/// Table names in the order a person would count them: "2, 10".
std::string joined_tables(std::vector<std::string> tables);
/// Whether a station has something to cook that is fired or begun, and nobody who is there.
bool nobody_at(const View& view, const kitchen::Station& station);
/// Whether the portion for this plate is on it.
bool is_plated(const PanView& pan, const line::PlateKey& plate);

// --- documents

nlohmann::json pass_screen(const View& view);
nlohmann::json floor_screen(const View& view);
nlohmann::json station_screen(const View& view, const kitchen::Station& station);
/// {name, counts, present} of everybody at a station.
nlohmann::json people_of(const View& view, const kitchen::Station& station);
nlohmann::json service_of(const View& view);
/// One alert, worded for the station that can help or (for_pass) for the pass.
nlohmann::json alert_json(const View& view, const line::Alert& alert, bool for_pass);
/// Whether what the alert was raised for still is so on this screen: a pan that is taken to have gone on
/// (line/quiet.hpp) is not complained about for the step it has left.
bool still_so(const View& view, const line::Alert& alert);
/// The key of the alert that may take the colour: unanswered, not shelved, lowest rank, longest waiting. Empty: none.
std::string coloured_alert(const View& view, const std::vector<const line::Alert*>& alerts);
/// To hundredths: hands and shares need no more, and a document must not change in the last digit.
double hundredths(double value);

}  // namespace nappe::wire
