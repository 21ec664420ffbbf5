#include "client/pairing.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <langinfo.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <clocale>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <thread>

#include "client/bigtext.hpp"
#include "client/http.hpp"
#include "client/kept_file.hpp"
#include "client/label.hpp"
#include "client/screen.hpp"

namespace nappe::client {
namespace {

using Json = nlohmann::json;

constexpr std::chrono::seconds look_every{1};
constexpr std::chrono::milliseconds patience{4000};

std::string text(const Json& in, const char* name) {
  const auto found = in.is_object() ? in.find(name) : in.end();
  return found != in.end() && found->is_string() ? found->get<std::string>() : std::string();
}

std::string read_whole(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

// Readable by its owner only, from its first byte on.
Status keep(const std::filesystem::path& path, const Paired& paired) {
  std::error_code ignored;
  std::filesystem::create_directories(path.parent_path(), ignored);
  const Error cannot{Errc::unavailable, "cannot write " + path.string() + ", where this device's token is kept"};
  const std::filesystem::path fresh = path.string() + ".new";
  std::filesystem::remove(fresh, ignored);
  const int file = ::open(fresh.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  if (file < 0) return cannot;
  const std::string line = paired_text(paired);
  const bool written = ::write(file, line.data(), line.size()) == static_cast<ssize_t>(line.size());
  ::close(file);
  std::filesystem::rename(fresh, path, ignored);
  if (!written || ignored) return cannot;
  return Done{};
}

Address with_token(Address server, std::string token) {
  server.token = std::move(token);
  return server;
}

bool terminal_utf8() {
  std::setlocale(LC_CTYPE, "");
  return std::strcmp(::nl_langinfo(CODESET), "UTF-8") == 0;
}

std::string example_for(const std::string& what) {
  constexpr std::string_view station = "station:";
  if (what.starts_with(station)) return "station " + what.substr(station.size());
  return what == "pass" || what == "floor" ? what : "station garnish";
}

// Asks until somebody has said what this device is.
Result<Paired> ask_until_paired(const Address& server, const std::string& what) {
  for (;;) {
    const auto asked = http_ask(with_token(server, ""), "POST", "/pair", {}, {}, patience);
    if (!asked) return asked.error();
    if (asked->status != 201) return Error{Errc::refused, problem_sentence(*asked)};
    const Json body = Json::parse(asked->body, nullptr, false);
    const Address mine = with_token(server, text(body, "secret"));
    fmt::print("\033[2J\033[H{}", pairing_text(address_text(server), text(body, "word"), example_for(what),
                                               terminal_columns(), terminal_utf8()));
    std::fflush(stdout);
    for (;;) {
      std::this_thread::sleep_for(look_every);
      const auto looked = http_ask(mine, "GET", "/pair", {}, {}, patience);
      if (!looked) continue;             // The server is being started again, or the cable is out.
      if (looked->status != 200) break;  // It has forgotten us: ask anew, with a new word.
      const Json state = Json::parse(looked->body, nullptr, false);
      if (text(state, "state") != "paired") continue;
      return Paired{text(state, "token"), text(state, "name"), text(state, "role"), text(state, "station")};
    }
  }
}

Result<Paired> wait_for_server(const Address& server) {
  fmt::print("waiting for the server at {}\n", address_text(server));
  std::fflush(stdout);
  for (;;) {
    std::this_thread::sleep_for(look_every);
    if (http_ask(server, "GET", "/healthz", {}, {}, patience)) return Paired{};
  }
}

int failed(const std::string& sentence) {
  fmt::print(stderr, "{}\n", sentence);
  return 1;
}

std::string device_text(const Json& device) {
  const std::string station = text(device, "station");
  return station.empty() ? text(device, "role") : "station " + station;
}

}  // namespace

std::string paired_text(const Paired& paired) {
  const Json out{{"token", paired.token}, {"name", paired.name}, {"role", paired.role}, {"station", paired.station}};
  return out.dump(-1, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::optional<Paired> read_paired(const std::string& line) {
  const Json in = Json::parse(line, nullptr, false);
  Paired paired{text(in, "token"), text(in, "name"), text(in, "role"), text(in, "station")};
  if (paired.token.empty()) return std::nullopt;
  return paired;
}

std::filesystem::path paired_file(const Address& server, const std::string& what) {
  std::string name = address_text(server) + "_" + what;
  std::replace_if(
      name.begin(), name.end(), [](char c) { return c == '/' || c == ':' || c == '[' || c == ']'; }, '_');
  return state_folder() / (name + ".device");
}

Result<std::string> command_token(const Address& server, const std::string& token_file) {
  if (!token_file.empty()) {
    const std::string whole = read_whole(token_file);
    if (const auto paired = read_paired(whole)) return paired->token;
    const std::string token = whole.substr(0, whole.find_first_of(" \t\r\n"));
    if (token.empty()) return Error{Errc::unknown, "--token-file " + token_file + ": there is no token in it"};
    return token;
  }
  for (const char* what : {"command", "manager", "pass", "screen", "floor"}) {
    if (const auto paired = read_paired(read_whole(paired_file(server, what)))) return paired->token;
  }
  return std::string();
}

Result<Paired> let_in(const Address& server, const std::string& what, bool needed) {
  const auto file = paired_file(server, what);
  auto kept = read_paired(read_whole(file));
  if (!server.token.empty()) kept = Paired{server.token, {}, {}, {}};
  auto me = http_ask(with_token(server, kept ? kept->token : ""), "GET", "/me", {}, {}, patience);
  if (!me && me.error().code == Errc::forbidden) return me.error();  // Another certificate than before.
  if (!me && kept && !needed) return *kept;
  if (!me && what != "screen") return Paired{};
  if (!me) {
    if (const auto there = wait_for_server(server); !there) return there.error();
    return let_in(server, what, needed);
  }
  if (me->status == 200) {
    const Json body = Json::parse(me->body, nullptr, false);
    return Paired{kept ? kept->token : "", text(body, "name"), text(body, "role"), text(body, "station")};
  }
  if (me->status != 401) return Error{Errc::unavailable, problem_sentence(*me)};
  auto paired = ask_until_paired(server, what);
  if (!paired) return paired.error();
  if (const Status safe = keep(file, *paired); !safe) return safe.error();
  return paired;
}

std::string pairing_text(const std::string& server, const std::string& word, const std::string& example, int columns,
                         bool utf8) {
  Grid grid(Size{big_rows, std::max(columns, 20)});
  const Letters letters = letters_that_fit(word, columns - 4);
  put_big(grid, 0, 2, word, letters, utf8 ? U'\u2588' : U'#', Tone::normal);
  std::string out = fmt::format("\n  {} does not know this screen yet. Its word is\n\n", server);
  out += grid.text();
  out += fmt::format(
      "\n  {}\n\n  Say it at the pass: there, \"devices\" on the page, or in a terminal\n\n"
      "    nappe pair {} as {}\n\n  This screen goes on by itself.\n",
      word, word, example);
  return out;
}

int run_pair(const Address& server, const std::string& word, const std::string& role, const std::string& station,
             const std::string& name) {
  Json body{{"word", word}, {"role", role}};
  if (!station.empty()) body["station"] = station;
  if (!name.empty()) body["name"] = name;
  const auto answer = http_ask(server, "POST", "/devices", body.dump());
  if (!answer) return failed(answer.error().detail);
  if (answer->status != 201) return failed(problem_sentence(*answer));
  const Json device = Json::parse(answer->body, nullptr, false);
  fmt::print("{} is paired as {}\n", text(device, "name"), device_text(device));
  return 0;
}

int run_pair_new(const Address& server, const std::string& seen_at, const std::string& role, const std::string& station,
                 const std::string& name) {
  // This program asks in the place of the device and says at once what it is; whoever opens the address fetches what
  // was said, and nobody after them.
  const auto asked = http_ask(with_token(server, ""), "POST", "/pair", {}, {}, patience);
  if (!asked) return failed(asked.error().detail);
  if (asked->status != 201) return failed(problem_sentence(*asked));
  const Json body = Json::parse(asked->body, nullptr, false);
  Json said{{"word", text(body, "word")}, {"role", role}};
  if (!station.empty()) said["station"] = station;
  if (!name.empty()) said["name"] = name;
  const auto answer = http_ask(server, "POST", "/devices", said.dump());
  if (!answer) return failed(answer.error().detail);
  if (answer->status != 201) return failed(problem_sentence(*answer));
  const Json device = Json::parse(answer->body, nullptr, false);
  const std::string base = seen_at.empty() ? address_text(server) : seen_at;
  const std::string url =
      (base.find("://") == std::string::npos ? "http://" + base : base) + "/#/pair/" + text(body, "secret");
  const auto code = qr_text(url, ::isatty(STDOUT_FILENO) == 1);
  if (!code) return failed(code.error().detail);
  fmt::print("{}\nOpen it on the device that becomes {} ({}), once, within ten minutes:\n{}\n", *code,
             text(device, "name"), device_text(device), url);
  if (server.host.starts_with("127.") || server.host == "localhost" || server.host == "::1")
    if (seen_at.empty())
      fmt::print(stderr,
                 "this address is only this machine's: --at https://kitchen.local:7450 says where others reach it\n");
  return 0;
}

int run_devices(const Address& server) {
  const auto answer = http_ask(server, "GET", "/devices");
  if (!answer) return failed(answer.error().detail);
  const Json body = Json::parse(answer->body, nullptr, false);
  if (answer->status != 200 || !body.is_object()) return failed(problem_sentence(*answer));
  const Json devices = body.value("devices", Json::object());
  const Json asking_now = body.value("asking", Json::object());
  for (const auto& [name, device] : devices.items()) {
    const auto open = device.value("open", 0);
    fmt::print("{:<20} {:<18} paired {} by {}{}\n", name, device_text(device), text(device, "paired").substr(0, 16),
               text(device, "by"), open > 0 ? ", here" : "");
  }
  for (const auto& [word, asking] : asking_now.items()) {
    fmt::print("{:<20} asks from {} for {} s: nappe pair {} as ROLE\n", word, text(asking, "from"),
               asking.value("for_s", 0), word);
  }
  return 0;
}

int run_revoke(const Address& server, const std::string& name) {
  constexpr std::string_view plain = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.~";
  std::string path = "/devices/";
  for (const char c : name) {
    if (plain.find(c) != std::string_view::npos) {
      path += c;
    } else {
      path += fmt::format("%{:02X}", static_cast<unsigned char>(c));
    }
  }
  const auto answer = http_ask(server, "DELETE", path);
  if (!answer) return failed(answer.error().detail);
  if (answer->status != 200) return failed(problem_sentence(*answer));
  fmt::print("the pairing of {} has been ended\n", name);
  return 0;
}

}  // namespace nappe::client
