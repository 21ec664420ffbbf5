#pragma once
// One device on the socket: reads what it says, writes what waits in its outbox.

#include <boost/asio/steady_timer.hpp>
#include <deque>
#include <functional>
#include <string>

#include "common/time.hpp"
#include "server/access.hpp"
#include "server/hub.hpp"
#include "server/live_message.hpp"
#include "server/rate.hpp"
#include "server/websocket.hpp"

namespace nappe::server {

class Engine;

struct SessionLimits {
  std::size_t outbox_frames_max = 512;  ///< A device further behind is cut off; it resumes when it is back.
  std::size_t outbox_bytes_max = 4U << 20U;
  double commands_per_second = 50;  ///< Over a longer time; refused beyond.
  double commands_at_once = 500;    ///< Presses queued while the link was down arrive together.
  std::size_t bad_frames_max = 20;  ///< Then the device is not speaking our protocol: cut.
};

struct SessionParts {
  Engine& engine;
  Hub& hub;
  Metrics& metrics;
};

/// The first frame on every socket; sent again to all when the kitchen's clock has been set.
Frame welcome_frame(const Hub& hub, const Engine& engine);

class Session final : public Subscriber, public Closable, public Guest, public std::enable_shared_from_this<Session> {
 public:
  Session(std::unique_ptr<WebSocket> socket, DevicePtr device, SessionParts parts, SessionLimits limits);

  /// Lives as long as the connection: the caller owns the session until this returns.
  Task<> run();

  void push(Frame frame) override;
  void close_going_away() override;
  void cut() override;
  [[nodiscard]] const DevicePtr& device() const override { return device_; }
  void pairing_ended() override;

 private:
  Task<> write_loop();
  Task<> say_goodbye();
  void take(const std::string& text, Instant received);
  void handle(const Hello& hello, Instant received);
  void handle(const Subscribe& subscribe, Instant received);
  void handle(const Unsubscribe& unsubscribe, Instant received);
  void handle(const ClockAsked& asked, Instant received);
  void handle(const CommandSent& sent, Instant received);
  void push_text(std::string text);
  void push_error(const Error& error);
  void push_refusal(const std::string& id, const Error& error);
  void cut_for(std::string_view why);

  std::unique_ptr<WebSocket> socket_;
  SessionParts parts_;
  SessionLimits limits_;
  asio::steady_timer wake_;  ///< Never expires: cancelled to wake the writer.
  asio::steady_timer last_;  ///< A device that does not take its goodbye is cut.
  std::deque<Frame> outbox_;
  std::size_t outbox_bytes_ = 0;
  RateLimit commands_;
  std::size_t bad_frames_ = 0;
  DevicePtr device_;
  std::string says_it_is_;  ///< What the device calls itself; for the log only.
  bool closing_ = false;
  bool leaving_ = false;  ///< A goodbye is to be sent when the outbox is empty.
  bool ended_ = false;    ///< The pairing has been ended: nothing more is heard or told.
};

}  // namespace nappe::server
