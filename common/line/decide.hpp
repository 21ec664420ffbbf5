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
  bool device = false;  ///< A probe by itself asks, no person.
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

/// What several actions in a row would bring, each decided on what the ones before it made true. All or nothing.
class Trial {
 public:
  explicit Trial(const Asked& asked) : state_(asked.state), by_(asked.by), at_(asked.at), now_(asked.now) {}
  template <class Action>
  Status ask(const Action& action) {
    Decision decision = decide_on(asked(), action);
    if (!decision) return decision.error();
    for (Happening& one : *decision) add(std::move(one));
    return Done{};
  }
  void add(Happening happening) {
    apply(state_, Event{now_, happening});
    out_.push_back(std::move(happening));
  }
  void add(Happenings happenings) {
    for (Happening& one : happenings) add(std::move(one));
  }
  [[nodiscard]] const State& state() const { return state_; }
  [[nodiscard]] Asked asked() const { return Asked{state_, by_, at_, now_}; }
  [[nodiscard]] Happenings take() { return std::move(out_); }

 private:
  State state_;
  std::string by_;
  Instant at_;
  Instant now_;
  Happenings out_;
};

/// What a course of `ticket` shares with another and would stand longer than it keeps when it meets then is cooked
/// apart.
void unshare_far(const State& state, const Ticket& ticket, const CourseKey& course, Instant meet, Happenings& out);

/// Between the first and the last plate of a course complete on the pass; `finished_now`: pans that are being proved
/// done.
Duration spread_of(const Asked& asked, const Found& found, const std::map<PanId, Instant>& finished_now);

/// The course has gone when nothing of it is left here (a plate was taken away, a guest moved): says so.
void close_course(const Asked& asked, const Found& found, Happenings& out);
/// The house's own guess of when the table is clear for its next course, now that this one left at `gone`: with the
/// walk and what the kitchen says of eating. Nothing when it says nothing or a person has said better.
void guess_next_clear(const State& state, const Found& found, Instant gone, Happenings& out);
/// Plates are back or cooked again: takes that guess away, nobody eats what it counted from.
void forget_house_guess(const Found& found, Happenings& out);
/// A course's guess moved to `clear`; whose guess it was stays.
ClearGuessed clear_guessed(TicketId ticket, const Course& course, Instant clear);

/// The components that cooking this plate again means: those named, or all of it. Refuses a component it has not.
Result<std::vector<std::string>> components_again(const State& state, const Found& found, int position,
                                                  const std::vector<std::string>& named);

/// Whether these components can be cooked again for that guest: not when they hold, however they are made, what the
/// guest must not meet.
Status can_be_cooked_again(const State& state, const Found& found, int position,
                           const std::vector<std::string>& components);

/// What is cooked again blocks its plate no longer.
void lift_blocks(const Found& found, const PlateKey& plate, const std::vector<std::string>& components, Trial& trial);

/// Nothing was ordered for these positions in this course: says which.
Status know_positions(const Found& found, const std::vector<int>& positions);

/// Most positions the ticket's tables have.
int seats_of(const State& state, const Ticket& ticket);

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
Decision decide_on(const Asked& asked, const ChangeTicket& action);
Decision decide_on(const Asked& asked, const MovePositions& action);
Decision decide_on(const Asked& asked, const MoveTable& action);
Decision decide_on(const Asked& asked, const SplitTable& action);
Decision decide_on(const Asked& asked, const MergeTables& action);
Decision decide_on(const Asked& asked, const Speech& action);
Decision decide_on(const Asked& asked, const TableUp& action);
Decision decide_on(const Asked& asked, const TableBack& action);
Decision decide_on(const Asked& asked, const Pace& action);
Decision decide_on(const Asked& asked, const GuessClear& action);
Decision decide_on(const Asked& asked, const TakeBookings& action);
Decision decide_on(const Asked& asked, const Borrow& action);
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
