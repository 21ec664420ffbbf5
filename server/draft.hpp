#pragma once
// What sending a ticket would mean, before it is sent: when it could be, what to tell the table, whose hands it fills.

#include <nlohmann/json.hpp>

#include "common/line/state.hpp"
#include "common/plan/plan.hpp"
#include "common/result.hpp"

namespace nappe::server {

/// {plates, course, could_ms, word_ms, load: station -> {name, from_ms, before, after, full}, why?, later_ms?} of the
/// order sent and its first course fired now, among all that is fired already; `before` is the plan shown. `could_ms`
/// is what the pass says of that course once it is sent, and what firing it promises; `word_ms` what the floor says of
/// it. `why` is given while the cap on covers keeps it back. `load` names the stations whose fullest slot this ticket
/// raises by a tenth or more, and only slots it raises; `full` when one is lifted above the house's warning. Then
/// `later_ms` is the soonest meet, in steps of five minutes and within forty, at which it lifts none; without it there
/// is none so near. The refusal is the one that sending would get. Changes nothing.
Result<nlohmann::json> draft_document(const line::State& state, const line::Order& order, Instant now,
                                      plan::Planner& planner, const plan::Plan* before);

/// {says, dishes: dish id -> {answer: "yes"|"with_changes"|"no", says}}: who must not meet these allergens can have
/// what, in the words of the floor's screen. An allergen that is not known is refused with the nearest that is.
Result<nlohmann::json> card_document(const kitchen::Kitchen& kitchen, const std::vector<std::string>& allergies);

}  // namespace nappe::server
