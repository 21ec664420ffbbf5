#pragma once
// One HTTP request and its answer, for the small commands.

#include <chrono>
#include <string>
#include <utility>
#include <vector>

#include "client/address.hpp"

namespace nappe::client {

struct HttpAnswer {
  int status = 0;
  std::string body;
};

/// Asks and waits, at most `limit`. `unavailable` with one sentence when the server cannot be reached or does not
/// answer.
Result<HttpAnswer> http_ask(const Address& address, const std::string& method, const std::string& target,
                            const std::string& body = {},
                            const std::vector<std::pair<std::string, std::string>>& headers = {},
                            std::chrono::milliseconds limit = std::chrono::seconds(10));

/// The sentence of a problem body (RFC 9457), or one made from the status.
std::string problem_sentence(const HttpAnswer& answer);

}  // namespace nappe::client
