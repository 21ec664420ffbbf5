#pragma once
// Who is asking, and whether they may come in. A request carries its device's token as "Authorization: Bearer TOKEN"
// (RFC 6750) or, a browser, as the cookie the pairing set. Where only this machine can connect nobody needs one:
// whoever runs a program here could read the journal's file as well.

#include <chrono>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>

#include "server/http.hpp"
#include "server/pairing.hpp"
#include "server/rate.hpp"
#include "server/tokens.hpp"

namespace nappe::server {

constexpr std::string_view token_cookie = "nappe_token";

/// A connection that stays, of one device.
class Guest {
 public:
  virtual ~Guest() = default;
  [[nodiscard]] virtual const DevicePtr& device() const = 0;
  /// The device's pairing has been ended: nothing it says counts from here on.
  virtual void pairing_ended() = 0;
};

struct AccessLimits {
  std::size_t sockets_of_a_device_max = 8;
  double wrong_tokens_per_second = 1;  ///< From one address.
  double wrong_tokens_at_once = 20;
  std::size_t addresses_max = 256;  ///< Remembered with their wrong tokens.
};

struct AccessParts {
  TokenBook& book;
  Pairing& pairing;
  bool tokens_needed = false;  ///< False: whoever can connect is this machine, and may do everything.
  std::string console_token;   ///< Of whoever may read the console's token file: a manager.
  std::function<Instant()> wall;
  /// The stations there are: what a station's device may be paired as.
  std::function<std::set<std::string>()> stations;
};

class Access {
 public:
  using Clock = std::chrono::steady_clock;
  explicit Access(AccessParts parts, AccessLimits limits = {});

  /// Who asks. On failure what to answer: 401, or 429 for an address that tries many tokens.
  struct Refused {
    Error error;
    int status = 401;
  };
  struct Known {
    DevicePtr device;  ///< Null: `refused` says why.
    Refused refused;
  };
  Known who(const HttpRequest& request, Clock::time_point now);
  /// One of the sockets a device may have; free again when the last copy has gone. `too_many`: it has all of them.
  using Seat = std::shared_ptr<const void>;
  Result<Seat> take_seat(const DevicePtr& device);

  void enter(Guest& guest) { guests_.insert(&guest); }
  void leave(Guest& guest) { guests_.erase(&guest); }

  /// Answers /pair, /me and /devices; nothing for any other path.
  std::optional<HttpResponse> answer(const HttpRequest& request, const Target& target, Clock::time_point now);

 private:
  HttpResponse ask(const HttpRequest& request, Clock::time_point now);
  HttpResponse fetch(const HttpRequest& request, Clock::time_point now);
  HttpResponse list(const DevicePtr& who, Clock::time_point now);
  HttpResponse pair(const HttpRequest& request, const DevicePtr& who, Clock::time_point now);
  HttpResponse revoke(const DevicePtr& who, const std::string& name);
  [[nodiscard]] std::size_t sockets_of(const DevicePtr& device) const;

  AccessParts parts_;
  AccessLimits limits_;
  DevicePtr this_machine_;
  DevicePtr console_;
  std::set<Guest*> guests_;
  std::map<DevicePtr, std::size_t> seats_;  ///< Sockets open or being opened.
  std::map<std::string, RateLimit> wrong_;  ///< By address.
};

/// The token a request carries, or "".
std::string_view token_of(const HttpRequest& request);

/// An answer to a request without a token that is needed (RFC 9110, 11.6.1).
HttpResponse refused_response(const Access::Refused& refused);

}  // namespace nappe::server
