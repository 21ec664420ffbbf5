#include "client/outbox.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace nappe::client {

using Json = nlohmann::json;

std::string command_text(const Kept& kept) {
  Json out;
  out["id"] = kept.id;
  out["by"] = kept.by;
  out["at_ms"] = kept.at_ms;
  out["do"] = Json::parse(kept.ask.action);
  return out.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Status Outbox::add(Kept kept) {
  if (kept_.size() >= kept_max) {
    return Error{Errc::too_many, "too many presses are waiting for the server: this one was not kept"};
  }
  kept_.push_back(std::move(kept));
  return Done{};
}

bool Outbox::drop_unsent(const std::string& item) {
  for (auto it = kept_.rbegin(); it != kept_.rend(); ++it) {
    if (it->ask.item != item) continue;
    if (it->sent) return false;
    kept_.erase(std::next(it).base());
    return true;
  }
  return false;
}

std::vector<std::string> Outbox::to_send(bool everything) {
  std::vector<std::string> out;
  for (Kept& kept : kept_) {
    if (kept.sent && !everything) continue;
    kept.sent = true;
    out.push_back(command_text(kept));
  }
  return out;
}

std::optional<Kept> Outbox::answered(const std::string& id) {
  const auto found = std::find_if(kept_.begin(), kept_.end(), [&](const Kept& kept) { return kept.id == id; });
  if (found == kept_.end()) return {};
  Kept out = std::move(*found);
  kept_.erase(found);
  return out;
}

std::string Outbox::save() const {
  std::string out;
  for (const Kept& kept : kept_) {
    Json line{{"id", kept.id},         {"by", kept.by},         {"at_ms", kept.at_ms},   {"do", kept.ask.action},
              {"says", kept.ask.says}, {"item", kept.ask.item}, {"undo", kept.ask.undo}, {"sent", kept.sent}};
    out += line.dump(-1, ' ', false, Json::error_handler_t::replace) + "\n";
  }
  return out;
}

Outbox Outbox::load(const std::string& text, std::size_t* unreadable) {
  Outbox out;
  std::size_t bad = 0;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    const Json line = Json::parse(text.substr(at, end - at), nullptr, false);
    at = end + 1;
    try {
      // `sent` is what the file last said; a press may have gone out since, so it counts as sent.
      Kept kept{line.at("id"), line.at("by"), line.at("at_ms"),
                Ask{line.at("do"), line.at("says"), line.at("item"), line.at("undo")}, true};
      if (!Json::parse(kept.ask.action, nullptr, false).is_object()) throw std::runtime_error("not an action");
      out.kept_.push_back(std::move(kept));
    } catch (const std::exception&) {
      ++bad;
    }
  }
  if (unreadable != nullptr) *unreadable = bad;
  return out;
}

}  // namespace nappe::client
