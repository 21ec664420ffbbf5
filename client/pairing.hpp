#pragma once
// How this device is let in: its token and where it is kept, the word a blank device shows, and who says what it is.

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "client/address.hpp"

namespace nappe::client {

/// What a device was paired as, as its file keeps it.
struct Paired {
  std::string token;  ///< Empty: the server asks for none.
  std::string name;
  std::string role;     ///< "station", "pass", "floor", "probe", "manager"
  std::string station;  ///< Of the role station.
};

/// As a file's text, one JSON object, and back; nothing if it is none.
std::string paired_text(const Paired& paired);
std::optional<Paired> read_paired(const std::string& text);

/// Where a pairing with this server is kept: one for each screen of this machine ("station:garnish", "pass",
/// "screen"), and "command" for the small commands.
std::filesystem::path paired_file(const Address& server, const std::string& what);

/// The token of the small commands: from `token_file` if one is named, else that of this machine's first pairing with
/// the server among "command", "manager", "pass", "floor" ...; none: "".
Result<std::string> command_token(const Address& server, const std::string& token_file);

/// Lets this screen in, before anything is drawn: with the pairing that is kept, or else it shows a word on the
/// terminal and waits until somebody says what it is. `what` as in paired_file. When the server cannot be reached, the
/// kept pairing is believed; without one a "screen" waits for the server, the others go on without a token.
/// `needed`: the server has said that it does not know this device.
Result<Paired> let_in(const Address& server, const std::string& what, bool needed);

/// The words on a blank device's terminal.
std::string pairing_text(const std::string& server, const std::string& word, const std::string& example, int columns,
                         bool utf8);

/// The small commands; each returns the process's exit code.
/// Lets in a device that is not there yet: prints a QR code and an address that pair, once and within ten minutes, the
/// browser that opens them. `seen_at`: where the device reaches the server, if not where this one does.
int run_pair_new(const Address& server, const std::string& seen_at, const std::string& role, const std::string& station,
                 const std::string& name);
int run_pair(const Address& server, const std::string& word, const std::string& role, const std::string& station,
             const std::string& name);
int run_devices(const Address& server);
int run_revoke(const Address& server, const std::string& name);

}  // namespace nappe::client
