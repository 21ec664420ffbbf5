#pragma once
// Where the server is.

#include <string>
#include <string_view>

#include "common/result.hpp"

namespace nappe::client {

struct Address {
  std::string host = "127.0.0.1";
  std::string port = "7450";
  bool tls = false;
  std::string token;     ///< This device's, sent with everything it asks; empty: it has none.
  std::string ca_file;   ///< Certificates to trust (PEM); empty: the one that was met first is kept and trusted.
  std::string pin_file;  ///< Where that one is kept.
};

/// "127.0.0.1:7450", "kitchen.local", "[::1]:7450", "https://kitchen.local"; without a port 7450.
Result<Address> read_address(std::string_view text);

/// As it is written in a Host header and in sentences.
std::string address_text(const Address& address);

}  // namespace nappe::client
