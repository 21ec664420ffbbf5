#pragma once
// Where the server is.

#include <string>
#include <string_view>

#include "common/result.hpp"

namespace nappe::client {

struct Address {
  std::string host = "127.0.0.1";
  std::string port = "7450";
};

/// "127.0.0.1:7450", "kitchen.local", "[::1]:7450"; without a port 7450.
Result<Address> read_address(std::string_view text);

/// As it is written in a Host header and in sentences.
std::string address_text(const Address& address);

}  // namespace nappe::client
