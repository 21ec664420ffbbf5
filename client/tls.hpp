#pragma once
// Whether the server that answers is the one this device was paired with.

#include <boost/asio/ssl/context.hpp>
#include <memory>
#include <string>

#include "client/address.hpp"

namespace nappe::client {

/// What the check of a certificate found, for the sentence that is shown.
struct TlsCheck {
  std::string refused;  ///< One sentence; empty: nothing was wrong.
};

/// A context that trusts the certificates of `address.ca_file`; without one, the certificate whose SHA-256 stands in
/// `address.pin_file`, and if that is not there, the first one it meets, which it keeps there (as ssh does with keys).
/// `unavailable` with a sentence when the file cannot be used.
struct TlsContext {
  std::shared_ptr<boost::asio::ssl::context> context;
  std::shared_ptr<TlsCheck> check;
};
Result<TlsContext> tls_context(const Address& address);

}  // namespace nappe::client
