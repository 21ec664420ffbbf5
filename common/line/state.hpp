#pragma once
// What is happening: the fold of the events of a service. Plain data; only apply() changes it.

#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "common/kitchen/kitchen.hpp"
#include "common/line/event.hpp"
#include "common/line/record.hpp"

namespace nappe::line {

using KitchenPtr = std::shared_ptr<const kitchen::Kitchen>;

/// Names in order, each once: how allergies are kept and compared.
std::vector<std::string> in_order(std::vector<std::string> names);

/// One doing of one step: a ladle in round five is a run of its own.
struct Run {
  int step = 0;   ///< Index into Component::steps.
  int round = 0;  ///< From 1 within a group, else 0.
  Instant started{};
  bool start_inferred = false;
  std::optional<Instant> ended;
  bool end_inferred = false;
  std::set<Mark> marks;  ///< What time has already said about it.
};

/// Where a pan stands: the next step to end.
struct Place {
  int step = 0;
  int round = 0;
  friend auto operator<=>(const Place&, const Place&) = default;
};

struct Portion {
  PlateKey plate;
  std::optional<Instant> plated;  ///< It is on its plate.
};

/// One run of a component's chain, for one or more plates.
struct Pan {
  PanId id{};
  std::string component;
  std::string station;
  std::string letter;   ///< Empty until its course is fired or it is begun.
  std::string version;  ///< Of the kitchen whose component it is.
  std::vector<Portion> portions;
  int cooked = 0;                      ///< Portions in it when it was begun; those freed later are still in the pan.
  std::vector<std::string> allergies;  ///< Of the guests it is for; sorted. Pans with different ones never join.
  bool refire = false;
  Place place;
  std::vector<Run> runs;            ///< In the order they began; the last may still run.
  std::map<int, int> rounds;        ///< Group -> rounds it took, once its cue was met.
  std::optional<Instant> finished;  ///< The last step ended (or was proved to have).
  std::set<Mark> marks;             ///< keep_low and keep_end.

  /// Portions whose time and weight the pan has: as many as were put in, or as many as it is for.
  [[nodiscard]] int portions_in() const;
  [[nodiscard]] bool begun() const { return !runs.empty(); }
  /// The run of the step the pan stands at, if that step has begun.
  [[nodiscard]] const Run* running() const;
  [[nodiscard]] const Portion* portion_of(const PlateKey& plate) const;
};

struct Plate {
  Wanted wanted;
  std::optional<Instant> gone;
  std::map<std::string, std::string> blocked;  ///< Component -> allergen it must not hold.
  std::set<std::string> cleared;               ///< Components a named person has cleared.
  int refires = 0;
  std::map<std::string, std::string> borrowed;  ///< Component -> the table whose portion it was.
  std::map<std::string, std::string> lent;      ///< Component -> the table that has it now.
};

enum class CourseState {
  waiting,  ///< Ordered, not fired.
  fired,
  held,  ///< Fired and put off: nothing new is begun.
  gone
};
BOOST_DESCRIBE_ENUM(CourseState, waiting, fired, held, gone)

struct Course {
  std::string course;
  CourseState state = CourseState::waiting;
  std::optional<Instant> meet;  ///< Promised: set by people, never by the planner.
  std::optional<Instant> fired_at;
  std::optional<Instant> gone_at;
  std::optional<Instant> clear;  ///< Waiting: a guess of when the table will be clear for it.
  /// Of `clear`, when it is the house's own guess: its standard deviation. Nothing: a person said so.
  std::optional<Duration> clear_sd;
  Duration spread{};
  std::map<int, Plate> plates;  ///< By position.
};

/// A table that cannot be served now: speeches, or its guests have gone out.
struct Pause {
  PauseKind why = PauseKind::speech;
  Instant since{};
  std::optional<Instant> until;  ///< A guess.
};

struct Ticket {
  TicketId id{};
  std::string table;
  std::string version;
  Instant sent{};
  std::string note;
  std::map<int, std::vector<std::string>> allergies;  ///< By position; sorted.
  std::vector<Course> courses;                        ///< In the order they are eaten.
  bool cancelled = false;
  TicketId order{};                 ///< Split off this one: both are one order. 0: never split.
  TicketId merged{};                ///< Its guests sit at this ticket now. 0: they do not.
  std::vector<std::string> joined;  ///< Tables pushed to its own.
  std::optional<Pause> pause;
  Duration pace{};                ///< How much slower the table asked to go; negative: faster.
  bool words = false;             ///< Somebody wrote free words about its guests, and they have not been let go of.
  std::set<TicketId> words_from;  ///< Tickets whose guests came here with such words.

