#pragma once
// What people ask of the line. A command that does not fit is refused in words and changes nothing.

#include <boost/describe/class.hpp>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "common/line/batch_command.hpp"
#include "common/line/ids.hpp"
#include "common/line/order.hpp"
#include "common/time.hpp"

namespace nappe::line {

// --- the service

/// Opens the service on this version of the kitchen (its document, see kitchen::to_document). During an open service it
/// adopts a new version: tickets already sent keep theirs.
struct OpenService {
  std::string name;
  std::string document;
  /// The line check: what was tasted, probed and counted, and what the house wants checked before it opens (the server
  /// fills this in). While something is missing a named person of the house has to say `sure`.
  std::optional<std::vector<std::string>> checked = {};
  std::optional<std::vector<std::string>> wanted = {};
  bool sure = false;
};
struct CloseService {
  bool sure = false;  ///< Needed while tables are still in the kitchen.
};
/// A person comes to a station or leaves it.
struct SetHands {
  std::string station;
  std::string person;
  bool present = true;
};
/// How many portions of a dish nobody has been promised; nothing given: as many as wanted.
struct SetLeft {
  std::string dish;
  std::optional<int> left;
};

// --- tickets

struct SendTicket {
  Order order;
  bool sure = false;  ///< Needed when the table sent the very same within the last minute.
};
/// Gives a position another dish in a course, adds the position, or (empty dish) takes the plate away.
struct ChangePlate {
  TicketId ticket{};
  std::string course;
  Wanted plate;
  bool sure = false;  ///< Needed when the plate being replaced has been begun.
};
/// A guest's allergy, told at any time; never refused for coming late.
struct TellAllergy {
  TicketId ticket{};
  int position = 0;
  std::vector<std::string> allergies;
};
struct CancelTicket {
  TicketId ticket{};
  std::string reason;
};
/// Sets every plate and tells every allergy that `order` names; what it does not name stays. All of it or nothing.
struct ChangeTicket {
  TicketId ticket{};
  Order order;
  bool sure = false;  ///< Needed when a plate being replaced has been begun.
};

// --- tables and who sits where

/// Guests change seats, alone or to another ticket (`into`). What they ordered and what they must not
/// eat goes with them; what cooks goes on cooking.
struct MovePositions {
  TicketId ticket{};
  std::optional<TicketId> into;
  std::vector<SeatMove> moves;
};
/// All of a ticket sits at another table now.
struct MoveTable {
  TicketId ticket{};
  std::string table;
};
/// These positions become a ticket of their own with a meet of its own; it remembers that it is one order with the
/// first. At another table they sit from position 1 on; without a table they stay where they sit.
struct SplitTable {
  TicketId ticket{};
  std::vector<int> positions;
  std::optional<std::string> table;
};
/// Two tables pushed together: the guests of `ticket` come to `into`, behind its own positions where a number is taken.
struct MergeTables {
  TicketId ticket{};
  TicketId into{};
};
/// Speeches begin: nothing is wanted before they end, in about so many minutes.
struct Speech {
  TicketId ticket{};
  int minutes = 0;
};
/// The guests have left their places: nothing of theirs that is not begun is begun.
struct TableUp {
  TicketId ticket{};
};
/// They sit again, or the speech is over.
struct TableBack {
  TicketId ticket{};
};
/// The table wants to go slower (minutes > 0) or faster (< 0): its meets and the guess of when it will be clear move,
/// never a cooking time.
struct Pace {
  TicketId ticket{};
  int minutes = 0;
};
/// When the table will probably be clear for this course; nothing given: nobody can say.
/// It stands until somebody says otherwise; the house's own guess (kitchen::Eating) gives way to it.
struct GuessClear {
  TicketId ticket{};
  std::string course;
  std::optional<std::int64_t> clear_ms;
};

/// Which tables are booked when tonight. Takes the place of what was known before.
struct TakeBookings {
  std::vector<TableBooking> bookings;
};

// --- the pass

/// Tells the kitchen to make a course meet; without `meet_ms` as soon as its longest component can.
struct Fire {
  TicketId ticket{};
  std::string course;
  std::optional<std::int64_t> meet_ms;
  bool sure = false;  ///< Needed while a course that is eaten before it has not gone.
};
struct Hold {
  TicketId ticket{};
  std::string course;
};
struct Release {
  TicketId ticket{};
  std::string course;
  std::optional<std::int64_t> meet_ms;
};
struct MoveMeet {
  TicketId ticket{};
  std::string course;
  std::int64_t meet_ms = 0;
  bool sure = false;  ///< Needed when something begun does not keep until then.
};
/// Plates left the pass; `but` stay. Proves every step before it. `sure`: also when something seems not to be done.
struct Gone {
  TicketId ticket{};
  std::string course;
  std::vector<int> but;
  bool sure = false;
  std::optional<std::int64_t> went_ms{};  ///< When they really left, if that was before the press.
};
/// Plates that were marked gone and are not. Without positions: all of the course.
struct BringBack {
  TicketId ticket{};
  std::string course;
  std::vector<int> positions;
};
/// Cook a plate's components again (all of them, or those named).
struct Refire {
  TicketId ticket{};
  std::string course;
  int position = 0;
  std::vector<std::string> components;
  std::string reason;
};
/// The same with portions that other tables have in the pan and can spare, and new ones on the list for those tables;
/// what nobody can spare is cooked new. Without a lender whoever has most give lends.
struct Borrow {
  TicketId ticket{};
  std::string course;
  int position = 0;
  std::vector<std::string> components;
  std::string reason;
  std::optional<TicketId> lender;
};
/// A named person says that a plate blocked for an allergy may go after all.
struct ClearPlate {
  TicketId ticket{};
  std::string course;
  int position = 0;
};

// --- the stations

/// The hands begin a step (optional: ending it proves that it began).
struct StartStep {
  PanId pan{};
  std::string step;
  int round = 0;  ///< Within a group of rounds, from 1; 0 elsewhere.
  bool sure = false;
};
/// The step is done. `sure` says again what was refused (a rest cut short), and needs a name in `by`.
struct FinishStep {
  PanId pan{};
  std::string step;
  int round = 0;
  bool sure = false;
};
/// Not there yet: another round.
struct OneMore {
  PanId pan{};
};
/// It's there: the rounds end, the meet becomes firm.
struct ItsThere {
  PanId pan{};
};
/// A component of one plate is on the plate.
struct PlatePortion {
  PanId pan{};
  PlateKey plate;
  bool sure = false;
};
/// Takes back the last press of this station, within the undo time.
struct Undo {
  std::string station;
};
/// Cook two pans as one.
struct JoinPans {
  PanId from{};
  PanId into{};
};

// --- alerts

struct Acknowledge {
  AlertId alert{};
};
struct Shelve {
  AlertId alert{};
  std::int64_t until_ms = 0;
};

BOOST_DESCRIBE_STRUCT(OpenService, (), (name, document, checked, wanted, sure))
BOOST_DESCRIBE_STRUCT(CloseService, (), (sure))
BOOST_DESCRIBE_STRUCT(SetHands, (), (station, person, present))
BOOST_DESCRIBE_STRUCT(SetLeft, (), (dish, left))
BOOST_DESCRIBE_STRUCT(SendTicket, (), (order, sure))
BOOST_DESCRIBE_STRUCT(ChangePlate, (), (ticket, course, plate, sure))
BOOST_DESCRIBE_STRUCT(TellAllergy, (), (ticket, position, allergies))
BOOST_DESCRIBE_STRUCT(CancelTicket, (), (ticket, reason))
BOOST_DESCRIBE_STRUCT(Fire, (), (ticket, course, meet_ms, sure))
BOOST_DESCRIBE_STRUCT(Hold, (), (ticket, course))
BOOST_DESCRIBE_STRUCT(Release, (), (ticket, course, meet_ms))
BOOST_DESCRIBE_STRUCT(MoveMeet, (), (ticket, course, meet_ms, sure))
BOOST_DESCRIBE_STRUCT(ChangeTicket, (), (ticket, order, sure))
BOOST_DESCRIBE_STRUCT(MovePositions, (), (ticket, into, moves))
BOOST_DESCRIBE_STRUCT(MoveTable, (), (ticket, table))
BOOST_DESCRIBE_STRUCT(SplitTable, (), (ticket, positions, table))
BOOST_DESCRIBE_STRUCT(MergeTables, (), (ticket, into))
BOOST_DESCRIBE_STRUCT(Speech, (), (ticket, minutes))
BOOST_DESCRIBE_STRUCT(TableUp, (), (ticket))
BOOST_DESCRIBE_STRUCT(TableBack, (), (ticket))
BOOST_DESCRIBE_STRUCT(Pace, (), (ticket, minutes))
BOOST_DESCRIBE_STRUCT(GuessClear, (), (ticket, course, clear_ms))
BOOST_DESCRIBE_STRUCT(TakeBookings, (), (bookings))
BOOST_DESCRIBE_STRUCT(Borrow, (), (ticket, course, position, components, reason, lender))
BOOST_DESCRIBE_STRUCT(Gone, (), (ticket, course, but, sure, went_ms))
BOOST_DESCRIBE_STRUCT(BringBack, (), (ticket, course, positions))
BOOST_DESCRIBE_STRUCT(Refire, (), (ticket, course, position, components, reason))
BOOST_DESCRIBE_STRUCT(ClearPlate, (), (ticket, course, position))
BOOST_DESCRIBE_STRUCT(StartStep, (), (pan, step, round, sure))
BOOST_DESCRIBE_STRUCT(FinishStep, (), (pan, step, round, sure))
BOOST_DESCRIBE_STRUCT(OneMore, (), (pan))
BOOST_DESCRIBE_STRUCT(ItsThere, (), (pan))
BOOST_DESCRIBE_STRUCT(PlatePortion, (), (pan, plate, sure))
BOOST_DESCRIBE_STRUCT(Undo, (), (station))
BOOST_DESCRIBE_STRUCT(JoinPans, (), (from, into))
BOOST_DESCRIBE_STRUCT(Acknowledge, (), (alert))
BOOST_DESCRIBE_STRUCT(Shelve, (), (alert, until_ms))

using Action =
    std::variant<OpenService, CloseService, SetHands, SetLeft, SendTicket, ChangePlate, TellAllergy, CancelTicket,
                 ChangeTicket, MovePositions, MoveTable, SplitTable, MergeTables, Speech, TableUp, TableBack, Pace,
                 GuessClear, TakeBookings, Fire, Hold, Release, MoveMeet, Gone, BringBack, Refire, Borrow, ClearPlate,
                 StartStep, FinishStep, OneMore, ItsThere, PlatePortion, Undo, JoinPans, Acknowledge, Shelve, MakeBatch,
                 SplitBatch, MixBatches, MoveBatch, OpenBatch, LabelBatch, CountBatch, StartChill, TakeReading,
                 ReheatBatch, ThrowBatch, KeepBatch, NoteBatch, CorrectReading, CheckProbe, WriteHandover,
                 AnswerHandover, RecookBatch, TellPower>;

/// Whether the action concerns the record (batch_command.hpp): it may be asked while no service is open.
bool concerns_record(const Action& action);

/// An action with who asks it and when the key was pressed (which may be long before it arrives).
struct Command {
  std::string id;  ///< Made by the client, unique: a repeated command is answered again and not done again.
  std::string by;  ///< Person or device.
  Instant at{};
  Action action;
  bool stranger = false;  ///< Who answers for it is known not to be of the house: the record says so.
  bool device = false;    ///< Set by the server: a probe by itself, no person.
};

}  // namespace nappe::line
