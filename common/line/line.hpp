#pragma once
// The line: a pure state machine. decide() says what a command would make happen, elapse() what time alone makes
// happen, apply() makes one event true. Replaying a journal is a loop over apply().

#include <optional>
#include <vector>

#include "common/line/command.hpp"
#include "common/line/event.hpp"
#include "common/line/state.hpp"
#include "common/result.hpp"

namespace nappe::line {

/// What the command would make happen now. Reads the state, changes nothing.
/// `command.at` (when the key was pressed) dates what the cook did; it is taken as no later than `now` and no earlier
/// than what it follows. Refusals are one sentence for the person who pressed.
Result<std::vector<Event>> decide(const State& state, const Command& command, Instant now);

/// The event by which these rules (texts of the rule set's file and of the house's own, which may be empty) come to
/// hold; nothing if they hold already. `digest` tells texts apart. `invalid` or `refused` as food::with_house says.
Result<std::optional<Event>> adopt_rules(const State& state, const std::string& rule_set, const std::string& house,
                                         const std::string& digest, Instant now);

/// What time alone makes happen by `now`: marks, alerts, alerts going to the pass, shelves ending.
std::vector<Event> elapse(const State& state, Instant now);

/// When elapse() would next have something to say; nothing while nothing runs.
std::optional<Instant> next_deadline(const State& state);

/// Whether `from` may be cooked in the pan `into`: the same thing, equal allergies, room, before the join point, meets
/// closer than the component keeps. The refusal says why not.
Status may_join(const State& state, const Pan& from, const Pan& into);

/// A portion that another table has in the pan and can spare.
struct Lender {
  PanId pan{};
  PlateKey plate;   ///< Whose it is.
  Duration give{};  ///< How long that table can still wait beyond a new one.
  Instant ready{};  ///< When the portion would be on its plate if nothing has to wait.
};

/// Who could lend this component to a position: the same thing for guests with the same allergies, begun and not yet on
/// a plate, sooner than a new one, of a fired course whose meet leaves time for a new one. Of those the one with most
/// give. `only`: of this ticket.
std::optional<Lender> lender_of(const State& state, const Ticket& ticket, int position, const std::string& component,
                                Instant now, std::optional<TicketId> only = std::nullopt);

/// Makes one event true. The only function that changes a State. An event that does not fit its state (a damaged
/// journal) throws std::logic_error naming it.
void apply(State& state, const Event& event);

/// A fingerprint of everything in the state that people can see or that later events depend on. Two states with the
/// same fingerprint behave alike; used by replay tests and `napped --verify`.
std::string fingerprint(const State& state);

}  // namespace nappe::line
