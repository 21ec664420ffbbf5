// nappe: the terminal client. Screens for the stations and the pass, and small commands for the shell.
#include <fmt/format.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <cstdlib>
#include <functional>
#include <iostream>
#include <sstream>

#include "client/batch.hpp"
#include "client/check.hpp"
#include "client/draw.hpp"
#include "client/live.hpp"
#include "client/one_shot.hpp"
#include "client/pairing.hpp"
#include "client/paper.hpp"
#include "client/play.hpp"
#include "client/prep.hpp"
#include "client/record_ask.hpp"
#include "client/rehearse.hpp"
#include "client/screen.hpp"

namespace {

using namespace nappe;
using namespace nappe::client;

// What the options of all commands are read into.
struct Said {
  std::string seen_at;
  std::string server = "127.0.0.1:7450";
  std::string by;
  bool no_colour = false;
  bool screen = false;
  std::string station, line, key, table, course, person, presence, name, folder, rules, prep_folder;
  std::string ca, token_file, word, as, role, device;
  PaperOptions paper;
  std::vector<int> but;
  std::vector<std::string> sheets;
  bool sure = false;
  PlayOptions play;
  PrepOptions prep;
  RehearseOptions rehearse;
};

int sentence(const Error& error) {
  fmt::print(stderr, "{}\n", error.detail);
  return 1;
}

// https://no-color.org: any value that is not empty.
bool colour_wanted(const Said& said) {
  const char* no_colour = std::getenv("NO_COLOR");
  return !said.no_colour && (no_colour == nullptr || no_colour[0] == '\0');
}

// Shows a screen as what it is paired as. `what`: "station:garnish", "pass", or "screen" for whatever the pass says.
int run_screen(const Said& said, const Address& server, const std::string& what) {
  LiveOptions options;
  options.server = server;
  options.by = said.by;
  options.colour = colour_wanted(said);
  for (bool needed = false;; needed = true) {
    const auto paired = let_in(server, what, needed);
    if (!paired) return sentence(paired.error());
    options.server.token = paired->token;
    const bool floor = what == "floor" || (what == "screen" && paired->role == "floor");
    const bool pass = what == "pass" || (what == "screen" && paired->station.empty());
    const std::string station = what == "screen" ? paired->station : said.station;
    if (!pass && !floor && !paired->station.empty() && paired->station != station) {
      return sentence({Errc::conflict, fmt::format("this screen is paired as station {}: show that, or end its pairing "
                                                   "(nappe devices revoke '{}') and pair it anew",
                                                   paired->station, paired->name)});
    }
    const Status shown = floor ? show_floor(options) : pass ? show_pass(options) : show_station(station, options);
    if (shown) return 0;
    if (shown.error().code != Errc::forbidden) return sentence(shown.error());
  }
}

int open_service(const Said& said, const Address& server) {
  std::optional<std::vector<std::string>> checked;
  if (!said.prep_folder.empty()) {
    PrepOptions options = said.prep;
    options.folder = said.prep_folder;
    auto items = checked_items(options);
    if (!items) return sentence(items.error());
    checked = std::move(items).value();
  }
  const std::string by = said.by.empty() ? "command line" : said.by;
  const int opened = run_open(server, said.name, checked, said.sure, by);
  return opened != 0 || said.sheets.empty() ? opened : run_bookings(server, said.sheets, by);
}

using Run = std::function<int(const Said&, const Address&)>;

// The commands; each names its options and what it runs.
void add_screens(CLI::App& app, Said& said, std::map<const CLI::App*, Run>& runs) {
  CLI::App* station = app.add_subcommand("station", "show a station's hand list");
  station->add_option("ID", said.station, "the station: garnish, sauce, ...")->required();
  CLI::App* pass = app.add_subcommand("pass", "show the run-in of the pass");
  CLI::App* floor = app.add_subcommand("floor", "take orders: one line of typing, and what it would mean");
  CLI::App* screen_of = app.add_subcommand("screen", "show whatever the pass says that this device is");
  for (CLI::App* screen : {station, pass, floor, screen_of}) {
    screen->add_option("--as", said.by, "who presses: goes into the record");
    screen->add_flag("--no-colour", said.no_colour, "show the one coloured thing without colour (also NO_COLOR=1)");
  }
  runs[station] = [](const Said& s, const Address& server) { return run_screen(s, server, "station:" + s.station); };
  runs[pass] = [](const Said& s, const Address& server) { return run_screen(s, server, "pass"); };
  runs[floor] = [](const Said& s, const Address& server) { return run_screen(s, server, "floor"); };
  runs[screen_of] = [](const Said& s, const Address& server) { return run_screen(s, server, "screen"); };
}

void add_small(CLI::App& app, Said& said, std::map<const CLI::App*, Run>& runs) {
  CLI::App* ticket = app.add_subcommand("ticket", "send a table's ticket in one line: '8: 1e 2m 3k!milk / 1h 2p 3u'");
  ticket->add_option("LINE", said.line, "table: positions and dishes, courses apart by /, allergies behind !")
      ->required();
  ticket->add_option("--key", said.key, "the ticket's own key: the same key again orders nothing twice");
  ticket->add_flag("--sure", said.sure, "also when the table has just sent the same");
  runs[ticket] = [](const Said& s, const Address& server) { return run_ticket(server, s.line, s.key, s.sure); };

  CLI::App* fire = app.add_subcommand("fire", "fire a course of a table");
  CLI::App* gone = app.add_subcommand("gone", "a course of a table left the pass");
  for (CLI::App* one : {fire, gone}) {
    one->add_option("TABLE", said.table)->required();
    one->add_option("COURSE", said.course, "starters, mains, ...")->required();
    one->add_option("--as", said.by, "who says so");
  }
  gone->add_option("--but", said.but, "positions whose plates stay")->delimiter(',');
  fire->add_flag("--sure", said.sure, "also before the course eaten first has gone");
  gone->add_flag("--sure", said.sure, "also when something seems not to be done");
  runs[fire] = [](const Said& s, const Address& server) {
    return run_fire(server, s.table, s.course, s.sure, s.by.empty() ? "command line" : s.by);
  };
  runs[gone] = [](const Said& s, const Address& server) {
    return run_gone(server, s.table, s.course, s.but, s.sure, s.by.empty() ? "command line" : s.by);
  };

  CLI::App* hands = app.add_subcommand("hands", "a person comes to a station or leaves it");
  hands->add_option("STATION", said.station)->required();
  hands->add_option("PERSON", said.person)->required();
  hands->add_option("ON_OR_OFF", said.presence)->required()->check(CLI::IsMember({"on", "off"}));
  runs[hands] = [](const Said& s, const Address& server) {
    return run_hands(server, s.station, s.person, s.presence == "on", s.by.empty() ? "command line" : s.by);
  };

  CLI::App* open = app.add_subcommand("open", "open the service");
  open->add_option("NAME", said.name, "what it is called: the day")->required();
  open->add_option("--prep", said.prep_folder, "the house's folder: what is crossed out of its line check is done");
  open->add_option("--bookings", said.sheets, "tonight's sheets: which table is wanted again when")
      ->allow_extra_args(false);
  open->add_option("--as", said.by, "who opens it");
  open->add_flag("--sure", said.sure, "also while something of the line check is missing: goes into the record");
  runs[open] = [](const Said& s, const Address& server) { return open_service(s, server); };
  CLI::App* bookings = app.add_subcommand("bookings", "say anew which tables are booked tonight");
  bookings->add_option("FILE", said.sheets, "the sheets, added up")->required();
  runs[bookings] = [](const Said& s, const Address& server) {
    return run_bookings(server, s.sheets, s.by.empty() ? "command line" : s.by);
  };
  CLI::App* close = app.add_subcommand("close", "close the service");
  close->add_flag("--sure", said.sure, "also while tables are in the kitchen");
  runs[close] = [](const Said& s, const Address& server) { return run_close(server, s.sure); };
  CLI::App* check = app.add_subcommand("check", "read a house's files and say everything that is wrong with them");
  check->add_option("DIR", said.folder)->required();
  check->add_option("--rules", said.rules, "folder of the rule sets; else \"rules\" beside DIR");
  runs[check] = [](const Said& s, const Address&) {
    return s.rules.empty() ? check_command(s.folder, std::cout) : check_command(s.folder, s.rules, std::cout);
  };

  CLI::App* status = app.add_subcommand("status", "print all tables as plain text");
  runs[status] = [](const Said&, const Address& server) { return run_status(server); };
}

void add_devices(CLI::App& app, Said& said, std::map<const CLI::App*, Run>& runs) {
  CLI::App* pair = app.add_subcommand("pair", "say which device shows a word: nappe pair leek as station garnish");
  pair->add_option("WORD", said.word, "the word on its screen; \"new\": print a QR code for a device that shows none")
      ->required();
  pair->add_option("AS", said.as)->required()->check(CLI::IsMember({"as"}));
  pair->add_option("ROLE", said.role, "station, pass, floor, probe or manager")
      ->required()
      ->check(CLI::IsMember({"station", "pass", "floor", "probe", "manager"}));
  pair->add_option("STATION", said.station, "of a station: garnish, sauce, ...");
  pair->add_option("--name", said.device, "what it is called; else after its role");
  pair->add_option("--at", said.seen_at, "with \"new\": the address by which the device reaches the server");
  runs[pair] = [](const Said& s, const Address& server) {
    if (s.word == "new") return run_pair_new(server, s.seen_at, s.role, s.station, s.device);
    return run_pair(server, s.word, s.role, s.station, s.device);
  };

  CLI::App* devices = app.add_subcommand("devices", "list the paired devices and the words that wait");
  devices->require_subcommand(0, 1);
  CLI::App* revoke = devices->add_subcommand("revoke", "end a device's pairing, at once");
  revoke->add_option("NAME", said.device)->required();
  revoke->fallthrough();
  runs[devices] = [revoke](const Said& s, const Address& server) {
    return revoke->parsed() ? run_revoke(server, s.device) : run_devices(server);
  };

  CLI::App* paper = app.add_subcommand("paper", "print each station's next 20 minutes and every table, as plain text");
  paper->add_option("--size", said.paper.size, "roll (42 columns) or a4")
      ->capture_default_str()
      ->check(CLI::IsMember({"roll", "a4"}));
  paper->add_option("--from", said.paper.folder, "when the server is dead: the folder of napped --paper");
  runs[paper] = [](const Said& s, const Address& server) { return run_paper(server, s.paper); };
}

void add_play(CLI::App& app, Said& said, std::map<const CLI::App*, Run>& runs) {
  CLI::App* play = app.add_subcommand("play", "play a whole night on a server started with --demo");
  play->add_option("DIR", said.play.folder, "the house's folder, with its bookings")->required();
  play->add_option("--bookings", said.play.bookings, "another sheet of bookings");
  play->add_option("--speed", said.play.speed, "kitchen seconds per second")
      ->capture_default_str()
      ->check(CLI::Range(0.1, 200.0));
  play->add_option("--from", said.play.from, "play fast up to this time of day; else until the room is half full");
  play->add_option("--seed", said.play.seed, "the same seed, the same draws")->capture_default_str();
  runs[play] = [](const Said& s, const Address& server) {
    PlayOptions options = s.play;
    options.server = server;
    return run_play(options);
  };
}

void add_prep(CLI::App& app, Said& said, std::map<const CLI::App*, Run>& runs) {
  PrepOptions& p = said.prep;
  CLI::App* prep = app.add_subcommand("prep", "the day's prep list: how much of everything, by when, in what order");
  prep->add_option("DIR", p.folder, "the house's folder, with its prep file and its bookings")->required();
  prep->add_option("--bookings", p.bookings, "other sheets of bookings, added up")->allow_extra_args(false);
  prep->add_option("--against", p.against, "sheets the list was made for before: print only what changes")
      ->allow_extra_args(false);
  prep->add_option("--ratio", p.ratio, "what one too few costs, over that and what one too many costs");
  prep->add_flag("--as-booked", p.as_booked, "take orders that stand on the sheets as pre-orders");
  prep->add_option("--html", p.page, "write a page for printing to this file");
  prep->add_option("--json", p.json, "write the figures to this file");
  prep->add_option("--cross", p.cross, "cross out a line by its number, or rub its cross out")->delimiter(',');
  prep->add_flag("--undo", p.undo, "take the last crossing back");
  prep->add_flag("--list", said.screen, "show the list on the terminal, to be crossed out with a key");
  prep->add_flag("--no-colour", said.no_colour, "no colour (also NO_COLOR=1)");
  prep->add_option("--kept", p.crossings, "the file that keeps what is crossed out, instead of the usual one");
  runs[prep] = [prep](const Said& s, const Address& server) {
    PrepOptions options = s.prep;
    options.columns = terminal_columns();
    // Only a server that was named is asked: the list is made on mornings when none is running.
    if (prep->count("--server") > 0 || std::getenv("NAPPE_SERVER") != nullptr)
      options.live = [server] { return live_record(server); };
    return s.screen ? prep_screen_command(options, colour_wanted(s), std::cerr)
                    : prep_command(options, std::cout, std::cerr);
  };
}

// Sentences, folded to the terminal's width.
void print_folded(const std::string& text) {
  const int columns = terminal_columns();
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    if (columns_of(line) <= columns) {
      std::cout << line << '\n';
      continue;
    }
    for (const std::string& part : wrapped(line, columns)) std::cout << part << '\n';
  }
}

