#pragma once
// The paired devices and their tokens, in one small SQLite file beside the journal (it outlives the nights). A token is
// 256 random bits, told once; the file keeps its SHA-256 only. (A digest without salt or stretching is enough: there
// are no likely tokens to try.)
//
//   devices   name       unique among those not revoked
//             role, station, paired_by
//             paired_ms, revoked_ms   wall time, milliseconds since 1970 (UTC); revoked_ms null: it may come in
//             digest     SHA-256 of the token, hexadecimal
//
// One thread; every call that changes something is durable on return.

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "common/result.hpp"
#include "common/time.hpp"
#include "server/roles.hpp"

namespace nappe::server {

/// 256 random bits as 43 letters, digits, - and _ (RFC 4648, base64url without padding).
std::string new_token();

constexpr std::size_t devices_max = 200;
constexpr std::size_t device_name_max = 40;

class TokenBook {
 public:
  /// Opens the file, makes it (readable by its owner only) if it is not there. `unavailable` with one sentence.
  static Result<std::unique_ptr<TokenBook>> open(const std::string& path);
  ~TokenBook();
  TokenBook(const TokenBook&) = delete;
  TokenBook& operator=(const TokenBook&) = delete;

  /// Keeps a new device; its token is returned and nowhere kept. Without a name it gets one after its role: "garnish",
  /// "garnish 2". `conflict` for a name in use, `too_many`, `invalid`.
  struct Paired {
    DevicePtr device;
    std::string token;
  };
  Result<Paired> add(Device device);
  /// The device with this token, or null.
  [[nodiscard]] DevicePtr find(std::string_view token) const;
  /// All that may come in, by name.
  [[nodiscard]] std::vector<DevicePtr> list() const;
  /// Ends a pairing at once; `unknown` when there is no such device.
  Result<DevicePtr> revoke(const std::string& name, Instant wall);

 private:
  struct Impl;
  explicit TokenBook(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace nappe::server
