#include "client/keys.hpp"

#include <algorithm>

namespace nappe::client {

const std::vector<Binding>& station_keys() {
  static const std::vector<Binding> table{
      {key(U' '), Act::done, "space", "done; in rounds: one more. The same key again within 3 s: not done"},
      {key(Special::enter), Act::done, "enter", "the same as space"},
      {key(U'm'), Act::one_more, "m", "one more round (or right arrow)"},
      {key(Special::right), Act::one_more, "", ""},
      {key(U't'), Act::its_there, "t", "it's there: the rounds end (or left arrow)"},
      {key(Special::left), Act::its_there, "", ""},
      {key(Special::down), Act::choose_down, "down, up", "choose another move; space then means that one"},
      {key(Special::up), Act::choose_up, "", ""},
      {key(U'!'), Act::insist, "!", "say again what was refused, with your name"},
      {key(U'p'), Act::hands, "p", "who is here: a number turns a person on or off"},
      {key(U'a'), Act::answer, "a", "answer the alert: seen, we see to it"},
      {key(U'l'), Act::shelve, "l", "later: the alert comes back in five minutes"},
      {key(Special::escape), Act::back, "esc", "back"},
      {key(U'h'), Act::help, "h", "this help"},
      {key(U'?'), Act::help, "", ""},
      {key(Special::f1), Act::help, "", ""},
      {key(U'q'), Act::quit, "q", "quit; presses not yet delivered are kept"},
      {key(Special::interrupt), Act::quit, "", ""},
  };
  return table;
}

const std::vector<Binding>& pass_keys() {
  static const std::vector<Binding> table{
      {key(Special::down), Act::choose_down, "down, up", "choose a course"},
      {key(Special::up), Act::choose_up, "", ""},
      {key(U'j'), Act::choose_down, "", ""},
      {key(U'k'), Act::choose_up, "", ""},
      {key(U'f'), Act::fire, "f", "fire the chosen course (or enter)"},
      {key(Special::enter), Act::fire, "", ""},
      {key(U' '), Act::hold, "space", "hold it; again: release it"},
      {key(U'+'), Act::later, "+ -", "its meet a minute later, or sooner"},
      {key(U'='), Act::later, "", ""},
      {key(Special::right), Act::sooner, "", ""},
      {key(Special::left), Act::later, "", ""},
      {key(U'-'), Act::sooner, "", ""},
      {key(U'1'), Act::digit, "1 to 9", "mark a position that stays at the pass"},
      {key(U'g'), Act::gone, "g", "gone: all plates but the marked ones left the pass"},
      {key(U'b'), Act::bring_back, "b", "bring back: they have not left after all"},
      {key(U's'), Act::speech, "s", "a speech: then how long"},
      {key(U'u'), Act::table_up, "u", "the table is up; again: it sits, or the speech is over"},
      {key(U'>'), Act::slower, ">", "the table wants to go slower, by 5 minutes"},
      {key(U'<'), Act::faster, "<", "or faster"},
      {key(U'x'), Act::cook_again, "x", "the marked plate again: all of it or a part, borrowed or new; then why"},
      {key(U'S'), Act::split, "S", "split: the marked positions get a ticket and a meet of their own"},
      {key(U'y'), Act::clear, "y", "clear the marked plate: you answer for it"},
      {key(U'c'), Act::carry, "c", "how it is carried"},
      {key(U'!'), Act::insist, "!", "say again what was refused"},
      {key(U'a'), Act::answer, "a", "answer the alert"},
      {key(U'l'), Act::shelve, "l", "later: the alert comes back in five minutes"},
      {key(Special::escape), Act::back, "esc", "back"},
      {key(U'h'), Act::help, "h", "this help"},
      {key(U'?'), Act::help, "", ""},
      {key(Special::f1), Act::help, "", ""},
      {key(U'q'), Act::quit, "q", "quit"},
      {key(Special::interrupt), Act::quit, "", ""},
  };
  return table;
}

Act act_of(const std::vector<Binding>& table, Key pressed) {
  if (pressed.letter >= U'0' && pressed.letter <= U'9') return Act::digit;
  const auto found = std::find_if(table.begin(), table.end(), [&](const Binding& b) { return b.key == pressed; });
  return found == table.end() ? Act::none : found->act;
}

}  // namespace nappe::client
