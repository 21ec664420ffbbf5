// The early start of a long component, played: two tables a night, nothing scatters but the eating.
#include <catch2/catch.hpp>
#include <cmath>

#include "common/rehearse/draws.hpp"
#include "common/rehearse/summary.hpp"
#include "tests/rehearse/larkfold_night.hpp"

using namespace nappe;
using namespace nappe::rehearse;

TEST_CASE("a loin begun before the call rests within its window as often as the normal distribution says") {
  // The rest forgives 6 min (8 to 14), eating the starters scatters by 3.5 min: 2 Phi(3/3.5) - 1 = 0.61 of nights fall
  // inside; too short (the plates wait) and too long have 0.195 each.
  auto kitchen = tests::larkfold();
  for (auto& component : kitchen.components)
    for (auto& step : component.steps) step.scatter = 0;
  kitchen.settings.finish_allowance = Duration::zero();
  kitchen::BookingSheet sheet;
  kitchen::Booking booking;
  booking.id = "only";
  booking.at = std::chrono::hours(19);
  booking.table = "5";
  booking.covers = 2;
  booking.orders = {{"starters", {"mackerel", "mackerel"}}, {"mains", {"hogget", "mushroom"}}};
  sheet.bookings.push_back(booking);
  const Stage stage = tests::stage_of(kitchen, sheet);
  Manner manner;
  manner.rule = Rule::alone;
  manner.wait_scatter = 0;
  manner.scatter = 0;
  manner.guests.as_booked = true;
  manner.guests.eats = {{minutes(20), seconds(210)}, {minutes(24), minutes(5)}};
  const auto& components = stage.kitchen->components;
  const auto loin = static_cast<std::size_t>(
      std::find_if(components.begin(), components.end(), [](const auto& c) { return c.id == "loin"; }) -
      components.begin());
  const int nights = 600;
  int late_call = 0;
  int early_call = 0;
  // Once the others are done in their own time, a course that takes longer waited for the rest.
  Duration least = std::chrono::hours(1);
  std::vector<Duration> took;
  for (int night = 0; night < nights; ++night) {
    const NightResult result = play_night(stage, manner, 4, night);
    REQUIRE_FALSE(result.unfinished);
    late_call += result.components[loin].past;
    for (const auto& course : result.courses)
      if (course.course == "mains") {
        took.push_back(course.gone - course.fired);
        least = std::min(least, took.back());
      }
  }
  REQUIRE(took.size() == static_cast<std::size_t>(nights));
  for (const Duration one : took) early_call += one > least + seconds(2) ? 1 : 0;
  const double inside = 1 - static_cast<double>(late_call + early_call) / nights;
  CAPTURE(late_call, early_call, least.count());
  const double theory = centred_chance(minutes(6), seconds(210));
  CHECK(std::abs(inside - theory) < 4 * std::sqrt(theory * (1 - theory) / nights));
}
