#pragma once
// Parts of the pass's document that stand for themselves. Internal to common/wire.

#include "common/wire/screen_view.hpp"

namespace nappe::wire {

/// How the plates of a course that are still here are carried: {hands, call_ms?, trips}. Two plates to a pair of hands,
/// a plate with an allergy alone, last up and first down (common practice, no source).
nlohmann::json carry_json(const View& view, const line::Ticket& ticket, const line::Course& course, Duration walk);
/// Pairs of hands for so many plates, of which `alone` are carried alone.
int hands_to_carry(int plates, int alone);

/// {why, since_ms, until_ms?} of a table that cannot be served now.
nlohmann::json pause_json(const line::Pause& pause);

/// The latest meet at which nothing that is begun for this course is thrown, and what sets it; nothing when nothing is
/// begun.
struct LatestMeet {
  Instant at{};
  std::string what;
};
std::optional<LatestMeet> latest_meet(const View& view, const line::CourseKey& course);

/// Fills `alerts` and `colour` of the pass's document, whose tables are there already: each cause once, with what
/// follows from it in `also`; ten at once as one sentence.
void add_pass_alerts(const View& view, nlohmann::json& screen);

/// "<table>-<booked_ms>" -> {ticket, table, booked_ms, covers, course, leaves_ms, free_ms, says}: tables wanted again
/// before they can be free.
nlohmann::json wanted_json(const View& view);

/// component -> {what, ticket, table, until_ms}: who could lend a portion of it, until when.
nlohmann::json lend_json(const View& view);

}  // namespace nappe::wire
