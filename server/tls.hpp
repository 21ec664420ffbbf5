#pragma once
// The certificate and key the server shows. Nothing of OpenSSL is visible here.

#include <memory>
#include <string>

#include "common/result.hpp"

namespace boost::asio::ssl {
class context;
}

namespace nappe::server {

class Tls {
 public:
  /// Reads both PEM files; TLS 1.2 and 1.3 only. One sentence when one cannot be read or they do not belong together.
  static Result<std::unique_ptr<Tls>> open(const std::string& certificate_file, const std::string& key_file);
  ~Tls();
  Tls(const Tls&) = delete;
  Tls& operator=(const Tls&) = delete;

  [[nodiscard]] boost::asio::ssl::context& context() { return *context_; }
  /// SHA-256 of the certificate as it is sent (DER), hexadecimal: what a person compares.
  [[nodiscard]] const std::string& fingerprint() const { return fingerprint_; }

 private:
  Tls();
  std::unique_ptr<boost::asio::ssl::context> context_;
  std::string fingerprint_;
};

}  // namespace nappe::server
