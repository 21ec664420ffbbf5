#pragma once
// What people ask of the record: batches, readings, probes, the close-down. They may be asked whether or not a service
// is open. Temperatures are degrees Celsius; an instant left out is that of the press.

#include <boost/describe/class.hpp>
#include <boost/describe/enum.hpp>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace nappe::line {

/// One delivery that went in: "swede 4711", with its own date if it has one.
struct Lot {
  std::string what;
  std::optional<std::int64_t> until_ms;
  friend bool operator==(const Lot&, const Lot&) = default;
};
BOOST_DESCRIBE_STRUCT(Lot, (), (what, until_ms))

/// A batch was made. What is left out and stands in the house's sheet of batches is taken from there.
struct MakeBatch {
  std::string kind;                  ///< Of the sheet, or the component it is drawn for: "swede_puree".
  std::optional<std::string> named;  ///< As people say it: "swede puree".
  std::optional<std::string> station;
  std::vector<Lot> lots;
  std::vector<std::string> made_from;  ///< Batches that went in.
  std::optional<int> grams;
  std::optional<int> portions;
  std::optional<std::string> kept_in;
  std::optional<double> kept_c;
  std::optional<std::vector<std::string>> allergens;
  std::optional<std::vector<std::string>> free_from;  ///< Made on purpose without these.
  bool clean_first = false;                           ///< The maker ticked it; a free-from batch needs it.
  std::optional<int> life_min;                        ///< It dies so long after it was made.
  std::optional<int> use_by_days;                     ///< Or with the end of the day so many days on; 0: today.
  std::optional<std::string> keeps_as;                ///< A kind of food of the rule set's keeping rules.
  std::optional<int> takes_min;                       ///< How long it takes to make it again.
  std::optional<std::int64_t> made_ms;
  bool vacuum = false;
  bool other_control = false;  ///< Another control against Clostridium botulinum is recorded.
  bool labelled = false;       ///< Its label is on.
  bool sure = false;           ///< Said again: a kind, or a place, that the house's sheet does not know.
};
/// The batch goes into so many vessels, as even as they go; each is a batch of its own with the same past.
struct SplitBatch {
  std::string batch;
  int into = 2;
  std::optional<std::string> kept_in;
};
/// Several become one: the earliest date, all allergens, all lots, the most time outside.
struct MixBatches {
  std::vector<std::string> batches;
  std::optional<std::string> named;
  std::optional<std::string> kept_in;
};
struct MoveBatch {
  std::string batch;
  std::string kept_in;
  std::optional<double> kept_c;
  bool sure = false;  ///< Said again: a place nobody has named before.
};
/// Its packet was opened: use within so long.
struct OpenBatch {
  std::string batch;
  int within_min = 0;
};
/// Its label is on, or has come off: no label, no use.
struct LabelBatch {
  std::string batch;
  bool on = true;
};
/// What was counted or weighed; the record keeps what it believed before.
struct CountBatch {
  std::string batch;
  std::optional<int> portions;
  std::optional<int> grams;
};
/// It goes into the chiller: core temperature and the air around it now.
struct StartChill {
  std::string batch;
  double celsius = 0;
  double air_c = 0;
  std::string probe;
  std::optional<std::int64_t> taken_ms;
};
/// A probe's reading of a batch's core, or of the place batches are kept in.
struct TakeReading {
  std::optional<std::string> batch;
  std::optional<std::string> place;
  std::string probe;
  double celsius = 0;
  std::optional<std::int64_t> taken_ms;
  bool sure = false;  ///< Said again: the core is warmer than before, or the place is a new one.
};
/// The core was at least this warm for this long: the once that it may be reheated.
struct ReheatBatch {
  std::string batch;
  double celsius = 0;
  int lasting_s = 0;
  std::string probe;
  bool to_order = false;                 ///< One portion, served at once.
  std::optional<std::int64_t> began_ms;  ///< When it left the cold; asked for by rule sets that bound the time.
};
/// Its cooling missed the limit, or will: it was cooked again, the core at least this warm for this long, and the
/// cooling begins anew. Only where the rules in force say how, and once.
struct RecookBatch {
  std::string batch;
  double celsius = 0;
  int lasting_s = 0;
  std::string probe;
};
/// Thrown, all of it or as much as is named.
struct ThrowBatch {
  std::string batch;
  std::string reason;
  std::optional<int> portions;
  std::optional<int> grams;
};
enum class Fate {
  keep,  ///< It stays where it is.
  cool   ///< It goes to be cooled.
};
BOOST_DESCRIBE_ENUM(Fate, keep, cool)
/// What becomes of it at close-down, on the word of whoever says so.
struct KeepBatch {
  std::string batch;
  Fate fate = Fate::keep;
};
struct NoteBatch {
  std::string batch;
  std::string note;
};
/// The reading was wrong: what it should have been stands beside it.
struct CorrectReading {
  int reading = 0;
  double celsius = 0;
  std::string why;
};
enum class Bath {
  iced,    ///< Iced water: -1 to +1.
  boiling  ///< Boiling water: 99 to 101.
};
BOOST_DESCRIBE_ENUM(Bath, iced, boiling)
struct CheckProbe {
  std::string probe;
  Bath bath = Bath::iced;
  double celsius = 0;
};
/// To whoever comes next: what is different from standard is added by itself.
struct WriteHandover {
  std::string note;
};
struct AnswerHandover {
  int handover = 0;
};
/// The mains went, or are back. From then on every batch that is kept at a temperature has a verdict with its reason.
struct TellPower {
  bool on = false;
  std::optional<std::int64_t> since_ms;
};

