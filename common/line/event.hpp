#pragma once
// What has happened. Events are the record: a service is the fold of its events, and they never change their meaning.
// Every field a report needs stands in the event; nothing is looked up in a kitchen file later.

#include <boost/describe/class.hpp>
#include <boost/describe/enum.hpp>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "common/line/batch_event.hpp"
#include "common/line/ids.hpp"
#include "common/line/order.hpp"
#include "common/time.hpp"

namespace nappe::line {

struct ServiceOpened {
  std::string name;
  std::string version;
  std::string document;
  std::optional<std::vector<std::string>> unchecked = {};  ///< Of the line check, opened all the same ...
  std::optional<std::string> by = {};                      ///< ... on the word of this person.
};
struct ServiceClosed {};
struct HandsSet {
  std::string station;
  std::string person;
  bool present = true;
};
struct LeftSet {
  std::string dish;
  std::optional<int> left;
};

struct TicketSent {
  TicketId ticket{};
  std::string version;  ///< Of the kitchen it was ordered under.
  Order order;
};
struct PlateChanged {
  TicketId ticket{};
  std::string course;
  Wanted plate;  ///< Empty dish: the plate was taken away.
};
struct AllergyTold {
  TicketId ticket{};
  int position = 0;
  std::vector<std::string> allergies;
};
struct TicketCancelled {
  TicketId ticket{};
  std::string reason;
};

/// Guests with their plates and allergies changed position, perhaps to another ticket.
struct PositionsMoved {
  TicketId from{};
  TicketId to{};
  std::vector<SeatMove> moves;
};
struct TableChanged {
  TicketId ticket{};
  std::string table;
};
/// A ticket of its own, still without guests, for some of another one's. Both are one order.
struct TicketSplit {
  TicketId ticket{};
  TicketId into{};
  std::string table;
};
/// The ticket has no guests any more: they sit at `into`.
struct TicketMerged {
  TicketId ticket{};
  TicketId into{};
};

/// Why a table cannot be served now.
enum class PauseKind { speech, up };
BOOST_DESCRIBE_ENUM(PauseKind, speech, up)
struct TablePaused {
  TicketId ticket{};
  PauseKind why = PauseKind::speech;
  std::optional<std::int64_t> until_ms;  ///< A guess; nothing: nobody can say.
};
struct TableResumed {
  TicketId ticket{};
};
/// The table asked to go slower (> 0) or faster.
struct PaceAsked {
  TicketId ticket{};
  int minutes = 0;
};
struct ClearGuessed {
  TicketId ticket{};
  std::string course;
  std::optional<std::int64_t> clear_ms;
  /// The house's own guess, from how long a table usually sits over the course before: its standard deviation.
  /// Nothing: a person said so.
  std::optional<std::int64_t> sd_ms = {};
};
/// The sheet of tonight's bookings as far as the line needs it; takes the place of the one before.
struct BookingsTaken {
  std::vector<TableBooking> bookings;
};

/// A pan with portions for these plates is on the hand list.
struct PanOpened {
  PanId pan{};
  std::string component;
  std::string station;
  std::string version;  ///< Of the kitchen its steps come from.
  std::vector<PlateKey> plates;
  std::vector<std::string> allergies;  ///< Of the guests it is for; sorted.
  bool refire = false;
};
/// The pan's letter, painted on its handle: given when its course is fired or it is begun.
struct LetterGiven {
  PanId pan{};
  std::string letter;
};
struct PanDropped {
  PanId pan{};
  std::string why;
};
/// Plates' portions go from one pan to another.
struct PortionsMoved {
  PanId from{};
  PanId to{};
  std::vector<PlateKey> plates;
};
/// A portion is nobody's any more (cancelled, changed, refused for an allergy) while its pan goes on.
struct PortionFreed {
  PanId pan{};
  PlateKey plate;
  std::string why;
};

struct CourseFired {
  TicketId ticket{};
  std::string course;
  std::int64_t meet_ms = 0;
};
struct CourseUnfired {
  TicketId ticket{};
  std::string course;
};
struct CourseHeld {
  TicketId ticket{};
  std::string course;
};
struct CourseReleased {
  TicketId ticket{};
  std::string course;
  std::int64_t meet_ms = 0;
};
struct MeetMoved {
  TicketId ticket{};
  std::string course;
  std::int64_t meet_ms = 0;
};

/// `inferred`: nobody said so; something later proves it. Learning never uses an inferred instant.
struct StepStarted {
  PanId pan{};
  std::string step;
  int round = 0;
  std::int64_t at_ms = 0;
  bool inferred = false;
};
struct StepEnded {
  PanId pan{};
  std::string step;
  int round = 0;
  std::int64_t at_ms = 0;
  bool inferred = false;
};
/// A cook's press arrived: where the pan stood before it, so that it can be taken back.
struct Pressed {
  std::string station;
  PanId pan{};
  std::string step;
  int round = 0;
  bool begun = false;  ///< Whether that step had begun.
};
/// The last press was taken back: the pan stands at this step again and nothing after it has happened.
struct StepReopened {
  PanId pan{};
  std::string step;
  int round = 0;
  bool begun = false;
};
/// The cue of a group of rounds came after this many.
struct CueMet {
  PanId pan{};
  std::string word;
  int rounds = 0;
  std::int64_t at_ms = 0;
  bool inferred = false;
};
/// A named person's word against a rule of the dish.
struct WordGiven {
  std::string by;
  PanId pan{};
  std::string step;
  std::string about;  ///< "rest cut short by 0:35".
};
struct PortionPlated {
  PanId pan{};
  PlateKey plate;
  std::int64_t at_ms = 0;
  bool inferred = false;
};
struct PlateGone {
  PlateKey plate;
  std::int64_t at_ms = 0;
};
struct PlateBack {
  PlateKey plate;
  std::int64_t at_ms = 0;
};
struct PlateBlocked {
  PlateKey plate;
  std::string component;
  std::string allergen;
};
struct PlateCleared {
  PlateKey plate;
  std::string by;
};
/// What blocked the plate is cooked again.
struct PlateUnblocked {
  PlateKey plate;
  std::string component;
};
/// All plates of the course have left: the spread between the first and the last.
struct CourseGone {
  TicketId ticket{};
  std::string course;
  std::int64_t at_ms = 0;
  std::int64_t spread_ms = 0;
  std::int64_t late_ms = 0;  ///< Against the meet in force; negative when early.
};
struct RefireOrdered {
  PlateKey plate;
  std::vector<std::string> components;
  std::string reason;
};

/// A portion in the pan is another plate's now; the table that gave it gets a new one.
struct PortionLent {
  PanId pan{};
  PlateKey from;
  PlateKey to;
};

/// An instant that time alone brought.
enum class Mark {
  usual,     ///< A step has taken its usual time.
  most,      ///< It has taken more than it ever should.
  rest_min,  ///< The rest is long enough.
  rest_max,  ///< The rest has become too long.
  keep_low,  ///< A finished component will not keep much longer.
  keep_end   ///< Its window has shut.
};
BOOST_DESCRIBE_ENUM(Mark, usual, most, rest_min, rest_max, keep_low, keep_end)
struct Marked {
  PanId pan{};
  std::string step;  ///< Empty for keep_low and keep_end.
  int round = 0;
  Mark mark = Mark::usual;
  std::int64_t at_ms = 0;
};

enum class AlertKind {
  step_over,    ///< A step runs beyond its most: the station's hands are wanted.
  rest_over,    ///< A rest has passed its maximum.
  keep_low,     ///< A finished component must leave soon.
  window_shut,  ///< A finished component is past its keep.
  allergy,      ///< A plate holds what its guest must not meet.
  sold_out,     ///< Something ordered is off.
  chill_late,   ///< A batch will not be cold in time as it stands.
  batch_ends,   ///< A batch that is made again in service must be made now.
  place_warm    ///< A place batches are kept in is at fault.
};
BOOST_DESCRIBE_ENUM(AlertKind, step_over, rest_over, keep_low, window_shut, allergy, sold_out, chill_late, batch_ends,
                    place_warm)
struct AlertRaised {
  AlertId alert{};
  AlertKind kind = AlertKind::step_over;
  std::string station;  ///< Whose hands it wants; empty: the pass.
  PanId pan{};          ///< 0: none.
  std::string step;
  int round = 0;
  PlateKey plate;  ///< ticket 0: none.
  std::int64_t at_ms = 0;
  std::optional<std::string> batch = {};  ///< Or the place, for place_warm.
};
struct AlertAcknowledged {
  AlertId alert{};
  std::string by;
};
struct AlertShelved {
  AlertId alert{};
  std::int64_t until_ms = 0;
  std::string by;
};
struct AlertUnshelved {
  AlertId alert{};
};
/// Nobody at the station answered: the pass is told.
struct AlertEscalated {
  AlertId alert{};
};
struct AlertCleared {
  AlertId alert{};
  std::string why;
};
/// The table has gone: what was written about its guests in free words (note, changes) is let go of. The journal then
/// keeps the chain without them.
struct WordsDropped {
  TicketId ticket{};
};

BOOST_DESCRIBE_STRUCT(ServiceOpened, (), (name, version, document, unchecked, by))
BOOST_DESCRIBE_STRUCT(ServiceClosed, (), ())
BOOST_DESCRIBE_STRUCT(HandsSet, (), (station, person, present))
BOOST_DESCRIBE_STRUCT(LeftSet, (), (dish, left))
BOOST_DESCRIBE_STRUCT(TicketSent, (), (ticket, version, order))
BOOST_DESCRIBE_STRUCT(PlateChanged, (), (ticket, course, plate))
BOOST_DESCRIBE_STRUCT(AllergyTold, (), (ticket, position, allergies))
BOOST_DESCRIBE_STRUCT(TicketCancelled, (), (ticket, reason))
BOOST_DESCRIBE_STRUCT(PositionsMoved, (), (from, to, moves))
BOOST_DESCRIBE_STRUCT(TableChanged, (), (ticket, table))
BOOST_DESCRIBE_STRUCT(TicketSplit, (), (ticket, into, table))
BOOST_DESCRIBE_STRUCT(TicketMerged, (), (ticket, into))
BOOST_DESCRIBE_STRUCT(TablePaused, (), (ticket, why, until_ms))
BOOST_DESCRIBE_STRUCT(TableResumed, (), (ticket))
BOOST_DESCRIBE_STRUCT(PaceAsked, (), (ticket, minutes))
BOOST_DESCRIBE_STRUCT(ClearGuessed, (), (ticket, course, clear_ms, sd_ms))
BOOST_DESCRIBE_STRUCT(BookingsTaken, (), (bookings))
BOOST_DESCRIBE_STRUCT(PanOpened, (), (pan, component, station, version, plates, allergies, refire))
BOOST_DESCRIBE_STRUCT(LetterGiven, (), (pan, letter))
BOOST_DESCRIBE_STRUCT(PanDropped, (), (pan, why))
BOOST_DESCRIBE_STRUCT(PortionsMoved, (), (from, to, plates))
BOOST_DESCRIBE_STRUCT(PortionFreed, (), (pan, plate, why))
BOOST_DESCRIBE_STRUCT(CourseFired, (), (ticket, course, meet_ms))
BOOST_DESCRIBE_STRUCT(CourseUnfired, (), (ticket, course))
BOOST_DESCRIBE_STRUCT(CourseHeld, (), (ticket, course))
BOOST_DESCRIBE_STRUCT(CourseReleased, (), (ticket, course, meet_ms))
BOOST_DESCRIBE_STRUCT(MeetMoved, (), (ticket, course, meet_ms))
BOOST_DESCRIBE_STRUCT(StepStarted, (), (pan, step, round, at_ms, inferred))
BOOST_DESCRIBE_STRUCT(StepEnded, (), (pan, step, round, at_ms, inferred))
BOOST_DESCRIBE_STRUCT(Pressed, (), (station, pan, step, round, begun))
BOOST_DESCRIBE_STRUCT(StepReopened, (), (pan, step, round, begun))
BOOST_DESCRIBE_STRUCT(CueMet, (), (pan, word, rounds, at_ms, inferred))
BOOST_DESCRIBE_STRUCT(WordGiven, (), (by, pan, step, about))
BOOST_DESCRIBE_STRUCT(PortionPlated, (), (pan, plate, at_ms, inferred))
BOOST_DESCRIBE_STRUCT(PlateGone, (), (plate, at_ms))
BOOST_DESCRIBE_STRUCT(PlateBack, (), (plate, at_ms))
BOOST_DESCRIBE_STRUCT(PlateBlocked, (), (plate, component, allergen))
BOOST_DESCRIBE_STRUCT(PlateCleared, (), (plate, by))
BOOST_DESCRIBE_STRUCT(PlateUnblocked, (), (plate, component))
BOOST_DESCRIBE_STRUCT(CourseGone, (), (ticket, course, at_ms, spread_ms, late_ms))
BOOST_DESCRIBE_STRUCT(RefireOrdered, (), (plate, components, reason))
BOOST_DESCRIBE_STRUCT(PortionLent, (), (pan, from, to))
BOOST_DESCRIBE_STRUCT(Marked, (), (pan, step, round, mark, at_ms))
BOOST_DESCRIBE_STRUCT(AlertRaised, (), (alert, kind, station, pan, step, round, plate, at_ms, batch))
BOOST_DESCRIBE_STRUCT(AlertAcknowledged, (), (alert, by))
BOOST_DESCRIBE_STRUCT(AlertShelved, (), (alert, until_ms, by))
BOOST_DESCRIBE_STRUCT(AlertUnshelved, (), (alert))
BOOST_DESCRIBE_STRUCT(AlertEscalated, (), (alert))
BOOST_DESCRIBE_STRUCT(AlertCleared, (), (alert, why))
BOOST_DESCRIBE_STRUCT(WordsDropped, (), (ticket))

using Happening = std::variant<
    ServiceOpened, ServiceClosed, HandsSet, LeftSet, TicketSent, PlateChanged, AllergyTold, TicketCancelled,
    PositionsMoved, TableChanged, TicketSplit, TicketMerged, TablePaused, TableResumed, PaceAsked, ClearGuessed,
    BookingsTaken, PanOpened, LetterGiven, PanDropped, PortionsMoved, PortionFreed, CourseFired, CourseUnfired,
    CourseHeld, CourseReleased, MeetMoved, StepStarted, StepEnded, Pressed, StepReopened, CueMet, WordGiven,
    PortionPlated, PlateGone, PlateBack, PlateBlocked, PlateCleared, PlateUnblocked, CourseGone, RefireOrdered,
    PortionLent, Marked, AlertRaised, AlertAcknowledged, AlertShelved, AlertUnshelved, AlertEscalated, AlertCleared,
    WordsDropped, RulesAdopted, BatchMade, BatchSplit, BatchMoved, BatchOpened, UseBySet, BatchLabelled, BatchCounted,
    ReadingTaken, ReadingCorrected, ChillBegun, ChillJudged, OutsideSet, BatchBlocked, BatchReheated, BatchThrown,
    BatchKept, BatchNoted, BatchDrawn, BatchReturned, DrawnUntraced, BatchEnded, BatchPast, PlaceJudged, ProbeChecked,
    HandoverWritten, HandoverAnswered, BatchRecooked, PowerCut, PowerBack, CutJudged>;

/// Whether the event belongs to the record (batch_event.hpp), which outlives its service.
bool concerns_record(const Happening& happening);

/// A happening with the kitchen time at which the line took it in.
struct Event {
  Instant at{};
  Happening what;
};

}  // namespace nappe::line
