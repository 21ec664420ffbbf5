#include "server/log.hpp"

#include <fmt/format.h>
#include <spdlog/sinks/stdout_sinks.h>
#include <spdlog/spdlog.h>

namespace nappe::server {

bool open_log(const std::string& level) {
  const auto wanted = spdlog::level::from_str(level);
  if (wanted == spdlog::level::off && level != "off") return false;
  auto logger = std::make_shared<spdlog::logger>("napped", std::make_shared<spdlog::sinks::stderr_sink_mt>());
  logger->set_pattern("%Y-%m-%dT%H:%M:%S.%e%z %l %v");
  logger->set_level(wanted);
  logger->flush_on(spdlog::level::info);
  spdlog::set_default_logger(std::move(logger));
  return true;
}

void log_debug(std::string_view line) { spdlog::debug("{}", line); }
void log_info(std::string_view line) { spdlog::info("{}", line); }
void log_warn(std::string_view line) { spdlog::warn("{}", line); }
void log_error(std::string_view line) { spdlog::error("{}", line); }

void log_failure(std::string_view task, const std::exception_ptr& failure) {
  if (!failure) return;
  try {
    std::rethrow_exception(failure);
  } catch (const std::exception& cause) {
    log_error(fmt::format("task failed task={} reason=\"{}\"", task, cause.what()));
  } catch (...) {
    log_error(fmt::format("task failed task={}", task));
  }
}

}  // namespace nappe::server
