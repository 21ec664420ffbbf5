#include "server/session.hpp"

#include <fmt/format.h>

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <nlohmann/json.hpp>

#include "common/wire/codec.hpp"
#include "common/wire/parse.hpp"
#include "server/engine.hpp"
#include "server/journal.hpp"
#include "server/log.hpp"
#include "server/metrics.hpp"
#include "server/problem.hpp"
#include "server/version.hpp"

namespace nappe::server {

namespace {

constexpr auto no_throw = asio::as_tuple(asio::use_awaitable);
using SteadyClock = std::chrono::steady_clock;

/// For a device whose pairing has been ended to take its goodbye.
constexpr std::chrono::milliseconds pairing_goodbye{500};

}  // namespace

Session::Session(std::unique_ptr<WebSocket> socket, DevicePtr device, SessionParts parts, SessionLimits limits)
    : socket_(std::move(socket)),
      parts_(parts),
      limits_(limits),
      wake_(socket_->executor(), SteadyClock::time_point::max()),
      last_(socket_->executor()),
      commands_(limits.commands_per_second, limits.commands_at_once),
      device_(std::move(device)) {}

Task<> Session::run() {
  auto executor = co_await asio::this_coro::executor;
  spawn(executor, "write",
        [](std::shared_ptr<Session> kept) -> Task<> { co_await kept->write_loop(); }(shared_from_this()));
  parts_.hub.join(*this);
  push(welcome_frame(parts_.hub, parts_.engine));
  while (!closing_) {
    const auto text = co_await socket_->read();
    if (!text) {
      if (text.error().code == Errc::invalid) {
        log_info(fmt::format("session ended device=\"{}\" reason=\"{}\"", device_->name, text.error().detail));
      }
      break;
    }
    if (!closing_ && !ended_) take(*text, parts_.engine.now());
  }
  parts_.hub.leave(*this);
  closing_ = true;
  wake_.cancel();
}

Task<> Session::write_loop() {
  while (!closing_) {
    if (outbox_.empty()) {
      if (leaving_) break;
      co_await wake_.async_wait(no_throw);
      continue;
    }
    Frame frame = std::move(outbox_.front());
    outbox_.pop_front();
    outbox_bytes_ -= frame->size();
    const bool sent = co_await socket_->write(std::move(frame));
    if (!sent) break;
  }
  if (leaving_ && !closing_) co_await say_goodbye();
  closing_ = true;
}

Task<> Session::say_goodbye() {
  std::string reason = "the server is closing";
  CloseCode code = CloseCode::going_away;
  if (ended_) {
    reason = "this device's pairing has been ended";
    code = CloseCode::policy;
  }
  co_await socket_->close(code, std::move(reason));
}

// --- the outbox ---

void Session::push(Frame frame) {
  if (closing_ || ended_) return;
  if (outbox_.size() >= limits_.outbox_frames_max || outbox_bytes_ + frame->size() > limits_.outbox_bytes_max) {
    return cut_for("slow");
  }
  outbox_bytes_ += frame->size();
  outbox_.push_back(std::move(frame));
  wake_.cancel();
}

void Session::push_text(std::string text) { push(std::make_shared<const std::string>(std::move(text))); }

void Session::push_error(const Error& error) {
  const nlohmann::json message = {{"type", "error"}, {"problem", problem_of(error)}};
  push_text(wire::write_json(message));
}

void Session::push_refusal(const std::string& id, const Error& error) {
  const nlohmann::json message = {{"type", "refused"}, {"id", id}, {"problem", problem_of(error)}};
  push_text(wire::write_json(message));
}

/// Drops the connection; run() notices, and leaves the hub. Not here: the hub may be walking its subscribers.
void Session::cut_for(std::string_view why) {
  if (closing_) return;
  parts_.metrics.session_cut(why);
  log_warn(fmt::format("session cut device=\"{}\" reason={} outbox_frames={}", device_->name, why, outbox_.size()));
  cut();
}

void Session::cut() {
  closing_ = true;
  socket_->cut();
  wake_.cancel();
}

void Session::close_going_away() {
  leaving_ = true;
  wake_.cancel();
}

void Session::pairing_ended() {
  ended_ = true;
  outbox_.clear();
  outbox_bytes_ = 0;
  close_going_away();
  last_.expires_after(pairing_goodbye);
  last_.async_wait([self = weak_from_this()](const ErrorCode& error) {
    const auto session = self.lock();
    if (!error && session && !session->closing_) session->cut();
  });
}

// --- what the device says ---

void Session::take(const std::string& text, Instant received) {
  const auto message = read_live_message(text);
  if (!message) {
    push_error(message.error());
    if (++bad_frames_ >= limits_.bad_frames_max) cut_for("bad_frames");
    return;
  }
  std::visit([&](const auto& said) { handle(said, received); }, *message);
}

void Session::handle(const Hello& hello, Instant) {
  says_it_is_ = hello.device;
  log_info(fmt::format("session device=\"{}\" says=\"{}\"", device_->name, says_it_is_));
}

void Session::handle(const Subscribe& subscribe, Instant) {
  if (const Status may = may_watch(*device_, subscribe.screen); !may) return push_error(may.error());
  const auto done = parts_.hub.subscribe(*this, subscribe.screen, subscribe.epoch, subscribe.number);
  if (!done) push_error(done.error());
}

void Session::handle(const Unsubscribe& unsubscribe, Instant) { parts_.hub.unsubscribe(*this, unsubscribe.screen); }

void Session::handle(const ClockAsked& asked, Instant received) {
  push_text(fmt::format(R"({{"type":"clock","t1":{},"t2":{},"t3":{},"rate":{}}})", asked.t1, to_ms(received),
                        to_ms(parts_.engine.now()), parts_.engine.clock().rate()));
}

void Session::handle(const CommandSent& sent, Instant) {
  if (!commands_.take(SteadyClock::now())) {
    return push_refusal(sent.id,
                        Error{Errc::too_many, "too many commands from this device; send it again in a second"});
  }
  auto command = wire::read_command(sent.command);
  if (!command) return push_refusal(sent.id, command.error());
  const std::string id = command->id;
  parts_.engine.submit(
      std::move(command).value(), digest_of(sent.command),
      [self = weak_from_this(), id](const Answer& answer) {
        const auto session = self.lock();
        if (!session) return;
        if (!answer.done) return session->push_refusal(id, answer.error);
        nlohmann::json message = {{"type", "done"}, {"id", id}, {"number", answer.number}};
        if (answer.ticket != 0) message["ticket"] = answer.ticket;
        if (!answer.says.empty()) message["says"] = answer.says;
        session->push_text(wire::write_json(message));
      },
      [device = device_](const line::Command& asked, const line::State& state) {
        return may_ask(*device, asked.action, state);
      });
}

Frame welcome_frame(const Hub& hub, const Engine& engine) {
  const nlohmann::json message = {{"type", "welcome"},
                                  {"version", version_text},
                                  {"epoch", hub.board().epoch()},
                                  {"now_ms", to_ms(engine.now())},
                                  {"rate", engine.clock().rate()}};
  return std::make_shared<const std::string>(message.dump());
}

}  // namespace nappe::server
