#pragma once
// What the house is: rooms, stations, people, equipment, components, dishes. Loaded, validated, then never changed.
// Ids are the short words of the kitchen files ("garnish", "emmer"); they are stable in the journal across versions.

#include <array>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/time.hpp"

namespace nappe::kitchen {

/// A time that grows with the number of portions: fixed + each * n.
struct Growth {
  Duration fixed{};
  Duration each{};
  [[nodiscard]] constexpr Duration of(int portions) const { return fixed + each * portions; }
  friend bool operator==(const Growth&, const Growth&) = default;
};

/// Where a duration comes from; a forecast says how much of it stands on mere wishes.
enum class Origin { said, timed, learnt };

/// The sign that ends a step. Any of the words may be empty; `core_c` is a core temperature in degrees Celsius.
struct Cue {
  std::string look;
  std::string sound;
  std::string taste;
  std::string too_far;
  std::optional<double> core_c;
  friend bool operator==(const Cue&, const Cue&) = default;
};

/// How many places of a piece of equipment a step takes while it lasts: fixed + each * portions.
struct Use {
  std::string equipment;
  int fixed = 1;
  int each = 0;
  [[nodiscard]] constexpr int of(int portions) const { return fixed + each * portions; }
  friend bool operator==(const Use&, const Use&) = default;
};

enum class StepKind {
  move,  ///< Hands busy.
  wait,  ///< Equipment busy, hands free; it begins when the step before it ends.
  rest,  ///< A wait that is wrong when too short and wrong when too long.
  plate  ///< Hands busy at the end: the portions go on their plates.
};

/// One step of a component. Inside a group of rounds it is done once a round.
struct Step {
  std::string id;  ///< Unique within the component: "toast", "ladle".
  StepKind kind = StepKind::move;
  std::string word;  ///< What the hand list says: "toast"; for a wait or a rest what it is: "absorbing".
  std::string how;   ///< A line of instruction, may be empty.
  Growth takes;      ///< Usual (median) time for n portions. For a rest: its minimum.
  /// Standard deviation of the logarithm of the time; the 95 % point is usual * exp(1.645 * scatter).
  double scatter = 0.30;
  std::optional<Growth> most;  ///< Given instead of the 95 % point, when the dish knows better.
  Duration rest_max{};         ///< Rest only: longest good rest.
  std::string rest_past;       ///< Rest only: what passing the maximum costs ("set: loosen with stock, 20 s").
  Duration pause{};            ///< How long this step may be put off, at no loss, after the one before it ended.
  std::optional<Cue> cue;      ///< What ends it, when it is not the clock.
  std::vector<Use> uses;       ///< Equipment held while the step lasts.
  Origin origin = Origin::said;
  int group = -1;  ///< Index into Component::groups, or -1.

  [[nodiscard]] bool by_hand() const { return kind == StepKind::move || kind == StepKind::plate; }
  /// Usual time for n portions; a rest's minimum.
  [[nodiscard]] Duration usual(int portions) const { return takes.of(portions); }
  /// The time after which a step is a fault and not scatter: `most` if given, the rest's maximum, else the 95 % point.
  [[nodiscard]] Duration longest(int portions) const;
  friend bool operator==(const Step&, const Step&) = default;
};

/// A run of steps repeated until its cue: ladles.
struct Rounds {
  int first = 0;  ///< Index of its first step.
  int last = 0;   ///< Index of its last step.
  int min = 1;
  int usual = 1;
  int max = 1;
  std::map<int, double> seen;  ///< How often the house needed n rounds; may be empty.
  std::string word;            ///< What one round is called: "ladle".
  std::optional<Cue> cue;
  int join_before = 0;  ///< Another table's portion may join the pan before this round begins; 0: never.
  friend bool operator==(const Rounds&, const Rounds&) = default;
};

/// A span of core temperatures in degrees Celsius.
struct Band {
  double min_c = 0;
  double max_c = 0;
  friend bool operator==(const Band&, const Band&) = default;
};

/// Something made ahead that goes on in a component's own plating step: a sheet of gel, a frozen scoop.
struct Layer {
  std::string id;
  std::string name;
  std::string batch;              ///< The batch it comes from, may be empty.
  std::optional<double> fails_c;  ///< It melts or splits above this.
  std::optional<double> limit_c;  ///< The house never puts it on anything hotter; at most `fails_c`.
  friend bool operator==(const Layer&, const Layer&) = default;
};

/// One thing cooked at one station.
struct Component {
  std::string id;
  std::string name;
  std::string station;
  int cap = 1;                 ///< Most portions in one pan.
  Duration keep{};             ///< How long it may stand once its last step is done.
  std::string vessel = "pan";  ///< "pan", "grill", "press": what the letter on the hand list belongs to.
  std::vector<Step> steps;     ///< In order; the last one is a plate step.
  std::vector<Rounds> groups;
  std::vector<std::string> allergens;  ///< Names of allergen.hpp ("wheat", "milk").
  /// Allergen -> what the cook does to leave it out ("no curd, mount with leek oil"). Absent: it cannot be left out.
  std::map<std::string, std::string> without;
  std::vector<std::string> batches;     ///< Made-ahead batches it is drawn from.
  std::optional<int> join_before_step;  ///< Without rounds: a portion may join before this step begins.
  std::optional<Band> plated_c;         ///< How hot it is when it is plated.
  std::optional<double> fails_c;        ///< Lying on something hotter than this it melts or splits.
  std::optional<double> limit_c;        ///< The house never lays it on anything hotter; at most `fails_c`.
  std::vector<Layer> layers;            ///< What goes on it in its own plating step.

