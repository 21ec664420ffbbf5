#include "common/wire/screens.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "common/wire/parse.hpp"
#include "common/wire/screen_view.hpp"

namespace nappe::wire {
namespace {

constexpr std::string_view pass_name = "pass";
constexpr std::string_view floor_name = "floor";
constexpr std::string_view station_prefix = "station:";

}  // namespace

std::vector<std::string> screen_names(const line::State& state) {
  std::vector<std::string> names{std::string(pass_name), std::string(floor_name)};
  if (state.kitchen == nullptr) return names;
  for (const kitchen::Station& station : state.kitchen->stations) {
    names.push_back(fmt::format("{}{}", station_prefix, station.id));
  }
  return names;
}

Result<std::string> screen_document(const line::State& state, const plan::Plan& plan, const std::string& screen,
                                    Instant now) {
  if (screen == pass_name) return write_json(pass_screen(View(state, plan, now)));
  if (screen == floor_name) return write_json(floor_screen(View(state, plan, now)));
  const bool is_station = screen.compare(0, station_prefix.size(), station_prefix) == 0;
  const auto* station = !is_station || state.kitchen == nullptr
                            ? nullptr
                            : state.kitchen->find_station(screen.substr(station_prefix.size()));
  if (station != nullptr) return write_json(station_screen(View(state, plan, now), *station));
  return Error{
      Errc::unknown, fmt::format("There is no such screen; there are {}.", fmt::join(screen_names(state), ", ")), {}};
}

Screens build_screens(const line::State& state, const plan::Plan& plan, Instant now) {
  const View view(state, plan, now);
  Screens screens;
  screens.documents.emplace(pass_name, pass_screen(view));
  screens.documents.emplace(floor_name, floor_screen(view));
  if (state.kitchen != nullptr) {
    for (const kitchen::Station& station : state.kitchen->stations) {
      screens.documents.emplace(fmt::format("{}{}", station_prefix, station.id), station_screen(view, station));
    }
  }
  screens.changes_at = view.changes_at();
  return screens;
}

}  // namespace nappe::wire
