#pragma once
// What the command line says. The limits have no switches: they are constants of the program, in the headers of the
// parts they bound.

#include <string>

#include "common/result.hpp"
#include "server/listener.hpp"

namespace nappe::server {

struct Config {
  std::string kitchen_folder;
  std::string journal = "nappe.db";
  ListenAddress listen;
  std::string tls_certificate;  ///< PEM; with tls_key: all connections are encrypted.
  std::string tls_key;
  bool open_to_network = false;  ///< Said on purpose: without it only this machine may connect.
  bool demo = false;
  bool pairing = false;   ///< Devices must be paired even where only this machine can connect.
  std::string devices;    ///< File of the paired devices.
  std::string paper;      ///< Folder in which the paper line is kept; empty: none.
  std::string open_name;  ///< Opens the service of this name at the start, if none is open.
  std::string port_file;
  std::string web_folder;
  std::string rules_folder;
  std::string mqtt;  ///< Broker of probes' readings; empty: none.
  std::string log_level = "warn";
  std::string verify;  ///< Only check this journal.
};

/// What main does next.
struct Parsed {
  Config config;
  int exit_code = -1;  ///< 0 or more: leave with it (help was asked, or something was wrong and has been said).
};
Parsed read_command_line(int argc, char** argv);

}  // namespace nappe::server
