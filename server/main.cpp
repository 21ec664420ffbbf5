// napped: starts the parts in order, runs, and stops them in the opposite order.

#include <fmt/format.h>
#include <sodium.h>
#include <sys/resource.h>

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <csignal>
#include <cstdio>
#include <fstream>
#include <iostream>
#include <nlohmann/json.hpp>

#include "common/line/quiet.hpp"
#include "common/line/ticket_line.hpp"
#include "common/wire/paper.hpp"
#include "server/access.hpp"
#include "server/api.hpp"
#include "server/archive.hpp"
#include "server/config.hpp"
#include "server/console.hpp"
#include "server/display.hpp"
#include "server/draft.hpp"
#include "server/engine.hpp"
#include "server/journal.hpp"
#include "server/kitchen_folder.hpp"
#include "server/listener.hpp"
#include "server/log.hpp"
#include "server/metrics.hpp"
#include "server/pairing.hpp"
#include "server/paper.hpp"
#include "server/probe_feed.hpp"
#include "server/tls.hpp"
#include "server/tokens.hpp"
#include "server/verify.hpp"

using namespace nappe;
using namespace nappe::server;

namespace {

constexpr std::size_t patches_kept = 256;
constexpr std::chrono::seconds stop_patience{3};

int give_up(const Error& error) {
  std::cerr << "napped: " << error.detail << '\n';
  return 1;
}

Instant wall_now() { return std::chrono::time_point_cast<Duration>(std::chrono::system_clock::now()); }

/// A name for this run of the server: numbers of screens mean nothing in another.
std::string new_epoch() {
  constexpr std::string_view letters = "abcdefghijkmnpqrstuvwxyz23456789";
  static_assert(letters.size() == 32);
  std::string epoch;
  for (int n = 0; n < 8; ++n) epoch += letters[randombytes_uniform(letters.size())];
  return epoch;
}

/// The clock goes on from a demo's anchor in the journal; without one it shows the wall's time.
Result<KitchenClock> resume_clock(JournalReader& reader, bool demo) {
  const auto steady = std::chrono::steady_clock::now();
  const auto stored = reader.meta("clock");
  if (!stored) return stored.error();
  if (!demo || !*stored) return KitchenClock(wall_now(), steady, 1.0);
  const auto anchor = read_anchor(**stored);
  if (!anchor) return anchor.error();
  return KitchenClock::resumed(*anchor, wall_now(), steady, Instant{});
}

/// Opens the service as if somebody had asked for it.
void open_service(Engine& engine, const std::string& name) {
  line::Command command;
  command.id = "open:" + new_epoch();
  command.by = "napped";
  command.at = engine.now();
  command.action = line::OpenService{name, {}};
  engine.submit(std::move(command), digest_of(name), [](const Answer& answer) {
    if (answer.done) return log_info("service opened");
    std::cerr << "napped: the service was not opened: " << answer.error.detail << '\n';
  });
}

/// Why the journal could not be replayed. Where its chain is broken that is the reason, and what to do about it.
Error why_not(const Error& replayed, JournalReader& reader) {
  const Status whole = reader.check();
  if (whole) return replayed;
  return {
      replayed.code,
      fmt::format("{}: it was changed outside this program, and nothing is built on it ({}). Keep the file as it is; "
                  "start on a copy from before, or on a new one with --journal",
                  whole.error().detail, replayed.detail)};
}

bool write_port(const std::string& file, std::uint16_t port) {
  // Renamed into place, so that nobody ever reads half a port.
  const std::string fresh = file + ".new";
  std::ofstream stream(fresh);
  stream << port << '\n';
  stream.close();
  return stream && std::rename(fresh.c_str(), file.c_str()) == 0;
}

/// Stop accepting, say goodbye to all, let the engine finish what it took; cut whoever is left when patience ends.
class Closing {
 public:
  Closing(asio::io_context& context, Listener& listener, House& house, Engine& engine)
      : context_(context), listener_(listener), house_(house), engine_(engine), deadline_(context) {}

