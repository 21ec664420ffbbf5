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
  const Tone tone = alert.key == colour ? Tone::colour : alert.answered ? Tone::dim : Tone::strong;
  const int width = grid.size().columns - 2;
  const std::string more = shown.open > 1 ? fmt::format("  ({} more)", shown.open - 1) : "";
  const std::string mark = alert.answered ? "  " : "! ";
  const std::string in_full = mark + alert.says + ": " + alert.wanted;
  const std::vector<std::string> tails = alert.answered
                                             ? std::vector<std::string>{"  seen"}
                                             : std::vector<std::string>{"  [a] seen  [l] later", "  [a] [l]"};
  for (const std::string& tail : tails) {
    if (columns_of(in_full + more + tail) > width) continue;
    grid.put(row, grid.put(row, 1, in_full, tone), more + tail, Tone::dim);
    return 1;
  }
  // It has no room in one row: what the hands should do comes first, and only what is said of it may be cut.
  const std::string tail = more + tails.back();
  const auto lines = wrapped(mark + alert.wanted + ": " + alert.says, width - columns_of(tail));
  int taken = 0;
  std::size_t at = 0;
  while (taken + 1 < rows_max && at + 1 < lines.size()) grid.put(row + taken++, 1, lines[at++], tone);
  std::string rest;
  for (; at < lines.size(); ++at) rest += (rest.empty() ? "" : " ") + lines[at];
  const int end = grid.put(row + taken, 1, rest, tone, width - columns_of(tail));
  grid.put(row + taken, end, tail, Tone::dim);
  return taken + 1;
}

}  // namespace nappe::client
