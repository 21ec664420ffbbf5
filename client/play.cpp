#include "client/play.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/asio/signal_set.hpp>
#include <csignal>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "client/connection.hpp"
#include "client/http.hpp"
#include "client/night.hpp"
#include "client/one_shot.hpp"
#include "client/session.hpp"
#include "client/words.hpp"
#include "common/kitchen/load.hpp"
#include "common/line/ticket_line.hpp"

namespace nappe::client {
namespace {

namespace asio = boost::asio;
using Json = nlohmann::json;
using Clock = std::chrono::steady_clock;

constexpr Duration before_first = minutes(5);
constexpr Duration longest_step = seconds(30);  // In the fast part the clock is never set further ahead at once.
constexpr Duration longest_night = std::chrono::hours(9);
constexpr std::chrono::milliseconds settled_after{4};  // No frame for so long: the server has said all.
constexpr std::chrono::seconds patience{10};           // For an answer, in the fast part.

double steady_ms() { return std::chrono::duration<double, std::milli>(Clock::now().time_since_epoch()).count(); }

Error in_words(const std::vector<kitchen::Fault>& faults) {
  return Error{Errc::invalid, kitchen::to_string(faults.front())};
}

Result<kitchen::File> read_file(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in) return Error{Errc::unknown, fmt::format("cannot read {}", path.string())};
  std::ostringstream text;
  text << in.rdbuf();
  return kitchen::File{path.string(), text.str()};
}

// Everything the night is made of, read before anything is touched.
struct Material {
  kitchen::Kitchen kitchen;
  kitchen::BookingSheet sheet;
  kitchen::IncidentSheet incidents;
};

Result<Material> read_material(const PlayOptions& options) {
  const auto answer = http_ask(options.server, "GET", "/kitchen");
  if (!answer) return answer.error();
  if (answer->status != 200) return Error{Errc::unavailable, problem_sentence(*answer)};
  auto kitchen = kitchen::from_document(answer->body);
  if (!kitchen) return in_words(kitchen.faults);
  Material out{std::move(*kitchen.value), {}, {}};
  const std::filesystem::path folder = options.folder;
  const auto bookings =
      read_file(options.bookings.empty() ? folder / "bookings.json" : std::filesystem::path(options.bookings));
  if (!bookings) return bookings.error();
  auto sheet = kitchen::load_bookings(*bookings, out.kitchen);
  if (!sheet) return in_words(sheet.faults);
  out.sheet = std::move(*sheet.value);
  const auto events = read_file(folder / "events.json");
  if (!events || !options.bookings.empty()) return out;  // Without incidents, or they belong to the other sheet.
  auto incidents = kitchen::load_events(*events, out.kitchen, out.sheet);
  if (!incidents) return in_words(incidents.faults);
  out.incidents = std::move(*incidents.value);
  return out;
}

// "19:55" on that day.
Result<Instant> time_of_day(const std::string& text, Instant midnight) {
  int hour = 0, minute = 0;
  char behind = 0;
  if (std::sscanf(text.c_str(), "%2d:%2d%c", &hour, &minute, &behind) != 2 || hour < 0 || hour > 23 || minute < 0 ||
      minute > 59) {
    return Error{Errc::invalid, "\"" + text + "\" is no time of day: write it as 19:55"};
  }
  return midnight + minutes(hour * 60 + minute);
}

class Player {
 public:
  Player(const PlayOptions& options, const Material& material, Instant midnight)
      : options_(options),
        offset_(minutes(material.kitchen.settings.utc_offset_minutes)),
        kitchen_(material.kitchen),
        bookings_(bookings_json(material.sheet, midnight)),
        night_(material.kitchen, material.sheet, material.incidents, midnight, options.seed),
        session_("play", screens(material.kitchen), hears()),
        signals_(io_, SIGINT, SIGTERM),
        connection_(io_, options.server, connection_hears()),
        id_stem_(fresh_id()) {}

  int run(std::optional<Instant> from) {
    signals_.async_wait([this](boost::system::error_code error, int) { stopped_ = stopped_ || !error; });
    connection_.start();
    if (!wait_until([this] { return session_.screen("pass") != nullptr; })) {
      return failed("no answer from the server at " + address_text(options_.server));
    }
    if (Status opened = open_service(); !opened) return failed(opened.error().detail);
    const Instant fast_until = from.value_or(night_.half_full());
    begin_ = night_.first_booking() - before_first;
    say(begin_, fmt::format("seed {}: fast to {}, then {:g} times as fast as the wall", options_.seed,
                            clock_text(fast_until, offset_), options_.speed));
    if (Status played = play_fast(fast_until); !played) return failed(played.error().detail);
    if (Status set = set_clock(options_.speed, {}); !set) return failed(set.error().detail);
    play_live();
    // The night is over: from here the kitchen's clock is one that people can live by.
    if (Status set = set_clock(1, {}); !set) fmt::print(stderr, "{}\n", set.error().detail);
    fmt::print("{}\n", night_.sum(pass_));
    return stopped_ && !over_ ? 130 : 0;
  }

