#pragma once
// Screens as documents. A screen is one JSON document, rebuilt from state and plan after every event; the server sends
// the difference as an RFC 7396 merge patch. So collections are objects keyed by id, never arrays of objects, and a
// value that is not there is left out (null would delete it). Instants are absolute, in milliseconds since 1970
// (`_ms`); lengths of time are milliseconds too (`takes_ms`). A client counts by its own corrected clock; nothing here
// counts down.
//
// Example documents with every member stand in tests/protocol/examples/ (station.json, pass.json); tests hold the
// builder, the terminal and the page to them.
//
// clang-format off
// STATION SCREEN "station:<id>"
//   service  {name, open, closed_ms?, utc_offset_minutes}   what the house's clocks show is UTC plus this
//   station  {id, name}
//   hands    person id -> {name, counts, present}
//   next     key into `list` of the one thing the hands should do now; absent: nothing to do
//   list     "p<pan>.<step>[.<round>]" -> item. Order: by `at_ms`, then by key. Item:
//     pan, letter, vessel, step, round          what a command must name
//     move, what, n, tables                     "ladle", "emmer", 4, "10, 12"
//     words?                                    capitals: "CLEAN PAN, NO MILK, position 2"; the first thing to read
//     change?, how?                             a guest's change; a line of instruction
//     at_ms                                     latest start (the hand list's order); give = at_ms - now
//     soonest_ms                                cannot begin before; takes_ms: usual length
//     state    "coming" (what comes before still runs) | "ready" (may begin now) | "doing" (begun)
//     started_ms?, usual_ms?, most_ms?          of a begun step: began, has taken its usual time, has taken too long
//     over?    "usual" | "most"                 it has
//     cue?     {look?, sound?, taste?, too_far?, core_c?}
//     rounds?  {usual, min, max, word, can_end} on the first step of a round, and on the step behind the rounds while
//              their cue has not been pressed (then one more is still possible); can_end: show ONE MORE and IT'S THERE
//     rest?    {from_ms, min_ms, max_ms}        it ends this rest (instants)
//     plate?   true                             a plating move
//     guess?   true                             the line guesses that this is where the pan is
//     allergy? true                             some portion is for a guest with an allergy
//     batch?   "emulsion"                       pan 0: a batch of this kind is to be made again; no step to press
//   heat     "p<pan>" -> {pan, letter, what, n, tables, doing, kind: "wait"|"rest", from_ms, next_ms, then, max_ms,
//            over?}
//            every begun wait with no hands on it; next_ms: when a hand is next wanted
//   standing "p<pan>" -> {what, n, tables, since_ms, until_ms}   finished here, not gone yet
//   quiet_since_ms?   nobody has pressed here since: the list follows the plan, and guesses
//   behind   {ms, from_ms?, table?, nobody?: true}   ms 0: not behind; nobody: there is work, and nobody here
//   waits    station id -> sentence             who waits for whom ("larder waits for emmer A")
//   undo?    {what, until_ms}                   the last press can be taken back
//   alerts   "a<alert>" -> alert (below), those that want this station
//   colour?  the one coloured thing: "next" or "a<alert>"
//
// PASS SCREEN "pass"
//   service, stations: station id -> {name, order, hands, people: person id -> {name, counts, present}}
//   tables   "<ticket>" -> {ticket, table, covers, room, walk_ms, sent_ms, note?, allergies?: position -> "GLUTEN",
//            joined?: "3, 6"         tables pushed together     order?: ticket it was split from
//            pause?: {why: "speech"|"up", since_ms, until_ms?}  pace_minutes?: asked to go slower (< 0: faster)
//            courses: course id -> course}
//   course   {name, order, covers, state: "waiting"|"fired"|"held"|"gone",
//             meet_ms?      promised (fired, held)           expected_ms?  now expected
//             drift_ms?     expected after promised, >= 0    word_ms?      what to tell the floor
//             could_ms?     waiting: when it could meet among all others: fired now, or when its table is clear
//             clear_ms?     waiting: a guess of when that is; clear_sd_ms?: it is the house's own, give or take
//             latest_ms?, latest_what?   the last meet at which nothing begun is thrown, and what sets it
//             carry?        {hands, call_ms?, trips: "01" -> "1 hogget, 3 pollack"}: plates still here; a plate with an
//                           allergy alone, in the last trips; hands are called at call_ms
//             gone_ms?, spread_ms?
//             pull?         key into threads: what sets the time
//             threads: "p<pan>" -> thread, plates: "<position>" -> plate}
//   thread   {pan, what, letter, station, n, state: "waiting"|"going"|"resting"|"ready",
//             from_ms, to_ms     begun or latest start; expected on the plate
//             can_wait?: true    not begun and has give      cue_open?: true   ends by a cue that has not come
//             rest? {min_ms, max_ms} (instants)              until_ms? ready: its keep ends
//             shared? "10, 12"   tables in the same pan      words?, over?: "usual"|"most"}
//   plate    {dish, name, state: "cooking"|"standing"|"gone"|"blocked", since_ms?, until_ms? (less the walk),
//             words?, change?, missing?: "turnips (garnish), loin (sauce)", blocked?: component -> "emmer holds wheat",
//             parts?: component -> its name, what can be cooked again alone (fired and gone)
//             borrowed?, lent?: component -> "loin from table 11", "loin lent to table 5"}
//   standing "<ticket>-<course>" -> {ticket, table, course, up, of, hands, until_ms?, walk_ms, missing?,
//             send_now?: true               waiting for the rest would cost what stands}
//   lend     component id -> {what, ticket, table, until_ms}        who could lend a portion (no allergies), until when
//   short    station id -> {name, behind_ms, from_ms, table} of those that are behind; where there is work
//            and nobody stands {name, nobody: true, table?}; table: the first that waits for it
//   load     station id -> {slot start ms as text -> share 0..}     the next hour, five-minute slots, where > 0
//   off      dish id -> {name, left}
//   wanted   "<table>-<booked_ms>" -> {ticket, table, booked_ms, covers, course, leaves_ms, free_ms, says}
//            tables that are booked again and cannot be free by then; gone when it no longer holds. leaves_ms: when
//            the last course left, or the word for it
//   alerts   "a<alert>" -> alert, those for the pass and those that came to it
//   colour?  "a<alert>" or "<ticket>-<course>"
//
// FLOOR SCREEN "floor"
//   service, courses: course id -> {name, order}
//   dishes   dish id -> {name, letter, course, order, left?, parts?} the card; left: portions nobody has been promised;
//            parts: component id -> its name, of what a guest may go without
//   tables   table id -> {seats, room, walk_ms, order}
//   tickets  "<ticket>" -> {ticket, table, covers, sent_ms, note?, pause?, order?,
//            courses: course id -> {state, word_ms?, clear_ms?, gone_ms?}   word_ms: what to tell the table; while the
//                     course waits the word it would get if it were fired now, or when its table is clear
//            positions: "<position>" -> {plates?: course id -> "hogget, sauce beside", allergies?: "GLUTEN",
//                       wanted?: course id -> {dish, left_off?: component id -> name, change?}}}
//   wanted   as on the pass
//
// ALERT      {alert, kind, says, do, since_ms, answered, escalated, shelved_until_ms?, rank, station?, pan?, table?}
//            `says` what is wrong, `do` the hand movement or decision; lower rank first.
//            also? "a<alert>" -> what follows from it, or what it sums up (the pass only)
// clang-format on

#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "common/line/state.hpp"
#include "common/plan/plan.hpp"
#include "common/result.hpp"

namespace nappe::wire {

/// The names of all screens of this state: "pass", "floor", then "station:<id>" in the kitchen's order. Before
/// the first opening only "pass" and "floor".
std::vector<std::string> screen_names(const line::State& state);

/// All screens of a state, and until when they stay as they are.
struct Screens {
  std::map<std::string, nlohmann::json> documents;  ///< By name.
  /// The first instant at which time alone changes a document (a move may begin, its give runs out, a course that has
  /// gone leaves the screen); nothing when none will. Until then the same state and plan give the same documents.
  std::optional<Instant> changes_at;
};
Screens build_screens(const line::State& state, const plan::Plan& plan, Instant now);

/// The document of one screen as JSON text; `unknown` if there is no such screen.
Result<std::string> screen_document(const line::State& state, const plan::Plan& plan, const std::string& screen,
                                    Instant now);

}  // namespace nappe::wire
