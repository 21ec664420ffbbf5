#pragma once
// Keys, and the tables that say what each does: one table per screen is both the binding and its help.

#include <string_view>
#include <vector>

namespace nappe::client {

/// A key as the terminal gives it: a letter, or one of those without one.
enum class Special { none, enter, up, down, left, right, escape, f1, interrupt };
struct Key {
  char32_t letter = 0;
  Special special = Special::none;
  friend bool operator==(const Key&, const Key&) = default;
};
constexpr Key key(char32_t letter) { return {letter, Special::none}; }
constexpr Key key(Special special) { return {0, special}; }

/// What a key asks for.
enum class Act {
  none,
  quit,
  help,
  back,  ///< Closes what lies over the screen; drops a choice.
  done,  ///< Station: the move in the big letters (or the chosen one) is done; in rounds: one more.
  one_more,
  its_there,
  insist,  ///< Says again what was refused, with "sure".
  hands,   ///< Who is here.
  answer,  ///< Answers the alert that is shown,
  shelve,  ///< or puts it off for five minutes.
  choose_up,
  choose_down,
  fire,    ///< Pass: fire the chosen course.
  hold,    ///< Hold it, or release it when it is held.
  later,   ///< Its meet a minute later,
  sooner,  ///< or sooner.
  gone,    ///< It left the pass, all but the marked positions.
  bring_back,
  speech,      ///< It is a speech: asks how long.
  table_up,    ///< Its table is up; again: it sits.
  slower,      ///< The table wants to go slower,
  faster,      ///< or faster.
  cook_again,  ///< The marked plate again: asks why.
  clear,       ///< A named person clears the marked plate.
  carry,       ///< How it is carried.
  split,       ///< The marked positions become a ticket with a meet of their own.
  digit        ///< A number: a person in the hands list, a position at the pass.
};

struct Binding {
  Key key;
  Act act;
  std::string_view name;  ///< How the key is written on the screen; empty: it has a better-known twin.
  std::string_view does;  ///< The line of help.
};

const std::vector<Binding>& station_keys();
const std::vector<Binding>& pass_keys();

/// The act of a key in a table; digits are `digit` in both.
Act act_of(const std::vector<Binding>& table, Key key);

}  // namespace nappe::client