BOOST_DESCRIBE_STRUCT(MakeBatch, (),
                      (kind, named, station, lots, made_from, grams, portions, kept_in, kept_c, allergens, free_from,
                       clean_first, life_min, use_by_days, keeps_as, takes_min, made_ms, vacuum, other_control,
                       labelled, sure))
BOOST_DESCRIBE_STRUCT(SplitBatch, (), (batch, into, kept_in))
BOOST_DESCRIBE_STRUCT(MixBatches, (), (batches, named, kept_in))
BOOST_DESCRIBE_STRUCT(MoveBatch, (), (batch, kept_in, kept_c, sure))
BOOST_DESCRIBE_STRUCT(OpenBatch, (), (batch, within_min))
BOOST_DESCRIBE_STRUCT(LabelBatch, (), (batch, on))
BOOST_DESCRIBE_STRUCT(CountBatch, (), (batch, portions, grams))
BOOST_DESCRIBE_STRUCT(StartChill, (), (batch, celsius, air_c, probe, taken_ms))
BOOST_DESCRIBE_STRUCT(TakeReading, (), (batch, place, probe, celsius, taken_ms, sure))
BOOST_DESCRIBE_STRUCT(ReheatBatch, (), (batch, celsius, lasting_s, probe, to_order, began_ms))
BOOST_DESCRIBE_STRUCT(RecookBatch, (), (batch, celsius, lasting_s, probe))
BOOST_DESCRIBE_STRUCT(ThrowBatch, (), (batch, reason, portions, grams))
BOOST_DESCRIBE_STRUCT(KeepBatch, (), (batch, fate))
BOOST_DESCRIBE_STRUCT(NoteBatch, (), (batch, note))
BOOST_DESCRIBE_STRUCT(CorrectReading, (), (reading, celsius, why))
BOOST_DESCRIBE_STRUCT(CheckProbe, (), (probe, bath, celsius))
BOOST_DESCRIBE_STRUCT(WriteHandover, (), (note))
BOOST_DESCRIBE_STRUCT(AnswerHandover, (), (handover))
BOOST_DESCRIBE_STRUCT(TellPower, (), (on, since_ms))

}  // namespace nappe::line
