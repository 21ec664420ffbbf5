#include "client/alert.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

namespace nappe::client {
namespace {

using Json = nlohmann::json;

constexpr Duration put_off_for = minutes(5);

}  // namespace

ShownAlert shown_alert(const std::vector<AlertLine>& alerts, Instant now) {
  ShownAlert out;
  for (const AlertLine& alert : alerts) {
    if (alert.shelved_until && *alert.shelved_until > now) {
      ++out.put_off;
      continue;
    }
    out.open += alert.answered ? 0 : 1;
    if (out.alert == nullptr || (out.alert->answered && !alert.answered)) out.alert = &alert;
  }
  return out;
}

std::vector<Ask> answer_alert(const std::vector<AlertLine>& alerts, Instant now) {
  const AlertLine* alert = shown_alert(alerts, now).alert;
  if (alert == nullptr || alert->answered) return {};
  return {{Json{{"acknowledge", {{"alert", alert->alert}}}}.dump(), "seen: " + alert->says, "", false}};
}

std::vector<Ask> shelve_alert(const std::vector<AlertLine>& alerts, Times now) {
  const AlertLine* alert = shown_alert(alerts, now.kitchen).alert;
  if (alert == nullptr) return {};
  const std::int64_t until = to_ms(now.kitchen + put_off_for);
  return {{Json{{"shelve", {{"alert", alert->alert}, {"until_ms", until}}}}.dump(),
           "put off for 5 minutes: " + alert->says, "", false}};
}

int draw_alert(Grid& grid, int row, int rows_max, const std::vector<AlertLine>& alerts, const std::string& colour,
               Instant now) {
  const ShownAlert shown = shown_alert(alerts, now);
  if (shown.alert == nullptr) return 0;
  const AlertLine& alert = *shown.alert;
  const std::string more = shown.open > 1 ? fmt::format("  ({} more)", shown.open - 1) : "";
  const bool narrow = grid.size().columns < 72;
  const std::string tail = more + (alert.answered ? "  seen" : narrow ? "  [a] [l]" : "  [a] seen  [l] later");
  const Tone tone = alert.key == colour ? Tone::colour : alert.answered ? Tone::dim : Tone::strong;
  const std::string text = fmt::format("{} {}: {}", alert.answered ? " " : "!", alert.says, alert.wanted);
  const int width = grid.size().columns - 2;
  const auto lines = wrapped(text, width);
  const int rows = std::clamp(static_cast<int>(lines.size()), 1, rows_max);
  const int last_room = width - columns_of(tail);
  // The words of the last row share it with the keys; where they do not fit there is another row, or a sign.
  std::size_t at = 0;
  int taken = 0;
  for (; taken < rows - 1; ++taken) grid.put(row + taken, taken == 0 ? 1 : 3, lines[at++], tone, width);
  std::string rest;
  for (; at < lines.size(); ++at) rest += (rest.empty() ? "" : " ") + lines[at];
  const int column = taken == 0 ? 1 : 3;
  if (columns_of(rest) > last_room - column + 1 && taken + 1 < rows_max) {
    const auto again = wrapped(rest, width - column + 1);
    grid.put(row + taken++, column, again.front(), tone, width - column + 1);
    rest.clear();
    for (std::size_t i = 1; i < again.size(); ++i) rest += (rest.empty() ? "" : " ") + again[i];
    const int end = grid.put(row + taken, 3, rest, tone, last_room - 2);
    grid.put(row + taken, end, tail, Tone::dim);
    return taken + 1;
  }
  const int end = grid.put(row + taken, column, rest, tone, last_room - column + 1);
  grid.put(row + taken, end, tail, Tone::dim);
  return taken + 1;
}

}  // namespace nappe::client