  [[nodiscard]] const Course* find_course(std::string_view course) const;
  [[nodiscard]] Course* find_course(std::string_view course);
  /// The number of positions anything was ordered for.
  [[nodiscard]] int covers() const;
  [[nodiscard]] std::vector<std::string> allergies_of(int position) const;
};

/// An alert's life after ISA-18.2: unanswered, answered, shelved for a time; gone from here once cleared.
struct Alert {
  AlertId id{};
  AlertKind kind = AlertKind::step_over;
  std::string station;
  PanId pan{};
  std::string step;
  int round = 0;
  PlateKey plate;
  std::optional<std::string> batch;
  Instant raised{};
  bool answered = false;
  bool escalated = false;
  std::optional<Instant> shelved_until;
};

/// A press that can still be taken back.
struct Press {
  PanId pan{};
  std::string step;
  int round = 0;
  bool begun = false;
  Instant at{};
};

enum class ServiceState { closed, open };

struct State {
  ServiceState service = ServiceState::closed;
  std::string name;
  Instant opened{};
  std::optional<Instant> closed;               ///< When the last service ended; nothing while one is open.
  std::map<std::string, KitchenPtr> kitchens;  ///< By version; those some ticket or pan still names, and the current.
  KitchenPtr kitchen;  ///< The version new tickets are ordered under. Null before the first opening.
  std::map<std::string, std::set<std::string>> hands;  ///< Station -> persons present.
  std::map<std::string, int> left;                     ///< Dish -> portions nobody has been promised; absent: no count.
  std::vector<TableBooking> bookings;                  ///< In order of their times.
  std::map<TicketId, Ticket> tickets;                  ///< All of the service, also those gone.
  std::map<PanId, Pan> pans;                           ///< Those not dropped and with a plate that has not gone.
  std::map<PanId, Pan> past;  ///< Pans whose plates have all gone: a plate may be brought back.
  std::map<AlertId, Alert> alerts;
  std::map<std::string, Press> presses;  ///< Station -> its last press.
  std::uint32_t tickets_made = 0;
  std::uint32_t pans_made = 0;
  std::uint32_t alerts_made = 0;
  Instant now{};  ///< Of the last event.
  /// What the kitchen made ahead and read; outlives the service. Null: nothing yet. Shared, so that a copy of the state
  /// for a plan costs nothing; apply() puts a new one in its place.
  std::shared_ptr<const Record> kept;

  /// The record, empty while there is none.
  [[nodiscard]] const Record& record() const;
  [[nodiscard]] const Ticket* find_ticket(TicketId id) const;
  [[nodiscard]] const Pan* find_pan(PanId id) const;
  [[nodiscard]] const Plate* find_plate(const PlateKey& key) const;
  /// The component as the pan's kitchen version has it. The pan must be of this state.
  [[nodiscard]] const kitchen::Component& component_of(const Pan& pan) const;
  [[nodiscard]] const kitchen::Kitchen& kitchen_of(const Ticket& ticket) const;
  /// The live pans that hold a portion for this plate.
  [[nodiscard]] std::vector<const Pan*> pans_of(const PlateKey& plate) const;
  [[nodiscard]] std::vector<const Pan*> pans_of(const CourseKey& course) const;
  /// Pairs of hands at a station now: the sum of what its present people count.
  [[nodiscard]] double hands_at(const std::string& station) const;
};

}  // namespace nappe::line
