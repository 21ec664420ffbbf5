#include "client/tls.hpp"

#include <fmt/format.h>
#include <openssl/x509.h>

#include <array>
#include <boost/asio/ssl/host_name_verification.hpp>
#include <filesystem>
#include <fstream>

namespace nappe::client {
namespace {

namespace ssl = boost::asio::ssl;

std::string digest_of(X509* certificate) {
  std::array<unsigned char, 32> digest{};
  unsigned length = 0;
  if (certificate == nullptr || X509_digest(certificate, EVP_sha256(), digest.data(), &length) != 1) return {};
  std::string text;
  for (const unsigned char byte : digest) text += fmt::format("{:02x}", byte);
  return text;
}

bool keep(const std::string& file, const std::string& digest) {
  std::error_code ignored;
  std::filesystem::create_directories(std::filesystem::path(file).parent_path(), ignored);
  std::ofstream out(file);
  out << digest << '\n';
  return static_cast<bool>(out.flush());
}

// The server's own certificate decides; what stands above it in its chain does not matter.
bool known_certificate(const Address& address, TlsCheck& check, ssl::verify_context& context) {
  X509_STORE_CTX* store = context.native_handle();
  if (X509_STORE_CTX_get_error_depth(store) > 0) return true;
  const std::string digest = digest_of(X509_STORE_CTX_get_current_cert(store));
  std::ifstream in(address.pin_file);
  std::string pinned;
  if (in >> pinned) {
    if (pinned == digest) return true;
    check.refused =
        fmt::format("{} shows another certificate than before (SHA-256 {}): if it was changed on purpose, remove {}",
                    address_text(address), digest, address.pin_file);
    return false;
  }
  if (!digest.empty() && keep(address.pin_file, digest)) return true;
  check.refused = fmt::format("cannot write {}, where the server's certificate is kept", address.pin_file);
  return false;
}

}  // namespace

Result<TlsContext> tls_context(const Address& address) {
  TlsContext out{std::make_shared<ssl::context>(ssl::context::tls_client), std::make_shared<TlsCheck>()};
  out.context->set_options(ssl::context::default_workarounds | ssl::context::no_tlsv1 | ssl::context::no_tlsv1_1);
  out.context->set_verify_mode(ssl::verify_peer);
  if (!address.ca_file.empty()) {
    boost::system::error_code error;
    out.context->load_verify_file(address.ca_file, error);
    if (error) {
      return Error{Errc::unavailable,
                   fmt::format("--ca {}: no certificate can be read from it ({})", address.ca_file, error.message())};
    }
    out.context->set_verify_callback(ssl::host_name_verification(address.host));
    return out;
  }
  out.context->set_verify_callback([address, check = out.check](bool, ssl::verify_context& context) {
    return known_certificate(address, *check, context);
  });
  return out;
}

}  // namespace nappe::client
