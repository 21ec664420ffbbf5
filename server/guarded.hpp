#pragma once
// The core reports what it expects to go wrong as a Result; an exception out of it is a fault in this program. One
// faulty command or screen must not stop a kitchen, so it becomes an Error that is logged.

#include <fmt/format.h>

#include <exception>

#include "common/result.hpp"
#include "server/log.hpp"

namespace nappe::server {

template <class Call>
auto guarded(const char* what, const Call& call) -> Result<decltype(call())> {
  try {
    return call();
  } catch (const std::exception& cause) {
    log_error(fmt::format("fault in={} reason=\"{}\"", what, cause.what()));
    return Error{Errc::unavailable, fmt::format("a fault in this program ({}): {}", what, cause.what())};
  }
}

/// The same for a call that answers with a Result or a Status itself.
template <class Call>
auto guarded_result(const char* what, const Call& call) -> decltype(call()) {
  auto ran = guarded(what, call);
  if (!ran) return ran.error();
  return std::move(ran).value();
}

}  // namespace nappe::server