  void begin() {
    if (house_.closing) return context_.stop();  // asked twice
    house_.closing = true;
    log_info("closing");
    listener_.stop();
    engine_.stop([this] {
      // Answers are in the outboxes now: the goodbye goes behind them.
      const auto open = house_.open;
      for (Closable* closable : open) closable->close_going_away();
      wait();
    });
    deadline_.expires_after(stop_patience);
    deadline_.async_wait([this](const ErrorCode& error) {
      if (error) return;
      const auto open = house_.open;
      for (Closable* closable : open) closable->cut();
      context_.stop();
    });
  }

 private:
  /// Looks every few milliseconds whether the last connection has gone.
  void wait() {
    if (house_.open.empty()) return context_.stop();
    look_.expires_after(std::chrono::milliseconds(5));
    look_.async_wait([this](const ErrorCode& error) {
      if (!error) wait();
    });
  }

  asio::io_context& context_;
  Listener& listener_;
  House& house_;
  Engine& engine_;
  asio::steady_timer deadline_;
  asio::steady_timer look_{context_};
};

/// Every device needs a file descriptor; the usual soft limit of 1,024 is less than the system would allow.
void raise_file_limit() {
  rlimit limit{};
  if (::getrlimit(RLIMIT_NOFILE, &limit) != 0) return;
  limit.rlim_cur = std::min<rlim_t>(limit.rlim_max, 8192);
  ::setrlimit(RLIMIT_NOFILE, &limit);
}

struct Journals {
  std::unique_ptr<JournalWriter> writer;
  std::unique_ptr<JournalReader> reader;
  std::unique_ptr<JournalReader> archive;  ///< For pages of the record, on a thread of their own.
};

Result<Journals> open_journals(const std::string& path) {
  Journals journals;
  auto writer = JournalWriter::open(path);
  if (!writer) return writer.error();
  auto reader = JournalReader::open(path);
  if (!reader) return reader.error();
  auto archive = JournalReader::open(path);
  if (!archive) return archive.error();
  journals.writer = std::move(writer).value();
  journals.reader = std::move(reader).value();
  journals.archive = std::move(archive).value();
  return journals;
}

/// Announces the port; false when the port file cannot be written.
bool announce(const Config& config, const Listener& listener) {
  if (config.listen.port == 0) std::cout << "listening on port " << listener.port() << std::endl;
  if (!config.port_file.empty() && !write_port(config.port_file, listener.port())) {
    std::cerr << "napped: cannot write --port-file " << config.port_file << '\n';
    return false;
  }
  log_info(fmt::format("listening address={} port={}", config.listen.host, listener.port()));
  return true;
}

/// The paper line of what the screens show now.
std::string paper_of(const Board& board, const Engine& engine, const std::string& size) {
  std::map<std::string, nlohmann::json> documents;
  for (const std::string& name : board.names()) documents.emplace(name, board.document(name));
  const auto& kitchen = engine.state().kitchen;
  const Duration offset = minutes(kitchen ? kitchen->settings.utc_offset_minutes : 0);
  return wire::paper_text(documents, engine.now(), offset, size == "a4" ? wire::paper_a4 : wire::paper_roll);
}

/// Who may come in, read or made before the first connection.
struct Gate {
  std::unique_ptr<TokenBook> book;
  std::unique_ptr<Pairing> pairing;
  std::unique_ptr<Access> access;
};

std::set<std::string> stations_shown(const Board& board) {
  constexpr std::string_view prefix = "station:";
  std::set<std::string> stations;
  for (const std::string& screen : board.names()) {
    if (screen.starts_with(prefix)) stations.insert(screen.substr(prefix.size()));
  }
  return stations;
}

Result<Gate> open_gate(const Config& config, std::function<std::set<std::string>()> stations) {
  Gate gate;
  auto book = TokenBook::open(config.devices);
  if (!book) return book.error();
  gate.book = std::move(book).value();
  gate.pairing = std::make_unique<Pairing>(Pairing::Chance{
      [](std::size_t below) { return randombytes_uniform(static_cast<std::uint32_t>(below)); }, new_token});
  AccessParts parts{*gate.book, *gate.pairing, config.pairing || !is_loopback(config.listen),
                    {},         wall_now,      std::move(stations)};
  if (parts.tokens_needed) {
    const std::string file = config.devices + ".console";
    auto token = write_console_token(file);
    if (!token) return token.error();
    parts.console_token = std::move(token).value();
    std::cout << "devices must be paired; from here: nappe pair WORD as pass --token-file " << file << std::endl;
  }
  gate.access = std::make_unique<Access>(std::move(parts));
  return gate;
}

int serve(const Config& config, const std::set<std::string>& stations, Journals journals) {
  const KitchenFolders folders{config.kitchen_folder, config.rules_folder};
  const auto document = [folders] { return read_kitchen_document(folders); };
  const auto line_check = [folders] { return read_line_check(folders); };
  const auto clock = resume_clock(*journals.reader, config.demo);
  if (!clock) return give_up(clock.error());

  // The io_context's destructor ends suspended coroutines: what their destructors touch (the house's list of open
  // connections) stands above it. What has timers of its own (engine, api) stands below it, and goes first.
  Metrics metrics;
  Board board(new_epoch(), patches_kept);
  Hub hub(board, metrics);
  auto gate = open_gate(config, [&board, &stations] {
    // Those of the house as it stands in its folder, and those of the service that is open.
    std::set<std::string> all = stations_shown(board);
    all.insert(stations.begin(), stations.end());
    return all;
  });
  if (!gate) return give_up(gate.error());
  std::unique_ptr<Tls> tls;
  if (!config.tls_certificate.empty()) {
    auto opened = Tls::open(config.tls_certificate, config.tls_key);
    if (!opened) return give_up(opened.error());
    tls = std::move(opened).value();
    std::cout << "certificate SHA-256 " << tls->fingerprint() << std::endl;
  }
  std::unique_ptr<House> house;
  asio::io_context context{1};

  const KitchenClock* running = &*clock;  // until the engine has taken it over, and may have set it
  plan::Planner planner;
  DisplayParts shown{
      metrics, [&hub](const std::string& screen, nlohmann::json fresh) { return hub.show(screen, std::move(fresh)); },
      [&hub](const std::vector<std::string>& screens) { hub.keep_only(screens); }, [&running] { return *running; },
      [&planner](const line::State& state, Instant now, const plan::Plan* before) {
        return planner.make(state, now, before);
      }};
  Display display(context, std::move(shown));
  plan::Planner promises;  // of its own: the other is at work on another thread
  EngineParts parts{*journals.writer,
                    *journals.reader,
                    metrics,
                    document,
                    [&](const line::State& state, const line::CourseKey& course, Instant now) {
                      const line::Assumed assumed = line::assume(state, now);  // as the screens were planned
                      return promises.meet_if_fired(assumed.over(state), course, now, &display.plan());
                    },
                    [&display](const line::State& state, std::int64_t number) { display.changed(state, number); }};
  parts.line_check = line_check;
  parts.complete = [folders](line::Action& action, const line::State& state) {
    return complete_action(folders, state, action);
  };
  parts.rules = [folders](const kitchen::Kitchen& kitchen) { return read_rule_texts(folders, kitchen.rules); };
  Engine engine(context, std::move(parts), *clock);
  running = &engine.clock();
  if (const auto replayed = engine.replay(); !replayed) return give_up(why_not(replayed.error(), *journals.reader));
  const auto paper = [&board, &engine](const std::string& size) { return paper_of(board, engine, size); };
  plan::Planner drafts;
  const auto draft = [&](const line::State& state, const line::Order& order, Instant now) {
    const line::Assumed assumed = line::assume(state, now);
    return draft_document(assumed.over(state), order, now, drafts, &display.plan());
  };
  Archive archive(context, std::move(journals.archive));
  const auto when_shown = [&display](std::int64_t number, std::function<void()> then) {
    display.when_shown(number, std::move(then));
  };
  ApiParts api_parts{
      engine, *gate->access, hub,        *journals.reader,  archive,    metrics, document, line::read_ticket_line,
      draft,  paper,         when_shown, config.web_folder, config.demo};
  Api api(std::move(api_parts));
  house = std::make_unique<House>(
      House{api, *gate->access, {engine, hub, metrics}, {}, tls.get(), is_loopback(config.listen)});

  Listener listener(context, *house);
  if (const auto open = listener.open(config.listen); !open) return give_up(open.error());
  ProbePace pace;
  ProbeFeed probes(context, [&engine, &pace](const std::string& topic, const std::string& payload) {
    const auto turn = pace.take(topic, std::chrono::steady_clock::now());
    if (turn == ProbePace::Turn::first_left_out) log_warn(fmt::format("readings left out, too often: topic={}", topic));
    if (turn != ProbePace::Turn::taken) return;
    auto command = read_probe_message(topic, payload, engine.now());
    if (!command) return log_warn(fmt::format("reading refused topic={}: {}", topic, command.error().detail));
    // The digest of a message without an instant is its own each time, as is its id.
    engine.submit(std::move(command).value(), digest_of(topic + payload), [topic](const Answer& answer) {
      if (!answer.done) log_warn(fmt::format("reading refused topic={}: {}", topic, answer.error.detail));
    });
  });
  if (!config.mqtt.empty()) {
    if (const Status started = probes.start(config.mqtt); !started) return give_up(started.error());
  }
  PaperKeeper keeper(context, {config.paper, [&engine] { return engine.clock(); }, paper});
  if (const Status kept = keeper.start(); !kept) return give_up(kept.error());
  Closing closing(context, listener, *house, engine);
  // SIGPWR: what watches the mains says that they are gone. Then there is paper, and the battery serves on.
  asio::signal_set signals(context, SIGINT, SIGTERM, SIGPWR);
  const std::function<void()> await_signal = [&] {
    signals.async_wait([&](const ErrorCode& error, int signal) {
      if (error) return;
      if (const Status kept = keeper.write(); !kept) log_error(kept.error().detail);
      if (signal != SIGPWR) closing.begin();
      await_signal();
    });
  };
  await_signal();
  if (!config.open_name.empty() && engine.state().service == line::ServiceState::closed) {
    open_service(engine, config.open_name);
  }
  spawn(context.get_executor(), "listener", listener.run());
  if (!announce(config, listener)) return 1;
  context.run();
  display.stop();
  log_info("closed");
  return 0;
}

int run(int argc, char** argv) {
  const Parsed parsed = read_command_line(argc, argv);
  if (parsed.exit_code >= 0) return parsed.exit_code;
  const Config& config = parsed.config;
  if (!open_log(config.log_level))
    return give_up(Error{Errc::invalid, "--log-level is debug, info, warn, error or off"});
  // A peer or a pipe that has gone, and a file that may not grow, are errors of a write and no reason to die.
  std::signal(SIGPIPE, SIG_IGN);
  std::signal(SIGXFSZ, SIG_IGN);
  raise_file_limit();
  if (sodium_init() < 0) return give_up(Error{Errc::unavailable, "no source of random numbers"});
  if (!config.verify.empty()) return verify_journal(config.verify);

  if (!is_loopback(config.listen) && config.tls_certificate.empty() && !config.open_to_network) {
    return give_up(Error{Errc::refused, "--listen " + config.listen.host +
                                            ": others could listen in; give --tls-cert and --tls-key, or say "
                                            "--open-to-network to allow it without TLS"});
  }
  // The house is read even if the journal has its own version: faults should show now, not at the next opening.
  const auto house = read_kitchen({config.kitchen_folder, config.rules_folder});
  for (const std::string& fault : house.faults) std::cerr << fault << '\n';
  if (!house.faults.empty()) return 1;
  auto journals = open_journals(config.journal);
  if (!journals) return give_up(journals.error());
  std::set<std::string> stations;
  for (const auto& station : house.kitchen->stations) stations.insert(station.id);
  return serve(config, stations, std::move(journals).value());
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const std::exception& error) {
    std::cerr << "napped: " << error.what() << '\n';
    return 1;
  }
}
