#pragma once
// What a screen knows besides its document: the link, what was pressed, what was answered. Plain data.

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "client/documents.hpp"
#include "client/keys.hpp"
#include "common/time.hpp"

namespace nappe::client {

/// What the screen asks of the line: an action of common/line/command.hpp as the JSON text of "do".
struct Ask {
  std::string action;              ///< {"finish_step":{...}}
  std::string says;                ///< What the person meant, for the line that shows the answer: "ladle emmer A".
  std::string item;                ///< The hand-list item or course it is about; may be empty.
  bool undo = false;               ///< Takes the last press back; if that has not been sent yet it is simply dropped.
  std::optional<Instant> at = {};  ///< Kitchen time of the press when it is another than now.
};

/// The link to the server, as the screen says it.
struct Link {
  bool up = false;
  bool ever = false;  ///< It was up once since the start.
  std::optional<Instant> alone_since;
  std::size_t kept = 0;  ///< Presses not yet answered.
  std::string trouble;   ///< Why there is no document ("no station 'x' here"), one sentence.
};

/// One sentence for some seconds.
struct Notice {
  std::string text;
  std::int64_t until_ms = 0;  ///< On the client's steady clock: it is a person who reads.
  bool refused = false;
  bool may_insist = false;  ///< `insist` would say it again.
};

/// A press that the same key can still take back.
struct LastPress {
  Key key;
  std::string item;
  std::string says;
  Instant at{};
  std::int64_t steady_ms = 0;  ///< The same on the client's own clock: the chance to undo is a person's time.
};

enum class Over { nothing, help, hands, speech, reasons, carry };

struct StationModel {
  std::string station;
  std::string by;
  std::optional<StationScreen> screen;
  Link link;
  Notice notice;
  std::set<std::string> pressed;  ///< Items pressed and not answered yet.
  std::optional<LastPress> last;
  std::optional<Ask> refused;  ///< What `insist` would say again.
  std::string chosen;          ///< An item picked by arrows; empty: the line's `next`.
  std::int64_t chosen_until_ms = 0;
  Over over = Over::nothing;
  int page = 0;  ///< Of what lies over the screen.
  bool quit = false;
};

/// What is cooked again, while it is being said.
struct Again {
  std::set<std::string> parts;  ///< Components; empty: all of the plate.
  bool fresh = false;           ///< New, although another table could lend.
};

struct PassModel {
  std::string by;
  std::optional<PassScreen> screen;
  Link link;
  Notice notice;
  std::optional<Ask> refused;
  std::string chosen;                    ///< Key of a course.
  std::set<int> staying;                 ///< Positions marked to stay when the chosen course goes.
  std::map<std::string, Instant> moved;  ///< Course -> the meet asked for and not answered yet.
  Over over = Over::nothing;
  int page = 0;  ///< Of what lies over the screen.
  Again again;
  bool quit = false;
};

/// Both clocks at one moment: the kitchen's, and the client's own steady one.
struct Times {
  Instant kitchen{};
  std::int64_t steady_ms = 0;
};

/// How long a speech may be guessed, and why a plate is cooked again: what a number chooses at the pass.
const std::vector<int>& speech_minutes();
const std::vector<std::string>& reasons_again();

/// A part of what is cooked again, with the letter that means it.
struct PartChoice {
  char32_t letter = 0;
  std::string id, name;
};
/// The parts of the one marked plate; empty when none or several are marked.
std::vector<PartChoice> parts_again(const PassModel& model);
/// Who could lend what is to be cooked again of the marked plate, as it is said now.
std::vector<const LendLine*> lenders(const PassModel& model, Instant now);

/// Whether a refusal says that it can be insisted on.
bool can_insist(const std::string& problem);

/// What a key does: changes the model and says what to ask of the line.
std::vector<Ask> press(StationModel& model, Key key, Times now);
std::vector<Ask> press(PassModel& model, Key key, Times now);

/// The line's answer to an ask. `problem` empty: done.
void answered(StationModel& model, const Ask& ask, const std::string& problem, bool may_insist, Times now);
void answered(PassModel& model, const Ask& ask, const std::string& problem, bool may_insist, Times now);

/// A new document.
void received(StationModel& model, StationScreen screen);
void received(PassModel& model, PassScreen screen);

/// Drops what time has ended: notices, choices, the chance to undo.
void passed(StationModel& model, Times now);
void passed(PassModel& model, Times now);

/// The item the big letters show: the chosen one, else the line's next, else the first not pressed yet.
const Item* in_hand(const StationModel& model);

/// The courses in the order the pass reads them: fired and held by when they are expected, then what could be fired,
/// then what left within the last minutes (to bring it back).
std::vector<const CourseLine*> in_order(const PassModel& model, Instant now);

}  // namespace nappe::client
