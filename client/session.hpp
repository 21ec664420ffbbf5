#pragma once
// The client's side of the socket protocol (tests/protocol/examples/README.md), without a socket: frames in, frames
// out. So that a link can be cut at any place in a test.

#include <functional>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "client/clock.hpp"
#include "client/outbox.hpp"

namespace nappe::client {

/// A screen's document as far as it is known.
struct Subscription {
  std::string epoch;
  std::int64_t number = -1;  ///< -1: no document yet.
  nlohmann::json document;
  bool asked = false;  ///< A patch was missed and the server has been asked for what is missing.
};

class Session {
 public:
  /// What the owner wants to hear of. All may be empty.
  struct Hears {
    std::function<void(const std::string& screen)> document;  ///< It changed.
    std::function<void(const Kept&, const std::string& problem, const std::string& code)>
        answer;                                               ///< problem "": done.
    std::function<void(const std::string& problem)> trouble;  ///< A frame of ours could not be used.
    std::function<void()> kept_changed;                       ///< The outbox changed: save it.
  };

  Session(std::string device, std::vector<std::string> screens, Hears hears);

  // --- the link; each returns the frames to send now ---
  std::vector<std::string> opened(double steady_ms);
  std::vector<std::string> received(const std::string& frame, double steady_ms);
  void closed(double steady_ms);
  /// A clock exchange.
  std::vector<std::string> tick(double steady_ms);

  // --- presses ---
  /// Keeps the press and returns the frames to send (none while the link is down).
  Result<std::vector<std::string>> press(Kept kept);
  void restore(Outbox outbox) { outbox_ = std::move(outbox); }
  [[nodiscard]] const Outbox& outbox() const { return outbox_; }

  [[nodiscard]] const KitchenClock& clock() const { return clock_; }
  [[nodiscard]] const Subscription* screen(const std::string& name) const;
  /// Subscribes to a further screen.
  std::vector<std::string> add_screen(const std::string& name);
  [[nodiscard]] bool up() const { return up_; }
  [[nodiscard]] bool ever_up() const { return ever_up_; }
  /// Kitchen time when the link went; nothing while it is up or before it ever was.
  [[nodiscard]] std::optional<Instant> alone_since() const { return alone_since_; }

 private:
  std::string subscribe_frame(const std::string& name) const;
  std::vector<std::string> command_frames(bool everything);
  void take_document(const nlohmann::json& frame);
  std::vector<std::string> take_patch(const nlohmann::json& frame);
  void take_answer(const nlohmann::json& frame, bool refused);

  std::string device_;
  std::map<std::string, Subscription> screens_;
  Hears hears_;
  Outbox outbox_;
  KitchenClock clock_;
  bool up_ = false;
  bool ever_up_ = false;
  std::optional<Instant> alone_since_;
};

}  // namespace nappe::client