 private:
  static std::vector<std::string> screens(const kitchen::Kitchen& kitchen) {
    std::vector<std::string> out{"pass"};
    for (const kitchen::Station& station : kitchen.stations) out.push_back("station:" + station.id);
    return out;
  }

  Session::Hears hears() {
    return {[this](const std::string& screen) { changed_.insert(screen); },
            [this](const Kept& kept, const std::string& problem, const std::string&) { answered(kept, problem); },
            nullptr, nullptr};
  }

  Connection::Hears connection_hears() {
    return {[this] { connection_.send(session_.opened(steady_ms())); },
            [this](const std::string& frame) {
              last_frame_ = Clock::now();
              connection_.send(session_.received(frame, steady_ms()));
            },
            [this](const std::string& why) {
              session_.closed(steady_ms());
              fmt::print("the link is down ({}): presses are kept\n", why);
              std::fflush(stdout);
            },
            nullptr, nullptr};
  }

  int failed(const std::string& sentence) {
    fmt::print(stderr, "{}\n", sentence);
    return 1;
  }

  void say(Instant at, const std::string& line) {
    fmt::print("{} {}\n", clock_text(at, offset_), line);
    std::fflush(stdout);
  }

  template <class Condition>
  bool wait_until(Condition condition) {
    const auto until = Clock::now() + patience;
    while (!condition() && !stopped_) {
      if (Clock::now() > until) return false;
      io_.run_one_for(std::chrono::milliseconds(20));
    }
    return !stopped_;
  }

  // Until all is answered and nothing more comes.
  void settle() {
    wait_until([this] { return session_.outbox().kept().empty(); });
    last_frame_ = Clock::now();
    while (!stopped_ && Clock::now() - last_frame_ < settled_after) io_.run_one_for(std::chrono::milliseconds(1));
    read_screens();
  }

  void read_screens() {
    for (const std::string& name : changed_) {
      const Subscription* screen = session_.screen(name);
      if (screen == nullptr) continue;
      if (name == "pass") {
        pass_ = read_pass(screen->document);
      } else {
        stations_[name.substr(8)] = read_station(screen->document);
      }
    }
    changed_.clear();
  }

  Status open_service() {
    read_screens();
    changed_.insert("pass");
    read_screens();
    if (pass_.service.open) {
      if (pass_.courses.empty()) return Done{};
      return Error{Errc::conflict,
                   "a service with tables in it is open: close it (nappe close --sure), or start napped "
                   "on a new journal"};
    }
    if (Status set = set_clock(0, night_.first_booking() - before_first); !set) return set;
    if (Status open = ask_at_first({{"open_service", {{"name", "Friday"}, {"document", ""}}}}); !open) return open;
    return ask_at_first({{"take_bookings", bookings_}});
  }

  // A command from the pass before anybody comes.
  Status ask_at_first(const Json& action) {
    const Json text{
        {"id", fresh_id()}, {"by", "Mara"}, {"at_ms", to_ms(night_.first_booking() - before_first)}, {"do", action}};
    const auto answer = http_ask(options_.server, "POST", "/commands", text.dump());
    if (!answer) return answer.error();
    if (answer->status / 100 != 2) return Error{Errc::refused, problem_sentence(*answer)};
    return Done{};
  }

  Status set_clock(double rate, std::optional<Instant> at) {
    Json body{{"rate", rate}};
    if (at) body["at_ms"] = to_ms(*at);
    const auto answer = http_ask(options_.server, "POST", "/demo/clock", body.dump());
    if (!answer) return answer.error();
    if (answer->status != 200) return Error{Errc::refused, "the clock cannot be set: " + problem_sentence(*answer)};
    return Done{};
  }

  // The early evening, as fast as the server can: its clock stands still and is set on from one deed to the next.
  Status play_fast(Instant until) {
    Instant now = begin_;
    while (now < until && !stopped_) {
      if (Status set = set_clock(0, now); !set) return set;
      settle();
      // What one deed makes possible may be done in the same moment; three rounds are plenty.
      for (int round = 0; round < 3; ++round) {
        if (carry_out(now) == 0) break;
        settle();
      }
      print_lines();
      const Instant wanted = night_.next(pass_, stations_, now).value_or(now + longest_step);
      now = std::clamp(wanted, now + seconds(1), now + longest_step);
      now = std::min(now, until);
    }
    return Done{};
  }

  // The rest by the running clock.
  void play_live() {
    int ticks = 0;
    while (!stopped_ && !over_) {
      io_.run_for(std::chrono::milliseconds(40));
      if (io_.stopped()) io_.restart();
      if (++ticks % 25 == 0) connection_.send(session_.tick(steady_ms()));
      const auto now = session_.clock().now(steady_ms());
      if (!now) continue;
      read_screens();
      carry_out(*now);
      print_lines();
      over_ = night_.over(pass_) || *now > begin_ + longest_night;
    }
  }

