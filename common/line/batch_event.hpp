#pragma once
// What has happened to batches, readings and probes: the part of the events that is the kitchen's record. They outlive
// the service in which they happened. Temperatures are degrees Celsius; `by` is the person who answers for it.

#include <boost/describe/class.hpp>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "common/line/batch_command.hpp"
#include "common/line/ids.hpp"

namespace nappe::line {

/// The rules that hold from here on: the rule set's file and, if there is one, the house's, word for word.
struct RulesAdopted {
  std::string id;
  std::string name;
  std::string edition;
  std::string digest;
  std::string rule_set;
  std::string house;
};
struct BatchMade {
  std::string batch;
  std::string kind;
  std::string named;
  std::string station;
  std::string by;
  std::int64_t made_ms = 0;
  bool entered_later = false;
  std::vector<Lot> lots;
  std::vector<std::string> made_from;
  std::optional<int> grams;
  std::optional<int> portions;
  std::string kept_in;
  std::optional<double> kept_c;
  std::vector<std::string> allergens;
  std::vector<std::string> free_from;
  std::int64_t use_by_ms = 0;
  std::string ends;  ///< What ends it: "life of the component", "lot 4711".
  std::optional<std::int64_t> life_ms;
  std::optional<std::int64_t> takes_ms;  ///< To make it again.
  std::int64_t spent_ms = 0;             ///< Time outside its limits, inherited.
  int periods = 0;
  std::optional<std::int64_t> outside_ms;  ///< Outside since then: it is kept so from birth.
  bool mixed = false;
  std::optional<std::int64_t> reheated_ms;  ///< One of those it was made from was reheated then.
  std::optional<std::string> reheated_by;
  bool labelled = false;
};
struct BatchShare {
  std::string batch;
  std::optional<int> portions;
  std::optional<int> grams;
};
BOOST_DESCRIBE_STRUCT(BatchShare, (), (batch, portions, grams))
/// It is in these now, each with the same past; its labels must be written anew.
struct BatchSplit {
  std::string batch;
  std::vector<BatchShare> into;
  std::string kept_in;
  std::string by;
};
struct BatchMoved {
  std::string batch;
  std::string kept_in;
  std::optional<double> kept_c;
  std::string by;
};
struct BatchOpened {
  std::string batch;
  std::string by;
};
struct UseBySet {
  std::string batch;
  std::int64_t use_by_ms = 0;
  std::string ends;
};
struct BatchLabelled {
  std::string batch;
  bool on = true;
  std::string by;
};
struct BatchCounted {
  std::string batch;
  std::optional<int> portions;
  std::optional<int> grams;
  std::optional<int> portions_before;
  std::optional<int> grams_before;
  std::string by;
};
/// Number `reading` counts from 1 and is never used again.
struct ReadingTaken {
  int reading = 0;
  std::string batch;  ///< Empty: of a place.
  std::string place;
  std::string probe;
  double celsius = 0;
  std::int64_t taken_ms = 0;
  bool entered_later = false;
  std::string by;
  std::optional<std::string> remark = {};  ///< What was odd about it and said again: "warmer than before".
};
struct ReadingCorrected {
  int reading = 0;
  double celsius = 0;
  std::string why;
  std::string by;
};
struct ChillBegun {
  std::string batch;
  std::int64_t begun_ms = 0;
  double celsius = 0;
  double air_c = 0;
  std::string by;
};
/// What the readings so far say about its cooling, whenever that changes.
struct ChillJudged {
  std::string batch;
  std::string verdict;  ///< A word of food::ChillState: "on course", "will miss", ...
  std::optional<std::int64_t> expected_ms;
  std::int64_t due_ms = 0;
  std::string says;
};
/// Its time outside the limits, whenever it begins or ends to run.
struct OutsideSet {
  std::string batch;
  std::int64_t spent_ms = 0;
  int periods = 0;
  std::optional<std::int64_t> since_ms;
  std::string why;
};
/// It may not be used until a named person has decided.
struct BatchBlocked {
  std::string batch;
  std::string why;
};
struct BatchReheated {
  std::string batch;
  double celsius = 0;
  int lasting_s = 0;
  std::string probe;
  std::string says;
  std::string by;
};
/// Cooked again after its cooling had missed: no longer blocked, to be cooled anew. Once only.
struct BatchRecooked {
  std::string batch;
  double celsius = 0;
  int lasting_s = 0;
  std::string probe;
  std::string says;
  std::string by;
};
struct BatchThrown {
  std::string batch;
  std::optional<int> portions;  ///< With grams left out as well: all of it.
  std::optional<int> grams;
  std::string reason;
  std::string by;
};
struct BatchKept {
  std::string batch;
  Fate fate = Fate::keep;
  std::string by;
};
struct BatchNoted {
  std::string batch;
  std::string note;
  std::string by;
};
/// A portion of it went on this plate.
struct BatchDrawn {
  std::string batch;
  PlateKey plate;
  std::string table;
  std::string dish;
  std::string component;
};
/// The press that put it there was taken back.
struct BatchReturned {
  std::string batch;
  PlateKey plate;
  std::string component;
};
/// A plate was dressed and no batch fit to be used is known: the gap stays in the record.
struct DrawnUntraced {
  PlateKey plate;
  std::string table;
  std::string dish;
  std::string component;
  std::string why;
};
/// Nothing of it is left under its own name: used up, mixed.
struct BatchEnded {
  std::string batch;
  std::string why;
  std::string by;
};
/// Its use-by has come.
struct BatchPast {
  std::string batch;
  std::int64_t at_ms = 0;
  std::string why;
};
/// A place batches are kept in is at fault, or well again.
struct PlaceJudged {
  std::string place;
  bool fault = false;
  std::int64_t since_ms = 0;  ///< The last good reading before the fault, or the reading that ended it.
  std::string says;
};
struct ProbeChecked {
  std::string probe;
  Bath bath = Bath::iced;
  double celsius = 0;
  bool passed = false;
  std::vector<int> doubtful;  ///< Readings with it since its last good check, when it failed.
  std::string by;
};
struct HandoverWritten {
  int handover = 0;
  std::string note;
  std::vector<std::string> different;  ///< From standard; one sentence each.
  std::string by;
};
struct HandoverAnswered {
  int handover = 0;
  std::string by;
};
struct PowerCut {
  std::int64_t since_ms = 0;
  bool entered_later = false;
  std::string by;
};
struct PowerBack {
  std::int64_t since_ms = 0;
  std::int64_t back_ms = 0;
  bool entered_later = false;
  std::string by;
};
/// What the cut means for a batch that is kept at a temperature, whenever that changes.
struct CutJudged {
  std::string batch;
  std::string verdict;  ///< A word of food::CutState: "within", "read it", "throw", ...
  std::string says;
};

BOOST_DESCRIBE_STRUCT(RulesAdopted, (), (id, name, edition, digest, rule_set, house))
BOOST_DESCRIBE_STRUCT(BatchMade, (),
                      (batch, kind, named, station, by, made_ms, entered_later, lots, made_from, grams, portions,
                       kept_in, kept_c, allergens, free_from, use_by_ms, ends, life_ms, takes_ms, spent_ms, periods,
                       outside_ms, mixed, reheated_ms, reheated_by, labelled))
BOOST_DESCRIBE_STRUCT(BatchSplit, (), (batch, into, kept_in, by))
BOOST_DESCRIBE_STRUCT(BatchMoved, (), (batch, kept_in, kept_c, by))
BOOST_DESCRIBE_STRUCT(BatchOpened, (), (batch, by))
BOOST_DESCRIBE_STRUCT(UseBySet, (), (batch, use_by_ms, ends))
BOOST_DESCRIBE_STRUCT(BatchLabelled, (), (batch, on, by))
BOOST_DESCRIBE_STRUCT(BatchCounted, (), (batch, portions, grams, portions_before, grams_before, by))
BOOST_DESCRIBE_STRUCT(ReadingTaken, (), (reading, batch, place, probe, celsius, taken_ms, entered_later, by, remark))
BOOST_DESCRIBE_STRUCT(ReadingCorrected, (), (reading, celsius, why, by))
BOOST_DESCRIBE_STRUCT(ChillBegun, (), (batch, begun_ms, celsius, air_c, by))
BOOST_DESCRIBE_STRUCT(ChillJudged, (), (batch, verdict, expected_ms, due_ms, says))
BOOST_DESCRIBE_STRUCT(OutsideSet, (), (batch, spent_ms, periods, since_ms, why))
BOOST_DESCRIBE_STRUCT(BatchBlocked, (), (batch, why))
BOOST_DESCRIBE_STRUCT(BatchReheated, (), (batch, celsius, lasting_s, probe, says, by))
BOOST_DESCRIBE_STRUCT(BatchRecooked, (), (batch, celsius, lasting_s, probe, says, by))
BOOST_DESCRIBE_STRUCT(BatchThrown, (), (batch, portions, grams, reason, by))
BOOST_DESCRIBE_STRUCT(BatchKept, (), (batch, fate, by))
BOOST_DESCRIBE_STRUCT(BatchNoted, (), (batch, note, by))
BOOST_DESCRIBE_STRUCT(BatchDrawn, (), (batch, plate, table, dish, component))
BOOST_DESCRIBE_STRUCT(BatchReturned, (), (batch, plate, component))
BOOST_DESCRIBE_STRUCT(DrawnUntraced, (), (plate, table, dish, component, why))
BOOST_DESCRIBE_STRUCT(BatchEnded, (), (batch, why, by))
BOOST_DESCRIBE_STRUCT(BatchPast, (), (batch, at_ms, why))
BOOST_DESCRIBE_STRUCT(PlaceJudged, (), (place, fault, since_ms, says))
BOOST_DESCRIBE_STRUCT(ProbeChecked, (), (probe, bath, celsius, passed, doubtful, by))
BOOST_DESCRIBE_STRUCT(HandoverWritten, (), (handover, note, different, by))
BOOST_DESCRIBE_STRUCT(HandoverAnswered, (), (handover, by))
BOOST_DESCRIBE_STRUCT(PowerCut, (), (since_ms, entered_later, by))
BOOST_DESCRIBE_STRUCT(PowerBack, (), (since_ms, back_ms, entered_later, by))
BOOST_DESCRIBE_STRUCT(CutJudged, (), (batch, verdict, says))

}  // namespace nappe::line
