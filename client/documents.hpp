#pragma once
// The screens' documents as the client reads them (common/wire/screens.hpp says what each member means). Lenient: a
// member of another type counts as absent, so that a newer server never blanks a screen.

#include <map>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "common/time.hpp"

namespace nappe::client {

struct Service {
  std::string name;
  bool open = false;
  Duration utc_offset{};
  std::optional<Instant> closed = {};  ///< When it ended; nothing: it has not, or there was none.
};

struct Person {
  std::string id;
  std::string name;
  bool present = true;
};

struct CueWords {
  std::string look, sound, taste, too_far;
  std::optional<double> core_c;
};

struct RoundsOf {
  int usual = 1, min = 1, max = 1;
  std::string word;
  bool can_end = false;
};

struct RestOf {
  Instant from, min, max;
};

/// One move of the hand list.
struct Item {
  std::string key;
  int pan = 0;
  std::string letter, vessel, step;
  int round = 0;
  std::string move, what;
  int n = 0;
  std::string tables, words, change, how;
  Instant at, soonest;
  Duration takes{};
  std::string state;  ///< "coming", "ready" or "doing".
  std::optional<Instant> started, usual, most;
  std::string over;  ///< "", "usual" or "most".
  std::optional<CueWords> cue;
  std::optional<RoundsOf> rounds;
  std::optional<RestOf> rest;
  bool plate = false, guess = false, allergy = false;
};

struct HeatItem {
  int pan = 0;
  std::string letter, what;
  int n = 0;
  std::string tables, doing, kind;
  Instant from, next;
  std::string then;
  std::optional<Instant> max;
  std::string over;
};

struct StandingPan {
  std::string what;
  int n = 0;
  std::string tables;
  Instant since;
  std::optional<Instant> until;
};

struct AlertLine {
  std::string key;
  int alert = 0;
  std::string says, wanted;  ///< What is wrong; the hand movement or decision.
  Instant since;
  bool answered = false, escalated = false;
  std::optional<Instant> shelved_until;
  int rank = 0;
};

struct StationScreen {
  Service service;
  std::string id, name;
  std::vector<Person> hands;
  std::string next;                   ///< Key into `list`; empty: nothing to do.
  std::vector<Item> list;             ///< By latest start, then key.
  std::vector<HeatItem> heat;         ///< By when a hand is wanted.
  std::vector<StandingPan> standing;  ///< By the end of its keep.
  Duration behind{};
  bool nobody = false;  ///< There is work, and nobody here.
  std::optional<Instant> behind_from;
  std::string behind_table;
  std::vector<std::string> waits;
  std::string undo_what;
  std::optional<Instant> undo_until;
  std::vector<AlertLine> alerts;  ///< By rank.
  std::map<Instant, double> load;
  std::string colour;
  std::optional<Instant> quiet_since;  ///< Nobody has pressed since; the list guesses.

  [[nodiscard]] const Item* find(const std::string& key) const;
};

struct Thread {
  std::string key;
  int pan = 0;
  std::string what, letter, station;
  int n = 0;
  std::string state;  ///< "waiting", "going", "resting" or "ready".
  Instant from, to;
  bool can_wait = false, cue_open = false;
  std::optional<Instant> rest_min, rest_max, until;
  std::string shared, words, over;
};

struct PlateLine {
  int position = 0;
  std::string dish, name, state;  ///< "cooking", "standing", "gone" or "blocked".
  std::optional<Instant> until;
  std::string words, change, missing;
  std::vector<std::pair<std::string, std::string>> parts;  ///< Components that can be cooked again, with their names.
};

struct CourseLine {
  std::string key;  ///< "<ticket>-<course>"
  int ticket = 0;
  std::string table, room;
  Duration walk{};
  std::string course, name;
  int order = 0, covers = 0;
  std::string state;  ///< "waiting", "fired", "held" or "gone".
  std::optional<Instant> meet, expected, word, could, gone;
  Duration drift{}, spread{};
  std::string pull;
  std::vector<Thread> threads;  ///< The pull first, then by expected arrival, latest first.
  std::vector<PlateLine> plates;
  std::string note;
  std::map<std::string, std::string> allergies;
  std::string pause;  ///< Its table: "speech", "up" or empty.
  std::optional<Instant> pause_until;
  int hands = 0;                   ///< To carry what is here; 0: nothing is.
  std::vector<std::string> trips;  ///< In the order they are carried.
  std::optional<Instant> call;     ///< When the hands are called.
  std::optional<Instant> latest;   ///< The last meet at which nothing begun is thrown.
  std::string latest_what;
};

struct StandingLine {
  std::string key;
  int ticket = 0;
  std::string table, course;
  int up = 0, of = 0;
  std::optional<Instant> until;
  Duration walk{};
  std::string missing;
  bool send_now = false;  ///< Waiting for the rest would cost what stands.
};

/// Who could lend a portion of a component, until when.
struct LendLine {
  std::string component, what, table;
  int ticket = 0;
  Instant until{};
};

struct ShortLine {
  std::string name, table;
  Duration behind{};
  std::optional<Instant> from;
  bool nobody = false;  ///< There is work, and nobody there: how late it is cannot be said.
};

struct OffLine {
  std::string name;
  int left = 0;
};

/// A table that is booked again and cannot be free by then.
struct WantedLine {
  std::string table, says;
  Instant booked{}, free{};
};

struct StationLine {
  std::string id, name;
  int order = 0;
  double hands = 0;
  std::vector<Person> people;
};

struct PassScreen {
  Service service;
  std::vector<StationLine> stations;   ///< In the kitchen's order.
  std::vector<CourseLine> courses;     ///< Of all tables, in no order that matters to people.
  std::vector<StandingLine> standing;  ///< By seconds left.
  std::vector<ShortLine> hands_short;  ///< Where nobody stands, then most behind first.
  std::map<std::string, std::map<Instant, double>> load;
  std::vector<OffLine> off;
  std::vector<LendLine> lend;
  std::vector<WantedLine> wanted;  ///< By their bookings.
  std::vector<AlertLine> alerts;
  std::string colour;

  [[nodiscard]] const CourseLine* find(const std::string& key) const;
};

StationScreen read_station(const nlohmann::json& document);
PassScreen read_pass(const nlohmann::json& document);
/// The tables wanted again of a pass or floor document.
std::vector<WantedLine> read_wanted(const nlohmann::json& document);

}  // namespace nappe::client
