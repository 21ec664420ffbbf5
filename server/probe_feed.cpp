#include "server/probe_feed.hpp"

#include <fmt/format.h>
#include <mosquitto.h>

#include <atomic>
#include <boost/asio/post.hpp>
#include <charconv>
#include <nlohmann/json.hpp>

#include "common/wire/parse.hpp"
#include "server/journal.hpp"
#include "server/log.hpp"
#include "server/reading_request.hpp"

namespace nappe::server {

namespace {

constexpr int keep_alive_s = 20;
constexpr unsigned reconnect_s = 1;
constexpr unsigned reconnect_max_s = 15;
constexpr int at_least_once = 1;
constexpr std::size_t payload_max = 4096;
constexpr double readings_per_second = 1;
constexpr double readings_at_once = 30;
constexpr std::size_t probes_max = 256;
constexpr std::size_t waiting_max = 256;  // messages on their way to the kitchen's thread

}  // namespace

Result<line::Command> read_probe_message(const std::string& topic, const std::string& payload, Instant now) {
  const std::string probe = topic.substr(topic.rfind('/') + 1);
  if (payload.size() > payload_max) return Error{Errc::invalid, "a reading takes a few dozen bytes, not thousands"};
  auto parsed = wire::parse_json(payload);
  if (!parsed) return parsed.error();
  nlohmann::json reading = *parsed;
  if (!reading.is_object())
    return Error{Errc::invalid, "a message is an object: {\"place\": \"walk-in\", \"celsius\": 4.2}"};
  reading["probe"] = probe;
  // Delivered at least once: what says when it was taken is known again.
  if (reading.contains("taken_ms")) reading["id"] = "mqtt:" + digest_of(topic + '\n' + payload).substr(0, 40);
  return read_reading(reading.dump(), "probe " + probe, now);
}

ProbePace::Turn ProbePace::take(const std::string& topic, std::chrono::steady_clock::time_point now) {
  if (by_topic_.size() >= probes_max && by_topic_.count(topic) == 0) by_topic_.clear();
  One& one = by_topic_.try_emplace(topic, One{{readings_per_second, readings_at_once}}).first->second;
  const bool taken = one.rate.take(now);
  const bool first = !taken && !one.left_out;
  one.left_out = !taken;
  if (taken) return Turn::taken;
  return first ? Turn::first_left_out : Turn::left_out;
}

struct ProbeFeed::Impl {
  boost::asio::io_context& context;
  std::function<void(std::string, std::string)> message;
  mosquitto* client = nullptr;
  bool running = false;
  std::atomic<std::size_t> waiting{0};

  static void connected(mosquitto* client, void*, int code) {
    if (code != 0) return log_warn(fmt::format("mqtt broker refused: {}", mosquitto_connack_string(code)));
    mosquitto_subscribe(client, nullptr, probe_topics, at_least_once);
    log_info("mqtt connected");
  }
  static void disconnected(mosquitto*, void*, int code) {
    if (code != 0) log_warn(fmt::format("mqtt broker lost: {}", mosquitto_strerror(code)));
  }
  // On the library's thread: only copies and hands over.
  static void arrived(mosquitto*, void* self, const mosquitto_message* came) {
    // What the broker kept from earlier is no reading of now.
    if (came->retain || static_cast<std::size_t>(came->payloadlen) > payload_max) return;
    auto* impl = static_cast<Impl*>(self);
    if (impl->waiting.fetch_add(1) >= waiting_max) {
      impl->waiting.fetch_sub(1);
      return;
    }
    std::string topic(came->topic);
    std::string payload(static_cast<const char*>(came->payload), static_cast<std::size_t>(came->payloadlen));
    boost::asio::post(impl->context, [impl, topic = std::move(topic), payload = std::move(payload)]() mutable {
      impl->waiting.fetch_sub(1);
      impl->message(std::move(topic), std::move(payload));
    });
  }
};

ProbeFeed::ProbeFeed(boost::asio::io_context& context, std::function<void(std::string, std::string)> message)
    : impl_(new Impl{context, std::move(message)}) {
  mosquitto_lib_init();
}

ProbeFeed::~ProbeFeed() {
  if (impl_->running) {
    mosquitto_disconnect(impl_->client);
    mosquitto_loop_stop(impl_->client, true);
  }
  if (impl_->client != nullptr) mosquitto_destroy(impl_->client);
  mosquitto_lib_cleanup();
}

Status ProbeFeed::start(const std::string& address) {
  const auto colon = address.rfind(':');
  int port = 1883;
  if (colon != std::string::npos) {
    const char* const end = address.data() + address.size();
    const auto [stop, error] = std::from_chars(address.data() + colon + 1, end, port);
    if (error != std::errc() || stop != end || port < 1 || port > 65535)
      return Error{Errc::invalid, "--mqtt is HOST or HOST:PORT"};
  }
  const std::string host = address.substr(0, colon);
  impl_->client = mosquitto_new(nullptr, true, impl_.get());
  if (impl_->client == nullptr) return Error{Errc::unavailable, "--mqtt: the MQTT library could not be started"};
  mosquitto_connect_callback_set(impl_->client, Impl::connected);
  mosquitto_disconnect_callback_set(impl_->client, Impl::disconnected);
  mosquitto_message_callback_set(impl_->client, Impl::arrived);
  mosquitto_reconnect_delay_set(impl_->client, reconnect_s, reconnect_max_s, true);
  const int asked = mosquitto_connect_async(impl_->client, host.c_str(), port, keep_alive_s);
  if (asked == MOSQ_ERR_INVAL || asked == MOSQ_ERR_EAI)
    return Error{Errc::unavailable, fmt::format("--mqtt {}: {}", address, mosquitto_strerror(asked))};
  if (mosquitto_loop_start(impl_->client) != MOSQ_ERR_SUCCESS)
    return Error{Errc::unavailable, "--mqtt: no thread for the broker's messages"};
  impl_->running = true;
  return Done{};
}

}  // namespace nappe::server
