// Alerts in words: what is wrong, and the hand movement or decision that mends it.

#include <fmt/format.h>

#include <algorithm>
#include <boost/describe/enum_to_string.hpp>
#include <tuple>

#include "common/line/chain.hpp"
#include "common/wire/screen_view.hpp"

namespace nappe::wire {
namespace {

using line::Alert;
using line::AlertKind;

struct Words {
  std::string says;
  std::string to_do;
};

// What a hand can still change soonest, and what weighs most, first.
int rank_of(AlertKind kind) {
  switch (kind) {
    case AlertKind::allergy:
      return 0;
    case AlertKind::step_over:
      return 1;
    case AlertKind::rest_over:
      return 2;
    case AlertKind::keep_low:
      return 3;
    case AlertKind::window_shut:
      return 4;
    case AlertKind::sold_out:
      return 5;
    case AlertKind::chill_late:
      return 6;
    case AlertKind::batch_ends:
      return 7;
    case AlertKind::place_warm:
      return 8;
  }
  return 9;
}

// "table 8", "tables 10, 12"
std::string tables_text(const PanView& pan) {
  if (pan.tables.empty()) return "it";
  return fmt::format("{} {}", pan.tables.find(',') == std::string::npos ? "table" : "tables", pan.tables);
}

std::string at_tables(const PanView& pan) { return pan.tables.empty() ? std::string() : ", " + tables_text(pan); }

// The hand that ends this step of the pan: the next one the plan has behind it, or else the next in the sequence.
std::string word_behind(const PanView& pan, const Alert& alert) {
  bool behind = false;
  for (const plan::Slot& slot : *pan.slots) {
    if (behind && slot.by_hand) return pan.step(slot.step).word;
    behind = behind || (pan.step(slot.step).id == alert.step && slot.round == alert.round);
  }
  const auto& steps = pan.component->steps;
  auto at = std::find_if(steps.begin(), steps.end(), [&](const kitchen::Step& step) { return step.id == alert.step; });
  if (at != steps.end()) ++at;
  at = std::find_if(at, steps.end(), [](const kitchen::Step& step) { return step.by_hand(); });
  return at == steps.end() ? "go on" : at->word;
}

Words step_over(const PanView& pan, const Alert& alert) {
  const kitchen::Step* step = pan.component->find_step(alert.step);
  if (step == nullptr) return {fmt::format("{} takes too long{}", pan.name(), at_tables(pan)), "look at it now"};
  const std::string most = span_text(std::max(step->usual(pan.n), step->longest(pan.n)));
  if (!step->by_hand()) {
    return {fmt::format("{}: {} for more than {}{}", pan.name(), step->word, most, at_tables(pan)),
            word_behind(pan, alert) + " now"};
  }
  const std::string word = alert.round > 0 ? fmt::format("{} {}", step->word, alert.round) : step->word;
  return {fmt::format("{}: {} not done after {}{}", pan.name(), word, most, at_tables(pan)),
          "finish it, or press it if it is done"};
}

Words rest_over(const PanView& pan, const Alert& alert) {
  const kitchen::Step* step = pan.component->find_step(alert.step);
  if (step == nullptr)
    return {fmt::format("{} has rested too long{}", pan.name(), at_tables(pan)), word_behind(pan, alert) + " now"};
  const std::string says =
      fmt::format("{} has rested more than {}{}", pan.name(), span_text(step->rest_max), at_tables(pan));
  if (step->rest_past.empty()) return {says, fmt::format("{} now, or cook it again", word_behind(pan, alert))};
  return {says, fmt::format("{}; then {}", step->rest_past, word_behind(pan, alert))};
}

// The longest walk of the tables it is for: it must leave that much earlier.
Duration walk_of(const View& view, const PanView& pan) {
  Duration walk{};
  for (const line::CourseKey& course : pan.courses) {
    const line::Ticket* ticket = view.state().find_ticket(course.ticket);
    if (ticket != nullptr) walk = std::max(walk, view.state().kitchen_of(*ticket).walk_to(ticket->table));
  }
  return walk;
}

// What its courses still wait for, apart from itself.
std::string waited_for(const View& view, const PanView& pan) {
  std::vector<std::string> texts;
  for (const line::CourseKey& course : pan.courses) {
    for (const PanView* other : view.pans_of(course)) {
      if (other->pan->finished) continue;
      std::string text = fmt::format("{} ({})", other->component->name, view.station_name(other->pan->station));
      if (std::find(texts.begin(), texts.end(), text) == texts.end()) texts.push_back(std::move(text));
    }
  }
  return fmt::format("{}", fmt::join(texts, ", "));
}

Words keep_low(const View& view, const PanView& pan) {
  const std::string says =
      fmt::format("{} must leave by {}{}", pan.name(), view.clock(keep_end(pan) - walk_of(view, pan)), at_tables(pan));
  const std::string missing = waited_for(view, pan);
  if (missing.empty()) return {says, fmt::format("send {} now", tables_text(pan))};
  return {says, fmt::format("send without {}, or cook {} again", missing, pan.component->name)};
}

Words window_shut(const View& view, const PanView& pan) {
  const Duration again = line::chain_time(*pan.component, pan.n);
  return {fmt::format("{} is past its keep since {}{}", pan.name(), view.clock(keep_end(pan)), at_tables(pan)),
          fmt::format("cook it again ({}), or send it on your word", span_text(again))};
}

Words allergy(const View& view, const Alert& alert, const line::Ticket& ticket) {
  const line::Plate* plate = view.state().find_plate(alert.plate);
  const std::string who = fmt::format("table {} position {}", ticket.table, alert.plate.position);
  const std::string to_do = fmt::format(
      "keep the plate here: cook position {} again, change its dish, or clear it by name", alert.plate.position);
  if (plate == nullptr || plate->blocked.empty()) return {who + " must not have this plate", to_do};
  std::string holds;
  for (const auto& [component, allergen] : plate->blocked) {
    const auto* known = view.state().kitchen_of(ticket).find_component(component);
    holds +=
        fmt::format("{}{} holds {}", holds.empty() ? "" : ", ", known == nullptr ? component : known->name, allergen);
  }
  return {fmt::format("{}, {}: {}", who, no_words(ticket.allergies_of(alert.plate.position)), holds), to_do};
}

Words sold_out(const View& view, const Alert& alert, const line::Ticket& ticket) {
  const line::Plate* plate = view.state().find_plate(alert.plate);
  const auto* dish = plate == nullptr ? nullptr : view.state().kitchen_of(ticket).find_dish(plate->wanted.dish);
  return {fmt::format("{} is off, table {} position {} wants it", dish == nullptr ? "a dish" : dish->name, ticket.table,
                      alert.plate.position),
          fmt::format("ask table {} to choose again", ticket.table)};
}

// The first sentence of what the readings say; what to do stands beside it once.
Words chill_late(const line::Batch& batch) {
  std::string says = batch.chilling ? batch.chilling->says : std::string();
  says = says.substr(0, says.find(". "));
  if (!says.empty() && says.back() == '.') says.pop_back();
  if (says.empty()) says = "Will not be cold in time";
  says.front() = static_cast<char>(std::tolower(static_cast<unsigned char>(says.front())));
  return {fmt::format("{}: {}", batch.id, says), "split it, stir it or use ice, and read it again"};
}

Words batch_ends(const View& view, const line::Batch& batch) {
  return {fmt::format("{} ends at {}", batch.name, view.clock(batch.use_by)),
          fmt::format("make {} again now", batch.name)};
}

// About a batch or a place, if it is there.
std::optional<Words> words_of_record(const View& view, const Alert& alert) {
  const std::string what = alert.batch.value_or("");
  if (alert.kind == AlertKind::place_warm)
    return Words{fmt::format("{}: three readings outside the limit in a row", what),
                 "shut it, read again, and look at what is in it"};
  const line::Batch* batch = view.state().record().find(what);
  if (batch == nullptr) return {};
  if (alert.kind == AlertKind::chill_late) return chill_late(*batch);
  if (alert.kind == AlertKind::batch_ends) return batch_ends(view, *batch);
  return {};
}

/// The last one has been promised: who takes orders must hear it before the next table chooses. `step` is the dish.
Words nobody_can_have(const View& view, const Alert& alert) {
  const auto* dish = view.state().kitchen == nullptr ? nullptr : view.state().kitchen->find_dish(alert.step);
  const std::string name = dish == nullptr ? alert.step : dish->name;
  return {fmt::format("the last {} is promised", name), fmt::format("tell the floor that {} is off", name)};
}

Words words_of(const View& view, const Alert& alert, const PanView* pan, const line::Ticket* ticket) {
  switch (alert.kind) {
    case AlertKind::step_over:
      if (pan != nullptr) return step_over(*pan, alert);
      break;
    case AlertKind::rest_over:
      if (pan != nullptr) return rest_over(*pan, alert);
      break;
    case AlertKind::keep_low:
      if (pan != nullptr) return keep_low(view, *pan);
      break;
    case AlertKind::window_shut:
      if (pan != nullptr) return window_shut(view, *pan);
      break;
    case AlertKind::allergy:
      if (ticket != nullptr) return allergy(view, alert, *ticket);
      break;
    case AlertKind::sold_out:
      if (ticket != nullptr) return sold_out(view, alert, *ticket);
      return nobody_can_have(view, alert);
    case AlertKind::chill_late:
    case AlertKind::batch_ends:
    case AlertKind::place_warm:
      if (const auto words = words_of_record(view, alert)) return *words;
      break;
  }
  // Its pan or ticket has left in the meantime; the line takes the alert back by itself.
  return {"what this was about has left the line", "nothing: it goes by itself"};
}

bool is_shelved(const View& view, const Alert& alert) {
  return alert.shelved_until && !view.reached(*alert.shelved_until);
}

}  // namespace

nlohmann::json alert_json(const View& view, const Alert& alert, bool for_pass) {
  const PanView* pan = view.find_pan(alert.pan);
  const line::Ticket* ticket = view.state().find_ticket(alert.plate.ticket);
  Words words = words_of(view, alert, pan, ticket);
  if (for_pass && !alert.station.empty()) {
    words.to_do = fmt::format("{}: {}", view.station_name(alert.station), words.to_do);
  }
  nlohmann::json out = {{"alert", line::number(alert.id)},
                        {"kind", boost::describe::enum_to_string(alert.kind, "")},
                        {"says", words.says},
                        {"do", words.to_do},
                        {"since_ms", to_ms(alert.raised)},
                        {"answered", alert.answered},
                        {"escalated", alert.escalated},
                        {"rank", rank_of(alert.kind)}};
  if (is_shelved(view, alert)) out["shelved_until_ms"] = to_ms(*alert.shelved_until);
  if (!alert.station.empty()) out["station"] = alert.station;
  if (line::number(alert.pan) != 0) out["pan"] = line::number(alert.pan);
  if (ticket != nullptr) {
    out["table"] = ticket->table;
  } else if (pan != nullptr && !pan->tables.empty()) {
    out["table"] = pan->tables;
  }
  return out;
}

bool still_so(const View& view, const Alert& alert) {
  if (alert.kind != AlertKind::step_over && alert.kind != AlertKind::rest_over) return true;
  const PanView* pan = view.find_pan(alert.pan);
  const line::Run* run = pan == nullptr ? nullptr : pan->pan->running();
  return run != nullptr && run->round == alert.round && pan->step(run->step).id == alert.step;
}

std::string coloured_alert(const View& view, const std::vector<const Alert*>& alerts) {
  const Alert* best = nullptr;
  const auto order = [](const Alert& a) { return std::tuple(rank_of(a.kind), a.raised, a.id); };
  for (const Alert* alert : alerts) {
    if (alert->answered || is_shelved(view, *alert)) continue;
    if (best == nullptr || order(*alert) < order(*best)) best = alert;
  }
  return best == nullptr ? std::string() : fmt::format("a{}", line::number(best->id));
}

}  // namespace nappe::wire
