#pragma once
// How a failure looks on the wire: RFC 9457 problem details with our `code`.

#include <nlohmann/json_fwd.hpp>
#include <string_view>

#include "common/result.hpp"

namespace nappe::server {

/// The wire name of a kind of failure ("conflict") and its usual HTTP status (RFC 9110, RFC 6585).
struct ProblemKind {
  std::string_view code;
  int status = 500;
};
ProblemKind kind_of(Errc code);
/// The kind with this wire name; Errc::invalid for a name that is none of them.
Errc code_named(std::string_view name);

/// The reason phrase of the statuses this server uses (RFC 9110, RFC 6585).
std::string_view status_phrase(int status);

/// {"type": "about:blank", "title", "status", "code", "detail", "where"?}. With about:blank the title is the status's
/// phrase (RFC 9457, 4.2.1); what went wrong stands in `code` and `detail`.
nlohmann::json problem_of(const Error& error);
/// The same with another status than the kind's own (413 for a body too large, 405 for a method ...).
nlohmann::json problem_of(const Error& error, int status);

}  // namespace nappe::server
