#pragma once
// Probes that speak MQTT: a client of the house's broker (libmosquitto). It listens to nappe/probes/NAME; a message is
// {"batch" or "place": ..., "celsius": ..., "taken_ms": ...?}. While the broker is away nothing is invented: a gap
// stays a gap. The broker decides who may publish; keep it to the house's own network.

#include <boost/asio/io_context.hpp>
#include <chrono>
#include <functional>
#include <map>
#include <memory>
#include <string>

#include "common/line/command.hpp"
#include "common/result.hpp"
#include "server/rate.hpp"

namespace nappe::server {

inline constexpr const char* probe_topics = "nappe/probes/+";

/// The command for a message; the name of the probe is the topic's last part. With "taken_ms" a message that comes
/// twice is one reading.
Result<line::Command> read_probe_message(const std::string& topic, const std::string& payload, Instant now);

/// How often each probe may speak, so that one that has gone mad fills no journal: what comes faster is left out, a
/// gap.
class ProbePace {
 public:
  enum class Turn { taken, first_left_out, left_out };
  /// `topic` names the probe. Wall time, not the kitchen's.
  Turn take(const std::string& topic, std::chrono::steady_clock::time_point now);

 private:
  struct One {
    RateLimit rate;
    bool left_out = false;
  };
  std::map<std::string, One> by_topic_;
};

class ProbeFeed {
 public:
  /// `message` is called on the context's thread.
  ProbeFeed(boost::asio::io_context& context, std::function<void(std::string topic, std::string payload)> message);
  ~ProbeFeed();
  ProbeFeed(const ProbeFeed&) = delete;
  ProbeFeed& operator=(const ProbeFeed&) = delete;

  /// Connects to "host:port" and comes back by itself whenever the broker does. `unavailable` when the address cannot
  /// be used at all; a broker that is away now is waited for.
  Status start(const std::string& address);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace nappe::server
