#include "client/session.hpp"

#include <algorithm>

#include "common/wire/merge_patch.hpp"

namespace nappe::client {
namespace {

using Json = nlohmann::json;

std::string text(const Json& in, const char* name) {
  const auto found = in.find(name);
  return found != in.end() && found->is_string() ? found->get<std::string>() : std::string();
}

double number(const Json& in, const char* name, double otherwise) {
  const auto found = in.find(name);
  return found != in.end() && found->is_number() ? found->get<double>() : otherwise;
}

// What a problem (RFC 9457) says to a person.
std::string detail_of(const Json& frame) {
  const auto problem = frame.find("problem");
  if (problem == frame.end() || !problem->is_object()) return "refused without a reason";
  const std::string detail = text(*problem, "detail");
  return detail.empty() ? text(*problem, "title") : detail;
}

}  // namespace

Session::Session(std::string device, std::vector<std::string> screens, Hears hears)
    : device_(std::move(device)), hears_(std::move(hears)) {
  for (std::string& name : screens) screens_[std::move(name)];
}

std::string Session::subscribe_frame(const std::string& name) const {
  Json frame{{"type", "subscribe"}, {"screen", name}};
  const Subscription& has = screens_.at(name);
  if (has.number >= 0) {
    frame["epoch"] = has.epoch;
    frame["number"] = has.number;
  }
  return frame.dump();
}

std::vector<std::string> Session::command_frames(bool everything) {
  std::vector<std::string> out;
  for (const std::string& command : outbox_.to_send(everything)) {
    out.push_back(R"({"type":"command","command":)" + command + "}");
  }
  return out;
}

std::vector<std::string> Session::opened(double steady_ms) {
  up_ = true;
  ever_up_ = true;
  alone_since_.reset();
  std::vector<std::string> out;
  out.push_back(Json{{"type", "hello"}, {"device", device_}}.dump());
  out.push_back(Json{{"type", "clock"}, {"t1", steady_ms}}.dump());
  for (auto& [name, subscription] : screens_) {
    subscription.asked = false;
    out.push_back(subscribe_frame(name));
  }
  for (std::string& frame : command_frames(true)) out.push_back(std::move(frame));
  return out;
}

void Session::closed(double steady_ms) {
  if (!up_) return;
  up_ = false;
  alone_since_ = clock_.now(steady_ms);
}

std::vector<std::string> Session::tick(double steady_ms) {
  std::vector<std::string> out;
  if (!up_) return out;
  out.push_back(Json{{"type", "clock"}, {"t1", steady_ms}}.dump());
  return out;
}

std::vector<std::string> Session::received(const std::string& text_in, double steady_ms) {
  const Json frame = Json::parse(text_in, nullptr, false);
  if (!frame.is_object()) return {};
  const std::string type = text(frame, "type");
  const auto holds = [&](std::initializer_list<const char*> names) {
    return std::all_of(names.begin(), names.end(), [&](const char* name) {
      const auto found = frame.find(name);
      return found != frame.end() && found->is_number();
    });
  };
  if (type == "welcome" && holds({"now_ms"})) {
    clock_.start(number(frame, "now_ms", 0), number(frame, "rate", 1), steady_ms);
  } else if (type == "clock" && holds({"t1", "t2", "t3"})) {
    clock_.take(
        {number(frame, "t1", 0), number(frame, "t2", 0), number(frame, "t3", 0), steady_ms, number(frame, "rate", 1)});
  } else if (type == "document") {
    take_document(frame);
  } else if (type == "patch") {
    return take_patch(frame);
  } else if (type == "done" || type == "refused") {
    take_answer(frame, type == "refused");
  } else if (type == "error" && hears_.trouble) {
    hears_.trouble(detail_of(frame));
  }
  return {};
}

void Session::take_document(const Json& frame) {
  const auto found = screens_.find(text(frame, "screen"));
  const auto document = frame.find("document");
  if (found == screens_.end() || document == frame.end() || !document->is_object()) return;
  found->second = {text(frame, "epoch"), static_cast<std::int64_t>(number(frame, "number", 0)), *document, false};
  if (hears_.document) hears_.document(found->first);
}

std::vector<std::string> Session::take_patch(const Json& frame) {
  const auto found = screens_.find(text(frame, "screen"));
  const auto patch = frame.find("patch");
  if (found == screens_.end() || patch == frame.end()) return {};
  Subscription& has = found->second;
  const auto next = static_cast<std::int64_t>(number(frame, "number", -1));
  if (next <= has.number) return {};  // Seen already: it came before a fresh document.
  if (has.number < 0 || next != has.number + 1) {
    if (has.asked) return {};
    has.asked = true;
    return {subscribe_frame(found->first)};
  }
  has.asked = false;
  has.document = wire::merge_patch_apply(std::move(has.document), *patch);
  has.number = next;
  if (hears_.document) hears_.document(found->first);
  return {};
}

void Session::take_answer(const Json& frame, bool refused) {
  const auto kept = outbox_.answered(text(frame, "id"));
  if (!kept) return;
  if (hears_.kept_changed) hears_.kept_changed();
  if (!hears_.answer) return;
  const auto problem = frame.find("problem");
  const std::string code = refused && problem != frame.end() && problem->is_object() ? text(*problem, "code") : "";
  hears_.answer(*kept, refused ? detail_of(frame) : std::string(), code);
}

Result<std::vector<std::string>> Session::press(Kept kept) {
  if (kept.ask.undo && outbox_.drop_unsent(kept.ask.item)) {
    if (hears_.kept_changed) hears_.kept_changed();
    return std::vector<std::string>{};
  }
  if (Status added = outbox_.add(std::move(kept)); !added) return added.error();
  std::vector<std::string> frames;
  if (up_) frames = command_frames(false);
  if (hears_.kept_changed) hears_.kept_changed();
  return frames;
}

const Subscription* Session::screen(const std::string& name) const {
  const auto found = screens_.find(name);
  return found == screens_.end() || found->second.number < 0 ? nullptr : &found->second;
}

std::vector<std::string> Session::add_screen(const std::string& name) {
  if (screens_.count(name) != 0) return {};
  screens_[name];
  if (!up_) return {};
  return {subscribe_frame(name)};
}

}  // namespace nappe::client