  // Does what is due; returns how much that was.
  std::size_t carry_out(Instant now) {
    const std::vector<Deed> deeds = night_.step(pass_, stations_, now);
    for (const Deed& deed : deeds) {
      if (deed.kind == Deed::Kind::ticket) {
        send_ticket(deed, now);
      } else {
        send_command(deed);
      }
    }
    return deeds.size();
  }

  void send_ticket(const Deed& deed, Instant now) {
    if (const Status fine = line::check_order(deed.order, kitchen_); !fine) {
      return night_.ticket_refused(deed.booking, fine.error().detail, now);
    }
    const std::string line = line::write_ticket_line(deed.order, kitchen_);
    const auto answer = http_ask(options_.server, "POST", "/tickets?by=" + deed.by, line,
                                 {{"Idempotency-Key", fmt::format("\"{}-{}\"", id_stem_, deed.key)},
                                  {"Content-Type", "text/plain; charset=utf-8"}},
                                 std::chrono::seconds(5));
    if (!answer) return;  // It is ordered again after a while, under the same key.
    const Json body = Json::parse(answer->body, nullptr, false);
    if (answer->status / 100 == 2 && body.is_object() && body.value("ticket", 0) > 0) {
      return night_.ticket_sent(deed.booking, body.value("ticket", 0));
    }
    night_.ticket_refused(deed.booking, problem_sentence(*answer), now);
  }

  void send_command(const Deed& deed) {
    const auto same = [&](const auto& other) {
      return !deed.ask.item.empty() && other.second.ask.item == deed.ask.item && other.second.ask.says == deed.ask.says;
    };
    if (std::any_of(on_the_way_.begin(), on_the_way_.end(), same)) return;  // Said already, not answered yet.
    Kept kept{fmt::format("{}-{}", id_stem_, ++ids_made_), deed.by, to_ms(deed.at), deed.ask, false};
    on_the_way_[kept.id] = deed;
    auto frames = session_.press(std::move(kept));
    if (frames) connection_.send(std::move(frames).value());
  }

  void answered(const Kept& kept, const std::string& problem) {
    const auto found = on_the_way_.find(kept.id);
    if (found == on_the_way_.end()) return;
    const Deed deed = std::move(found->second);
    on_the_way_.erase(found);
    if (problem.empty() || deed.ask.item.empty()) return;  // An alert that is over by itself is no refusal.
    night_.refused(deed, session_.clock().now(steady_ms()).value_or(deed.at));
    refused_.push_back({deed.at, fmt::format("{}: refused: {}", deed.ask.says, problem)});
  }

  void print_lines() {
    for (const std::string& line : night_.take_lines()) fmt::print("{}\n", line);
    for (const auto& [at, line] : refused_) fmt::print("{} {}\n", clock_text(at, offset_), line);
    refused_.clear();
    std::fflush(stdout);
  }

  const PlayOptions& options_;
  Duration offset_;
  const kitchen::Kitchen& kitchen_;
  Json bookings_;
  Night night_;
  asio::io_context io_{1};
  Session session_;
  asio::signal_set signals_;
  Connection connection_;
  std::string id_stem_;
  unsigned ids_made_ = 0;
  std::map<std::string, Deed> on_the_way_;
  std::vector<std::pair<Instant, std::string>> refused_;
  std::set<std::string> changed_;
  PassScreen pass_;
  std::map<std::string, StationScreen> stations_;
  Clock::time_point last_frame_{};
  Instant begin_{};
  bool stopped_ = false;
  bool over_ = false;
};

// The day of the service: today by the server's clock, or tomorrow when the first booking is over already.
Result<Instant> midnight_of(const PlayOptions& options, const Material& material) {
  const auto answer = http_ask(options.server, "GET", "/clock");
  if (!answer) return answer.error();
  const Json clock = Json::parse(answer->body, nullptr, false);
  if (answer->status != 200 || !clock.is_object() || !clock.contains("now_ms") || !clock["now_ms"].is_number()) {
    return Error{Errc::unavailable, problem_sentence(*answer)};
  }
  const Duration offset = minutes(material.kitchen.settings.utc_offset_minutes);
  const Instant now = from_ms(clock["now_ms"].get<std::int64_t>());
  Instant midnight = std::chrono::floor<std::chrono::days>(now + offset) - offset;
  if (midnight + material.sheet.bookings.front().at - before_first <= now) midnight += std::chrono::days(1);
  return midnight;
}

}  // namespace

int run_play(const PlayOptions& options) {
  const auto sentence = [](const Error& error) {
    fmt::print(stderr, "{}\n", error.detail);
    return 1;
  };
  const auto material = read_material(options);
  if (!material) return sentence(material.error());
  if (material->sheet.bookings.empty()) return sentence(Error{Errc::invalid, "the sheet has no bookings"});
  const auto midnight = midnight_of(options, *material);
  if (!midnight) return sentence(midnight.error());
  std::optional<Instant> from;
  if (!options.from.empty()) {
    const auto asked = time_of_day(options.from, *midnight);
    if (!asked) return sentence(asked.error());
    from = *asked;
  }
  Player player(options, *material, *midnight);
  return player.run(from);
}

}  // namespace nappe::client
