#pragma once
// The record as it stands: batches that are there, readings, probes, places, handovers, the rules in force. The fold of
// the events of batch_event.hpp. It outlives the service; what nobody will ask for any more is let go of when the next
// one opens (the journal keeps everything).

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/food/chill.hpp"
#include "common/food/outside.hpp"
#include "common/food/rules.hpp"
#include "common/line/event.hpp"
#include "common/time.hpp"

namespace nappe::line {

/// How a batch is kept, from the temperature it is kept at.
enum class Keeping {
  shelf,   ///< No temperature was given: nothing to read.
  frozen,  ///< At -10 or colder.
  cold,    ///< Below 15.
  hot
};
Keeping keeping_at(const std::optional<double>& celsius);
/// Whether this temperature is outside the rule set's limit for food kept so. Frozen food is held to the chill limit.
bool outside_limits(const food::RuleSet& rules, Keeping keeping, double celsius);

struct Chilling {
  Instant begun{};
  double from_c = 0;
  Instant since{};  ///< As it lies now: when it was put so, and how warm it was.
  double since_c = 0;
  double air_c = 0;
  std::string verdict;  ///< A word of food::ChillState; empty: not judged yet, or the rules set no number.
  std::string says;
  std::optional<Instant> due;
};

struct Reheated {
  Instant at{};
  std::string by;
};

/// A portion on a plate of this service.
struct Drawn {
  PlateKey plate;
  std::string component;
  friend bool operator==(const Drawn&, const Drawn&) = default;
};

struct Batch {
  std::string id;
  std::string kind;
  std::string name;
  std::string station;
  std::string by;
  Instant made{};
  std::vector<Lot> lots;
  std::vector<std::string> made_from;
  std::vector<std::string> was;  ///< Batches it is a share of: their readings are its own.
  std::optional<int> grams;      ///< What is left.
  std::optional<int> portions;   ///< What is left; absent: not counted.
  std::string kept_in;
  std::optional<double> kept_c;
  std::vector<std::string> allergens;
  std::vector<std::string> free_from;
  Instant use_by{};
  std::string ends;
  std::optional<Duration> life;   ///< Of a batch that is made again in service.
  std::optional<Duration> takes;  ///< To make it again.
  bool labelled = false;
  bool opened = false;
  bool past = false;      ///< Its use-by has come.
  bool recooked = false;  ///< Cooked again after a cooling that missed: never a second time.
  std::string blocked;    ///< Why it may not be used; empty: it may.
  std::string ended;      ///< Why nothing of it is left; empty: something is.
  food::OutsideClock outside;
  std::optional<Chilling> chilling;
  std::optional<Reheated> reheated;
  std::optional<Fate> fate;  ///< Said at this close-down.
  std::string fate_by;
  std::optional<Instant> last_good;  ///< The last reading within its limits, its own or its place's.
  std::string cut_verdict;  ///< What the last power cut means for it, a word of food::CutState; empty: nothing.
  std::string cut_says;
  std::vector<Drawn> drawn;  ///< In this service.

  [[nodiscard]] bool there() const { return ended.empty(); }
  [[nodiscard]] Keeping keeping() const { return keeping_at(kept_c); }
  /// Why it may not go on a plate now; empty: it may.
  [[nodiscard]] std::string unfit() const;
  /// Still on its way down: the limits of holding do not count yet.
  [[nodiscard]] bool cooling() const;
};

/// Reading and correction, side by side.
struct Read {
  int number = 0;
  std::string batch;
  std::string place;
  std::string probe;
  double celsius = 0;
  std::optional<double> corrected_c;
  Instant taken{};
  bool entered_later = false;
  std::string by;
  [[nodiscard]] double counts() const { return corrected_c.value_or(celsius); }
};

struct Probe {
  std::optional<Instant> good;    ///< Its last check that passed.
  std::optional<Instant> failed;  ///< Its last check, if that failed.
};

struct KeepingPlace {
  int high = 0;  ///< Readings outside the limit in a row.
  bool fault = false;
  std::optional<Instant> good;       ///< The last reading within.
  std::optional<Instant> first_bad;  ///< The first of those in a row.
};

struct Handover {
  int number = 0;
  std::string note;
  std::vector<std::string> different;
  std::string by;
  Instant at{};
};

/// The last name of its kind that was given to a batch: the day in it and the number behind it.
struct NameGiven {
  int day = 0;  ///< 20261120
  int number = 1;
};

/// A power cut, from when it began until everything kept at a temperature has been decided about.
struct Cut {
  Instant since{};
  std::optional<Instant> back;
};

struct Rules {
  std::string digest;
  food::RuleSet in_force;  ///< The house's own upon the rule set.
};

struct Record {
  std::shared_ptr<const Rules> rules;  ///< Null until rules were adopted.
  std::map<std::string, Batch> batches;
  std::map<int, Read> readings;
  std::map<std::string, Probe> probes;
  std::map<std::string, KeepingPlace> places;
  std::map<int, Handover> handovers;  ///< Those nobody has answered.
  int readings_made = 0;
  int handovers_made = 0;
  int batches_made = 0;
  std::map<std::string, NameGiven> names;  ///< By kind: no name is ever given twice in a house.
  std::optional<Cut> cut;                  ///< The last power cut.

  [[nodiscard]] const Batch* find(std::string_view id) const;
  /// The rule set in force; an empty one while none was adopted.
  [[nodiscard]] const food::RuleSet& rule_set() const;
  /// What the probe said of this batch's core, by the time it was taken; of two at one instant the one entered last.
  [[nodiscard]] food::Curve curve_of(const std::string& batch) const;
};

/// The rule set file and the house's own as one, or what is wrong with them. An empty house adds nothing.
Result<food::RuleSet> rules_of(const std::string& rule_set, const std::string& house);

/// Makes one event of the record true; events of other kinds change nothing. std::logic_error if it does not fit.
void apply_record(Record& record, const Happening& happening, Instant at);

/// What a record is without what no later service asks for: batches of which nothing is left, plates of services past,
/// readings older than a week whose batch is gone and whose probe has been found good since.
Record carried_over(const Record& record, Instant at);

/// Everything in it that later events depend on, for the fingerprint: one line each.
std::vector<std::string> in_lines(const Record& record);

}  // namespace nappe::line
