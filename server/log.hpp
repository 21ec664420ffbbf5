#pragma once
// Structured log lines on stderr: one line per event of interest, "key=value" pairs after a fixed phrase.

#include <exception>
#include <string>
#include <string_view>

namespace nappe::server {

/// Sets up the log. `level`: "debug", "info", "warn", "error" or "off". False if it is none of these.
bool open_log(const std::string& level);

void log_debug(std::string_view line);
void log_info(std::string_view line);
void log_warn(std::string_view line);
void log_error(std::string_view line);

/// How a coroutine ended: nothing for a normal end, an error line with its name and reason otherwise.
void log_failure(std::string_view task, const std::exception_ptr& failure);

}  // namespace nappe::server
