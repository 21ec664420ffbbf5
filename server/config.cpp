#include "server/config.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <iostream>

#include "server/version.hpp"

namespace nappe::server {

namespace {

/// A folder of ours when nobody names one: beside the program as installed, or in the source tree it was built from.
std::string default_folder(const char* installed_name, const char* in_source) {
  std::error_code error;
  const auto program = std::filesystem::read_symlink("/proc/self/exe", error);
  const auto installed = program.parent_path().parent_path() / "share" / "nappe" / installed_name;
  if (!error && std::filesystem::is_directory(installed, error)) return installed.string();
  return std::string(NAPPE_SOURCE_FOLDER) + in_source;
}

Parsed wrong(const std::string& sentence) {
  std::cerr << "napped: " << sentence << '\n';
  return {{}, 2};
}

}  // namespace

Parsed read_command_line(int argc, char** argv) {
  Parsed parsed;
  Config& config = parsed.config;
  std::string listen = "127.0.0.1:7450";
  CLI::App app("napped: the server of nappe. It keeps the line, its journal, and every screen.", "napped");
  app.set_version_flag("--version", version_text);
  app.add_option("CONFIG_DIR", config.kitchen_folder, "Folder with the files of the house");
  app.add_option("--journal", config.journal, "File of the journal")->capture_default_str();
  app.add_option("--listen", listen, "Address and port; port 0: any free one")->capture_default_str();
  app.add_option("--tls-cert", config.tls_certificate, "PEM file with the certificate: encrypt all connections");
  app.add_option("--tls-key", config.tls_key, "PEM file with its key");
  app.add_flag("--open-to-network", config.open_to_network, "Allow an address that others can reach (without TLS)");
  app.add_flag("--pairing", config.pairing, "Let only paired devices in, also from this machine");
  app.add_option("--devices", config.devices, "File of the paired devices; else devices.db beside the journal");
  app.add_option("--open", config.open_name, "Open the service of this name if none is open");
  app.add_flag("--demo", config.demo, "Allow the kitchen's clock to be set (POST /demo/clock)");
  app.add_option("--port-file", config.port_file, "Write the port to this file once connections are taken");
  app.add_option("--paper", config.paper, "Folder to keep the paper line in, written every ten minutes");
  app.add_option("--web", config.web_folder, "Folder of the built page");
  app.add_option("--rules", config.rules_folder, "Folder of the food-safety rule sets");
  app.add_option("--mqtt", config.mqtt, "HOST:PORT of a broker whose nappe/probes/NAME carry probes' readings");
  app.add_option("--log-level", config.log_level, "debug, info, warn, error or off")->capture_default_str();
  app.add_option("--verify", config.verify, "Check this journal, print its fingerprint, and leave");
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    parsed.exit_code = app.exit(error) == 0 ? 0 : 2;
    return parsed;
  }
  if (!config.verify.empty()) return parsed;
  if (config.kitchen_folder.empty()) return wrong("name the folder with the files of the house: napped CONFIG_DIR");
  const auto address = read_listen_address(listen);
  if (!address) return wrong(address.error().detail);
  config.listen = *address;
  if (config.tls_certificate.empty() != config.tls_key.empty()) {
    return wrong("--tls-cert and --tls-key go together: give both");
  }
  if (config.devices.empty()) {
    config.devices = (std::filesystem::path(config.journal).parent_path() / "devices.db").string();
  }
  if (config.web_folder.empty()) config.web_folder = default_folder("web", "/web/dist");
  if (config.rules_folder.empty()) config.rules_folder = default_folder("rules", "/config/rules");
  return parsed;
}

}  // namespace nappe::server
