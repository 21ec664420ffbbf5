#pragma once
// What the server counts, and its text for /metrics (OpenMetrics 1.0.0).

#include <memory>
#include <string>
#include <string_view>

namespace nappe::server {

/// One thread. Seconds are seconds.
class Metrics {
 public:
  Metrics();
  ~Metrics();
  Metrics(const Metrics&) = delete;
  Metrics& operator=(const Metrics&) = delete;

  void command_answered(std::string_view how);  ///< "done", "refused", "repeated", "failed"
  void committed(double seconds, std::size_t commands, std::size_t events);
  void commit_failed();
  void planned(double seconds);
  void screens_built(double seconds, std::size_t patches);
  void session_opened();
  void session_closed();
  void session_cut(std::string_view why);  ///< "slow", "shutdown", "too_many_commands", ...
  void frames_sent(std::size_t frames);
  void http_answered(int status);

  /// The exposition; ends with "# EOF" and a line feed.
  [[nodiscard]] std::string text() const;
  static constexpr const char* type = "application/openmetrics-text; version=1.0.0; charset=utf-8";

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace nappe::server