  [[nodiscard]] const Step* find_step(std::string_view id) const;
  friend bool operator==(const Component&, const Component&) = default;
};

/// A component's place in a dish.
struct Part {
  std::string component;
  bool can_be_left_off = false;  ///< The dish may go without it (a crumb, an emulsion).
  std::string on;                ///< Component of the same dish it lies on, may be empty.
  friend bool operator==(const Part&, const Part&) = default;
};

struct Dish {
  std::string id;
  std::string letter;  ///< What the floor types; unique within its course.
  std::string name;    ///< As the kitchen says it: "emmer".
  std::string card;    ///< As the guest reads it; may be empty.
  std::string course;  ///< Id of a course: "starters".
  std::vector<Part> parts;
  std::int64_t price_pence = 0;
  std::int64_t food_cost_pence = 0;
  friend bool operator==(const Dish&, const Dish&) = default;
};

/// How long a table sits over a course, from plates down to plates cleared: mean and standard deviation.
struct Eating {
  Duration mean{};
  Duration sd{};
  friend bool operator==(const Eating&, const Eating&) = default;
};

/// A course as the house calls it, in the order they are eaten.
struct CourseName {
  std::string id;                ///< "starters"
  std::string name;              ///< "starters"
  std::optional<Eating> eating;  ///< Nothing: nobody has said, and nothing is guessed from it.
  friend bool operator==(const CourseName&, const CourseName&) = default;
};

struct Person {
  std::string id;
  std::string name;
  double counts = 1.0;  ///< 1 is a full pair of hands; a commis counts less.
  friend bool operator==(const Person&, const Person&) = default;
};

struct Equipment {
  std::string id;
  std::string name;
  int places = 1;
  friend bool operator==(const Equipment&, const Equipment&) = default;
};

struct Station {
  std::string id;
  std::string name;
  std::vector<Person> people;
  std::vector<Equipment> equipment;
  friend bool operator==(const Station&, const Station&) = default;
};

struct Room {
  std::string id;
  std::string name;
  Duration walk{};  ///< From the pass to its tables.
  friend bool operator==(const Room&, const Room&) = default;
};

struct Table {
  std::string id;  ///< "8": also what the floor types.
  std::string room;
  int seats = 2;
  friend bool operator==(const Table&, const Table&) = default;
};

/// Named settings of the house; the loader fills every one or keeps this default.
struct Settings {
  Duration spread{seconds(30)};            ///< Allowed between the first and last plate of a table.
  Duration finish_allowance{seconds(30)};  ///< Finishing components are listed this much earlier (0 in the oracle).
  Duration freeze{seconds(60)};            ///< What a cook was told this close ahead does not shuffle.
  Duration unanswered{seconds(30)};        ///< An alert nobody answered goes to the pass.
  Duration undo{seconds(3)};               ///< How long a press can be taken back.
  Duration undo_fire{seconds(20)};
  Duration keep_warning{seconds(20)};  ///< "keep running out" this long before the keep ends.
  double prompt = 0.5;                 ///< 0 fresh ... 1 prompt: price of lateness against standing.
  double word_chance = 0.8;            ///< The word is given at this chance.
  double load_warning = 0.85;
  int covers_cap = 0;                   ///< Most covers in the kitchen at once; 0: no cap.
  Duration relay{minutes(5)};           ///< From a table's last course cleared until it can be sat at again.
  std::int64_t utc_offset_minutes = 0;  ///< What the kitchen's clocks show.
  friend bool operator==(const Settings&, const Settings&) = default;
};

/// The whole house, one version of it.
struct Kitchen {
  std::string name;
  std::string version;  ///< A hash of its document; tickets keep the one they were ordered under.
  std::string rules;    ///< Id of the food-safety rule set in force; the house's own stricter rules stand beside it.
  Settings settings;
  std::vector<Room> rooms;
  std::vector<Table> tables;
  std::vector<CourseName> courses;
  std::vector<Station> stations;  ///< In the order the pass reads them.
  std::vector<Component> components;
  std::vector<Dish> dishes;

  [[nodiscard]] const Station* find_station(std::string_view id) const;
  [[nodiscard]] const Component* find_component(std::string_view id) const;
  [[nodiscard]] const Dish* find_dish(std::string_view id) const;
  /// The dish with this letter in this course.
  [[nodiscard]] const Dish* find_dish(std::string_view course, std::string_view letter) const;
  [[nodiscard]] const Table* find_table(std::string_view id) const;
  [[nodiscard]] const Room* find_room(std::string_view id) const;
  [[nodiscard]] const CourseName* find_course(std::string_view id) const;
  /// The walk from the pass to this table; zero for a table nobody knows.
  [[nodiscard]] Duration walk_to(std::string_view table) const;
  friend bool operator==(const Kitchen&, const Kitchen&) = default;
};

}  // namespace nappe::kitchen
