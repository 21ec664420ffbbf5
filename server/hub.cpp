#include "server/hub.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "server/metrics.hpp"
#include "server/problem.hpp"

namespace nappe::server {

namespace {

constexpr std::string_view station_prefix = "station:";
constexpr std::size_t screen_name_max = 80;

bool can_be_screen(const std::string& name) {
  return name.size() <= screen_name_max && name.starts_with(station_prefix) && name.size() > station_prefix.size();
}

}  // namespace

Status Hub::subscribe(Subscriber& subscriber, const std::string& screen, const std::string& epoch,
                      std::int64_t number) {
  const auto names = board_.names();
  const bool opened =
      std::any_of(names.begin(), names.end(), [](const std::string& name) { return can_be_screen(name); });
  if (!board_.has(screen) && (opened || !can_be_screen(screen))) {
    std::string known;
    for (const std::string& name : board_.names()) known += (known.empty() ? "" : ", ") + name;
    return Error{Errc::unknown, "there is no screen \"" + screen + "\"; there are: " + known, "/screen"};
  }
  watching_[screen].insert(&subscriber);
  if (!board_.has(screen)) return Done{};
  const auto frames = board_.catch_up(screen, epoch, number);
  for (const Frame& frame : frames) subscriber.push(frame);
  metrics_.frames_sent(frames.size());
  return Done{};
}

void Hub::unsubscribe(Subscriber& subscriber, const std::string& screen) {
  const auto found = watching_.find(screen);
  if (found == watching_.end()) return;
  found->second.erase(&subscriber);
  if (found->second.empty()) watching_.erase(found);
}

void Hub::tell_all(const Frame& frame) {
  for (Subscriber* subscriber : everybody_) subscriber->push(frame);
  metrics_.frames_sent(everybody_.size());
}

void Hub::leave(Subscriber& subscriber) {
  everybody_.erase(&subscriber);
  for (auto at = watching_.begin(); at != watching_.end();) {
    at->second.erase(&subscriber);
    at = at->second.empty() ? watching_.erase(at) : std::next(at);
  }
}

Result<bool> Hub::show(const std::string& screen, nlohmann::json document) {
  const auto frame = board_.show(screen, std::move(document));
  if (!frame) return frame.error();
  if (!*frame) return false;
  if (const auto found = watching_.find(screen); found != watching_.end()) {
    for (Subscriber* subscriber : found->second) subscriber->push(*frame);
    metrics_.frames_sent(found->second.size());
  }
  return true;
}

void Hub::keep_only(const std::vector<std::string>& screens) {
  for (const std::string& name : board_.names()) {
    if (std::find(screens.begin(), screens.end(), name) != screens.end()) continue;
    board_.remove(name);
    const auto found = watching_.find(name);
    if (found == watching_.end()) continue;
    const nlohmann::json gone = {
        {"type", "error"},
        {"problem", problem_of(Error{Errc::unknown, "screen \"" + name + "\" is no more: the kitchen has changed"})}};
    const auto frame = std::make_shared<const std::string>(gone.dump());
    for (Subscriber* subscriber : found->second) subscriber->push(frame);
    watching_.erase(found);
  }
}

}  // namespace nappe::server
