#include "server/tls.hpp"

#include <fmt/format.h>
#include <openssl/ssl.h>
#include <openssl/x509.h>

#include <array>
#include <boost/asio/ssl/context.hpp>

namespace nappe::server {

namespace ssl = boost::asio::ssl;

namespace {

std::string hex_digest(const X509* certificate) {
  std::array<unsigned char, 32> digest{};
  unsigned length = 0;
  if (certificate == nullptr || X509_digest(certificate, EVP_sha256(), digest.data(), &length) != 1) return {};
  std::string text;
  for (const unsigned char byte : digest) text += fmt::format("{:02x}", byte);
  return text;
}

}  // namespace

Tls::Tls() : context_(std::make_unique<ssl::context>(ssl::context::tls_server)) {}
Tls::~Tls() = default;

Result<std::unique_ptr<Tls>> Tls::open(const std::string& certificate_file, const std::string& key_file) {
  std::unique_ptr<Tls> tls(new Tls());
  ssl::context& context = *tls->context_;
  boost::system::error_code error;
  context.set_options(ssl::context::default_workarounds | ssl::context::no_sslv2 | ssl::context::no_sslv3 |
                      ssl::context::no_tlsv1 | ssl::context::no_tlsv1_1);
  context.use_certificate_chain_file(certificate_file, error);
  if (error) {
    return Error{Errc::invalid, fmt::format("--tls-cert {}: no certificate can be read from it ({}); give a PEM file",
                                            certificate_file, error.message())};
  }
  context.use_private_key_file(key_file, ssl::context::pem, error);
  if (error) {
    return Error{Errc::invalid, fmt::format("--tls-key {}: not the key of {} ({}); give its PEM file", key_file,
                                            certificate_file, error.message())};
  }
  tls->fingerprint_ = hex_digest(SSL_CTX_get0_certificate(context.native_handle()));
  return tls;
}

}  // namespace nappe::server
