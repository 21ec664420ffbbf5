#include "common/rehearse/helped.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string_view>

namespace nappe::rehearse {
namespace {

// Two standard errors: less than that is not told apart from luck.
constexpr double told_apart = 2.0;

std::string percent(Estimate share) { return fmt::format("{:.1f} % (±{:.1f})", 100 * share.mean, 100 * share.error); }

std::string points(Estimate difference) {
  return fmt::format("{:.1f} points (±{:.1f})", 100 * std::abs(difference.mean), 100 * difference.error);
}

std::vector<const StationSummary*> by_worst(const Summary& summary) {
  std::vector<const StationSummary*> out;
  for (const StationSummary& station : summary.stations)
    if (station.works) out.push_back(&station);
  std::stable_sort(out.begin(), out.end(), [](const auto* a, const auto* b) { return a->worst.mean > b->worst.mean; });
  return out;
}

bool cooked_at(const kitchen::Kitchen& kitchen, const kitchen::Dish& dish, const std::string& station) {
  return std::any_of(dish.parts.begin(), dish.parts.end(), [&](const kitchen::Part& part) {
    const auto* component = kitchen.find_component(part.component);
    return component != nullptr && component->station == station;
  });
}

bool may_go(const Stage& stage, const kitchen::Dish& dish) {
  for (const CourseMix& mix : stage.mix)
    if (mix.course == dish.course)
      return mix.shares.size() > 1 &&
             std::any_of(mix.shares.begin(), mix.shares.end(), [&](const auto& one) { return one.first == dish.id; });
  return false;
}

void add_hands(const Stage& stage, const Variant& base, const std::vector<const StationSummary*>& stations,
               std::vector<Variant>& out) {
  for (std::size_t i = 0; i < stations.size(); ++i) {
    const StationSummary& station = *stations[i];
    if (i >= 2 && station.over.mean < 0.01) continue;
    const auto people = stage.kitchen->find_station(station.id)->people.size();
    Variant one = base;
    one.name = fmt::format("another pair of hands at {}", station.name);
    one.hands[station.id] = static_cast<int>(people) + 1;
    out.push_back(std::move(one));
  }
}

void add_later_bookings(const Stage& stage, const Variant& base, const StationSummary& tight,
                        std::vector<Variant>& out) {
  // Their first courses are in hand about a quarter-hour after they came; the two largest of those count most.
  std::vector<const kitchen::Booking*> then;
  for (const kitchen::Booking& booking : stage.sheet.bookings) {
    const Duration before = tight.fullest - (stage.midnight + booking.at);
    if (before >= Duration::zero() && before <= minutes(30)) then.push_back(&booking);
  }
  std::stable_sort(then.begin(), then.end(), [](const auto* a, const auto* b) { return a->covers > b->covers; });
  if (then.size() > 2) then.resize(2);
  if (then.empty()) return;
  Variant one = base;
  std::vector<std::string> tables;
  for (const auto* booking : then) {
    one.moved[booking->id] += slot_length;
    tables.push_back(fmt::format("table {} ({})", booking->table, hour_text(stage, stage.midnight + booking->at)));
  }
  one.name = fmt::format("{} booked a quarter-hour later", fmt::join(tables, " and "));
  out.push_back(std::move(one));
}

// One night or course in twenty is what "carries it" still allows.
std::string_view verdict(const Summary& summary) {
  constexpr double allowed = 0.05;
  const bool full = std::any_of(summary.stations.begin(), summary.stations.end(),
                                [](const StationSummary& one) { return one.works && one.over.mean > allowed; });
  if (full) return "the line is full at times";
  return summary.late.mean > allowed ? "no station is full, but courses go late" : "the line carries it";
}

std::string load_sentence(const Stage& stage, const StationSummary& station) {
  return fmt::format(
      "{}: on {} of nights some quarter-hour wants more than {:.0f} % of its hands; the worst one wants {} on average, "
      "and {} is fullest.",
      station.name, percent(station.over), 100 * full_load, percent(station.worst), hour_text(stage, station.fullest));
}

std::string change_sentence(const Change& change) {
  const bool late = std::abs(change.late.mean) > told_apart * change.late.error && change.late.mean != 0;
  const bool past = std::abs(change.past.mean) > told_apart * change.past.error && change.past.mean != 0;
  std::string text = fmt::format("With {}: ", change.name);
  if (!late && !past) return text + fmt::format("no difference that {} nights could tell from luck.", change.nights);
  if (late) text += fmt::format("{} {} of courses late", points(change.late), change.late.mean < 0 ? "fewer" : "more");
  if (late && past) text += ", ";
  if (past)
    text += fmt::format("{} {} of components past their window", points(change.past),
                        change.past.mean < 0 ? "fewer" : "more");
  return text + ".";
}

void dying_sentence(const Summary& summary, std::vector<std::string>& out) {
  std::vector<const ComponentSummary*> worst;
  for (const ComponentSummary& component : summary.components)
    if (component.past.mean > 0.01) worst.push_back(&component);
  std::stable_sort(worst.begin(), worst.end(),
                   [](const auto* a, const auto* b) { return a->past.mean > b->past.mean; });
  if (worst.size() > 3) worst.resize(3);
  std::vector<std::string> parts;
  for (const auto* component : worst)
    parts.push_back(fmt::format("{} {} (it keeps {}, stands {:.0f} s)", component->name, percent(component->past),
                                span_text(from_seconds(component->keep_s)), component->standing.mean));
  if (!parts.empty()) out.push_back(fmt::format("Most often past their window: {}.", fmt::join(parts, "; ")));
}

}  // namespace

std::string hour_text(const Stage& stage, Instant at) {
  const auto in = std::chrono::duration_cast<std::chrono::minutes>(at - stage.midnight).count();
  return fmt::format("{:02}:{:02}", in / 60 % 24, in % 60);
}

std::vector<Variant> changes_worth_trying(const Stage& stage, const Variant& base, const Summary& summary) {
  std::vector<Variant> out;
  const auto stations = by_worst(summary);
  if (stations.empty()) return out;
  add_hands(stage, base, stations, out);
  const StationSummary& tight = *stations.front();
  for (const kitchen::Component& component : stage.kitchen->components) {
    if (component.station != tight.id || component.groups.empty() || component.groups.front().min < 2) continue;
    Variant one = base;
    const int ahead = std::min(component.groups.front().usual / 2, component.groups.front().min - 1);
    one.name = fmt::format("{} rounds of {} done ahead", ahead, component.name);
    one.fewer_rounds[component.id] += ahead;
    out.push_back(std::move(one));
  }
  for (const kitchen::Dish& dish : stage.kitchen->dishes) {
    if (!cooked_at(*stage.kitchen, dish, tight.id) || !may_go(stage, dish)) continue;
    Variant one = base;
    one.name = fmt::format("{} off", dish.name);
    one.without.push_back(dish.id);
    out.push_back(std::move(one));
  }
  add_later_bookings(stage, base, tight, out);
  return out;
}

std::vector<std::string> in_sentences(const Stage& stage, const Summary& summary, const std::vector<Change>& changes) {
  std::vector<std::string> out;
  if (summary.unfinished > 0)
    out.push_back(
        fmt::format("In {} of {} nights plates were still missing ten hours after the last booking: a station without "
                    "hands, equipment too small for a pan, or far too much to do.",
                    summary.unfinished, summary.nights));
  const StationSummary* tight = summary.tightest();
  if (tight == nullptr) return out;
  out.push_back(fmt::format("{} covers, {} nights: {}; {} is tightest.", summary.covers, summary.nights,
                            verdict(summary), tight->name));
  for (const auto* station : by_worst(summary))
    if (station == tight || station->over.mean >= 0.01) out.push_back(load_sentence(stage, *station));
  out.push_back(
      fmt::format("{} of courses go more than five minutes after the first word given; from fire to gone takes "
                  "{:.1f} min (±{:.1f}) on average.",
                  percent(summary.late), summary.wait.mean, summary.wait.error));
  out.push_back(fmt::format("{} of courses are gone by the first word given; it is meant for {:.0f} %.",
                            percent(summary.kept), 100 * stage.kitchen->settings.word_chance));
  out.push_back(fmt::format("{} of components are past their window; plates of a course are {:.0f} s (±{:.0f}) apart.",
                            percent(summary.past), summary.spread.mean, summary.spread.error));
  dying_sentence(summary, out);
  std::vector<const Change*> order;
  for (const Change& change : changes) order.push_back(&change);
  std::stable_sort(order.begin(), order.end(),
                   [](const auto* a, const auto* b) { return a->late.mean < b->late.mean; });
  if (!order.empty() && order.front()->late.mean < -told_apart * order.front()->late.error)
    out.push_back(fmt::format("What would help most against lateness: {}.", order.front()->name));
  for (const auto* change : order) out.push_back(change_sentence(*change));
  return out;
}

}  // namespace nappe::rehearse
