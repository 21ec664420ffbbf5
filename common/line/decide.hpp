#pragma once
// Shared by the files that decide commands. Internal to the line.

#include <functional>
#include <string>
#include <vector>

#include "common/line/line.hpp"
#include "common/line/press.hpp"

namespace nappe::line {

using Happenings = std::vector<Happening>;
using Decision = Result<Happenings>;

/// The command being decided.
struct Asked {
  const State& state;
  std::string by;
  Instant at{};  ///< When the key was pressed, never after `now`.
  Instant now{};
};

// --- looking things up, with a sentence when they are not there

struct Found {
  const Ticket* ticket = nullptr;
  const Course* course = nullptr;
};
Result<const Ticket*> ticket_of(const State& state, TicketId id);
Result<Found> course_of(const State& state, TicketId id, const std::string& course);
Result<const Pan*> pan_of(const State& state, PanId id);
/// "mains of table 8"
std::string course_text(const Found& found);
/// "position 4 of table 8"
std::string position_text(const Ticket& ticket, int position);

// --- pans

/// Opens pans as the plates of a course need them, numbering from `next` on.
class PanOpener {
 public:
  explicit PanOpener(const State& state) : state_(state), next_(state.pans_made) {}
  /// All components of these plates of a ticket: one pan for each component and set of allergies, split by its cap.
  void open_course(const Ticket& ticket, const std::string& course, const std::vector<Wanted>& plates, Happenings& out);
  /// One component for one plate.
  PanId open_one(const Ticket& ticket, const PlateKey& plate, const std::string& component, bool refire,
                 Happenings& out);
  /// One component for these plates, in one pan.
  PanId open(const Ticket& ticket, const std::string& component, const std::vector<PlateKey>& plates,
             const std::vector<std::string>& allergies, bool refire, Happenings& out);

 private:
  const State& state_;
  std::uint32_t next_;
};

/// The plate's portion leaves the pan: the pan is dropped with it when it was the last one.
void free_portion(const Pan& pan, const PlateKey& plate, const std::string& why, Happenings& out);

/// A course that is just being fired, with its meet.
struct Firing {
  CourseKey course;
  Instant meet{};
};

/// As line.hpp says; `fired` (or null) counts as fired already.
Status may_join(const State& state, const Pan& from, const Pan& into, const Firing* fired);

/// Puts the portions of these pans of a course being fired into pans of fired courses that may take them. The pans that
/// stay their own.
std::vector<const Pan*> share_pans(const State& state, const std::vector<const Pan*>& pans, const Firing& fired,
                                   Happenings& out);

/// The course's portions leave the unbegun pans they share with others, where `apart` says so, for pans of their own.
void unshare_pans(const State& state, const Ticket& ticket, const CourseKey& course,
                  const std::function<bool(const Pan&)>& apart, Happenings& out);

/// Letters for pans that have none, smallest free one first, by station and vessel.
void give_letters(const State& state, const std::vector<const Pan*>& pans, Happenings& out);

// --- one function for each action

Decision decide_on(const Asked& asked, const OpenService& action);
Decision decide_on(const Asked& asked, const CloseService& action);
Decision decide_on(const Asked& asked, const SetHands& action);
Decision decide_on(const Asked& asked, const SetLeft& action);
Decision decide_on(const Asked& asked, const SendTicket& action);
Decision decide_on(const Asked& asked, const ChangePlate& action);
Decision decide_on(const Asked& asked, const TellAllergy& action);
Decision decide_on(const Asked& asked, const CancelTicket& action);
Decision decide_on(const Asked& asked, const Fire& action);
Decision decide_on(const Asked& asked, const Hold& action);
Decision decide_on(const Asked& asked, const Release& action);
Decision decide_on(const Asked& asked, const MoveMeet& action);
Decision decide_on(const Asked& asked, const Gone& action);
Decision decide_on(const Asked& asked, const BringBack& action);
Decision decide_on(const Asked& asked, const Refire& action);
Decision decide_on(const Asked& asked, const ClearPlate& action);
Decision decide_on(const Asked& asked, const StartStep& action);
Decision decide_on(const Asked& asked, const FinishStep& action);
Decision decide_on(const Asked& asked, const OneMore& action);
Decision decide_on(const Asked& asked, const ItsThere& action);
Decision decide_on(const Asked& asked, const PlatePortion& action);
Decision decide_on(const Asked& asked, const Undo& action);
Decision decide_on(const Asked& asked, const JoinPans& action);
Decision decide_on(const Asked& asked, const Acknowledge& action);
Decision decide_on(const Asked& asked, const Shelve& action);

}  // namespace nappe::line
