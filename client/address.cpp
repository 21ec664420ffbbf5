#include "client/address.hpp"

#include <algorithm>

namespace nappe::client {

Result<Address> read_address(std::string_view text) {
  const auto wrong = [&] {
    return Error{Errc::invalid,
                 "\"" + std::string(text) +
                     "\" is no address of a server: write it as 127.0.0.1:7450 or https://kitchen.local:7450"};
  };
  Address out;
  std::string_view rest = text;
  constexpr std::string_view plain = "http://";
  constexpr std::string_view encrypted = "https://";
  if (rest.starts_with(plain)) rest.remove_prefix(plain.size());
  out.tls = rest.starts_with(encrypted);
  if (out.tls) rest.remove_prefix(encrypted.size());
  if (rest.ends_with('/')) rest.remove_suffix(1);
  if (!rest.empty() && rest.front() == '[') {
    const auto close = rest.find(']');
    if (close == std::string_view::npos) return wrong();
    out.host = rest.substr(1, close - 1);
    rest.remove_prefix(close + 1);
    if (!rest.empty() && rest.front() != ':') return wrong();
    if (!rest.empty()) rest.remove_prefix(1);
    if (!rest.empty()) out.port = rest;
  } else {
    const auto colon = rest.find(':');
    if (colon != rest.rfind(':')) return wrong();
    out.host = rest.substr(0, colon);
    if (colon != std::string_view::npos) out.port = rest.substr(colon + 1);
  }
  const bool digits = !out.port.empty() && out.port.size() <= 5 &&
                      std::all_of(out.port.begin(), out.port.end(), [](char c) { return c >= '0' && c <= '9'; });
  const bool blank =
      std::any_of(out.host.begin(), out.host.end(), [](char c) { return c == '/' || c == ' ' || c < ' '; });
  if (out.host.empty() || blank || !digits || std::stoi(out.port) > 65535 || std::stoi(out.port) < 1) return wrong();
  return out;
}

std::string address_text(const Address& address) {
  const bool six = address.host.find(':') != std::string::npos;
  return (six ? "[" + address.host + "]" : address.host) + ":" + address.port;
}

}  // namespace nappe::client