void add_rehearse(CLI::App& app, Said& said, std::map<const CLI::App*, Run>& runs) {
  RehearseOptions& r = said.rehearse;
  CLI::App* rehearse = app.add_subcommand("rehearse", "play many nights in advance: can the line carry them?");
  rehearse->add_option("DIR", r.folder, "the house's folder, with its bookings")->required();
  // One value each time: a folder named behind them is DIR.
  const auto repeated = [&](const char* name, std::vector<std::string>& into, const char* value,
                            const std::string& what) {
    rehearse->add_option(name, into, what + "; repeat the option to add another")
        ->type_name(value)
        ->expected(1)
        ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  };
  repeated("--bookings", r.bookings, "FILE", "a sheet instead of the house's bookings.json");
  rehearse->add_option("--covers", r.covers, "add or take away parties to come to this many covers");
  rehearse->add_option("--nights", r.nights, "how many nights")->capture_default_str();
  repeated("--without", r.without, "DISH", "a dish that is off, by id or name");
  repeated("--hands", r.hands, "STATION=PAIRS", "other pairs of hands at a station: garnish=3");
  rehearse->add_option("--seed", r.seed, "the same seed, the same figures")->type_name("NUMBER")->capture_default_str();
  rehearse->add_option("--plan", r.plan, "planner, alone, fixed or at_fire")->capture_default_str();
  rehearse->add_option("--plays", r.plays, "plays of a plan for each word; 0: by the sum of variances");
  rehearse->add_option("--tries", r.tries, "the planner's tries at a better plan after each event")
      ->capture_default_str();
  rehearse->add_flag("--curve", r.curve, "also five settings from fresh to prompt, and each table alone");
  rehearse->add_option("--prompt", r.prompt, "fresh (0) ... prompt (1), instead of the house's setting");
  rehearse->add_option("--bias", r.bias, "everything takes this many times as long as the files say")
      ->capture_default_str();
  rehearse->add_option("--scatter", r.scatter, "factor on the scatter of durations")->capture_default_str();
  rehearse->add_flag("--as-booked", r.as_booked, "take orders from the sheet where it has them");
  rehearse->add_option("--helped", r.helped, "nights for each change that might have helped; 0: none")
      ->capture_default_str();
  rehearse->add_option("--threads", r.threads, "0: one for each core")->capture_default_str();
  rehearse->add_option("--json", r.json, "write the figures to this file");
  rehearse->add_option("--page", r.page, "write a page with drawings to this file");
  rehearse->add_flag("--quiet", r.quiet, "no progress bar");
  runs[rehearse] = [](const Said& s, const Address&) {
    RehearseOptions options = s.rehearse;
    options.quiet = options.quiet || isatty(STDERR_FILENO) == 0;
    std::ostringstream printed;
    const int code = rehearse_command(options, printed, std::cerr);
    print_folded(printed.str());
    return code;
  };
}

int run(int argc, char** argv) {
  CLI::App app{"nappe: a kitchen's line at the terminal"};
  app.require_subcommand(1);
  Said said;
  std::map<const CLI::App*, Run> runs;
  add_screens(app, said, runs);
  add_small(app, said, runs);
  add_devices(app, said, runs);
  add_play(app, said, runs);
  add_prep(app, said, runs);
  for (const auto& [command, run] : add_record_commands(app))
    runs[command] = [asked = run](const Said&, const Address& server) { return asked(server); };
  add_rehearse(app, said, runs);
  // Not left to the parser: it reads the variable once for each subcommand, and over what was typed.
  if (const char* server = std::getenv("NAPPE_SERVER")) said.server = server;
  for (const auto& [command, unused] : runs) {
    CLI::App* one = app.get_subcommand(command->get_name());
    one->add_option("--server", said.server, "where napped listens; https://... where it encrypts; else $NAPPE_SERVER")
        ->capture_default_str();
    one->add_option("--token-file", said.token_file, "file with the token to come in with");
    one->add_option("--ca", said.ca, "PEM file of the certificates to trust; else the first one met is kept");
  }
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error);
  }
  auto server = read_address(said.server);
  if (!server) return sentence(server.error());
  server.value().ca_file = said.ca;
  server.value().pin_file = paired_file(*server, "certificate").replace_extension(".sha256").string();
  const CLI::App* asked = app.get_subcommands().front();
  const bool screen = asked->get_name() == "station" || asked->get_name() == "pass" || asked->get_name() == "screen";
  if (!screen || !said.token_file.empty()) {
    auto token = command_token(*server, said.token_file);
    if (!token) return sentence(token.error());
    server.value().token = std::move(token).value();
  }
  return runs.at(asked)(said, *server);
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const std::exception& error) {
    fmt::print(stderr, "nappe stopped: {}\n", error.what());
    return 1;
  }
}
