#include "client/one_shot.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <nlohmann/json.hpp>
#include <random>

#include "client/documents.hpp"
#include "client/house_files.hpp"
#include "client/http.hpp"
#include "client/model.hpp"
#include "client/words.hpp"
#include "common/kitchen/load.hpp"

namespace nappe::client {
namespace {

using Json = nlohmann::json;

int done(const std::string& sentence) {
  fmt::print("{}\n", sentence);
  return 0;
}

int failed(const std::string& sentence) {
  fmt::print(stderr, "{}\n", sentence);
  return 1;
}

// The server's clock dates a command of the command line: it is pressed now, and this machine's clock may be wrong.
Result<std::int64_t> kitchen_now_ms(const Address& server) {
  const auto answer = http_ask(server, "GET", "/clock");
  if (!answer) return answer.error();
  const Json clock = Json::parse(answer->body, nullptr, false);
  if (answer->status != 200 || !clock.is_object() || !clock.contains("now_ms") || !clock["now_ms"].is_number()) {
    return Error{Errc::unavailable, problem_sentence(*answer)};
  }
  return clock["now_ms"].get<std::int64_t>();
}

// On a screen the same key again says that it is meant; here it is an option.
std::string with_sure(std::string sentence) {
  constexpr std::string_view again = "say it again";
  if (const auto at = sentence.find(again); at != std::string::npos) sentence.insert(at + again.size(), " with --sure");
  return sentence;
}

// The midnight a sheet's hours count from: until six in the morning it is still the evening before.
Instant service_midnight(Instant now, Duration utc_offset) {
  return std::chrono::floor<std::chrono::days>(now + utc_offset - std::chrono::hours(6)) - utc_offset;
}

int command(const Address& server, const std::string& by, const char* action, Json body, const std::string& says) {
  const auto now = kitchen_now_ms(server);
  if (!now) return failed(now.error().detail);
  const Json text{{"id", fresh_id()}, {"by", by}, {"at_ms", *now}, {"do", {{action, std::move(body)}}}};
  const auto answer = http_ask(server, "POST", "/commands", text.dump());
  if (!answer) return failed(answer.error().detail);
  if (answer->status / 100 != 2) return failed(with_sure(problem_sentence(*answer)));
  return done(says);
}

Result<PassScreen> pass_screen(const Address& server) {
  const auto answer = http_ask(server, "GET", "/screens/pass");
  if (!answer) return answer.error();
  const Json document = Json::parse(answer->body, nullptr, false);
  if (answer->status != 200 || !document.is_object()) return Error{Errc::unavailable, problem_sentence(*answer)};
  // The document itself, or wrapped with its number.
  const auto wrapped = document.find("document");
  return read_pass(wrapped != document.end() && wrapped->is_object() ? *wrapped : document);
}

// The course of a table that is meant: of the table's latest ticket that has such a course still to go, else its
// latest.
Result<const CourseLine*> course_meant(const PassScreen& screen, const std::string& table, const std::string& course) {
  const CourseLine* best = nullptr;
  bool table_there = false;
  for (const CourseLine& line : screen.courses) {
    table_there = table_there || line.table == table;
    if (line.table != table || (line.course != course && line.name != course)) continue;
    const bool better = best == nullptr || (best->state == "gone") > (line.state == "gone") ||
                        ((best->state == "gone") == (line.state == "gone") && line.ticket > best->ticket);
    if (better) best = &line;
  }
  if (best != nullptr) return best;
  if (!table_there) return Error{Errc::unknown, fmt::format("table {} has no ticket", table)};
  return Error{Errc::unknown, fmt::format("table {} has no course \"{}\"", table, course)};
}

std::string time_or(const std::optional<Instant>& at, Duration offset, const char* otherwise) {
  return at ? clock_text(*at, offset) : otherwise;
}

void print_course(const PassScreen& screen, const CourseLine& line) {
  const Duration offset = screen.service.utc_offset;
  std::string state = line.state;
  std::string when;
  if (line.state == "gone") {
    when = fmt::format("{} spread {}", time_or(line.gone, offset, "-"), countdown(line.spread));
  } else if (line.state == "waiting") {
    when = line.could ? "could meet " + hour_minute(*line.could, offset) : "";
  } else {
    when = "meets " + time_or(line.expected ? line.expected : line.meet, offset, "-");
    if (line.drift >= seconds(1)) when += " +" + countdown(line.drift);
  }
  std::string pull;
  for (const Thread& thread : line.threads) {
    if (thread.key == line.pull && line.state != "gone")
      pull = fmt::format("pull {} ({})", thread.what, thread.station);
  }
  std::string allergies;
  for (const auto& [position, words] : line.allergies) allergies += fmt::format("  position {} {}", position, words);
  std::string out = fmt::format("{:>3}  {:<9} {:>2}  {:<8} {:<28} {}{}", line.table, line.name, line.covers, state,
                                when, pull, allergies);
  out.erase(out.find_last_not_of(' ') + 1);
  fmt::print("{}\n", out);
}

}  // namespace

std::string fresh_id() {
  std::random_device random;
  return fmt::format("{:08x}{:08x}{:08x}", random(), random(), random());
}

int run_ticket(const Address& server, const std::string& line, const std::string& key, bool sure) {
  const std::string id = key.empty() ? fresh_id() : key;
  const auto answer = http_ask(server, "POST", sure ? "/tickets?sure=true" : "/tickets", line,
                               {{"Idempotency-Key", "\"" + id + "\""}, {"Content-Type", "text/plain; charset=utf-8"}});
  if (!answer) {
    return failed(fmt::format("{}; to send it again without ordering twice: --key {}", answer.error().detail, id));
  }
  if (answer->status / 100 != 2) return failed(with_sure(problem_sentence(*answer)));
  const Json body = Json::parse(answer->body, nullptr, false);
  if (body.is_object() && body.contains("says") && body["says"].is_string())
    return done(body["says"].get<std::string>());
  return done("sent");
}

int run_fire(const Address& server, const std::string& table, const std::string& course, bool sure,
             const std::string& by) {
  const auto screen = pass_screen(server);
  if (!screen) return failed(screen.error().detail);
  const auto meant = course_meant(*screen, table, course);
  if (!meant) return failed(meant.error().detail);
  const CourseLine& line = **meant;
  Json body{{"ticket", line.ticket}, {"course", line.course}};
  if (sure) body["sure"] = true;
  return command(server, by, "fire", std::move(body), fmt::format("table {}: {} fired", line.table, line.name));
}

int run_gone(const Address& server, const std::string& table, const std::string& course, const std::vector<int>& but,
             bool sure, const std::string& by) {
  const auto screen = pass_screen(server);
  if (!screen) return failed(screen.error().detail);
  const auto meant = course_meant(*screen, table, course);
  if (!meant) return failed(meant.error().detail);
  const CourseLine& line = **meant;
  Json body{{"ticket", line.ticket}, {"course", line.course}, {"but", but}};
  if (sure) body["sure"] = true;
  std::string says = fmt::format("table {}: {} gone", line.table, line.name);
  if (!but.empty()) says += fmt::format(", all but position{} {}", but.size() == 1 ? "" : "s", fmt::join(but, ", "));
  return command(server, by, "gone", std::move(body), says);
}

int run_hands(const Address& server, const std::string& station, const std::string& person, bool present,
              const std::string& by) {
  const auto screen = pass_screen(server);
  if (!screen) return failed(screen.error().detail);
  const auto is = [](const std::string& typed, const std::string& id, const std::string& name) {
    return upper(typed) == upper(id) || upper(typed) == upper(name);
  };
  // What nobody here is called goes to the line as it was typed: it says who there is.
  std::string place = station, who = person, place_name = station, who_name = person;
  for (const StationLine& one : screen->stations) {
    if (!is(station, one.id, one.name)) continue;
    place = one.id;
    place_name = one.name;
    for (const Person& known : one.people) {
      if (!is(person, known.id, known.name)) continue;
      who = known.id;
      who_name = known.name;
    }
  }
  return command(server, by, "set_hands", {{"station", place}, {"person", who}, {"present", present}},
                 fmt::format("{}: {} {}", place_name, who_name, present ? "here" : "away"));
}

Json bookings_json(const kitchen::BookingSheet& sheet, Instant midnight) {
  Json bookings = Json::array();
  for (const kitchen::Booking& one : sheet.bookings)
    bookings.push_back({{"table", one.table}, {"at_ms", to_ms(midnight + one.at)}, {"covers", one.covers}});
  return {{"bookings", std::move(bookings)}};
}

int run_bookings(const Address& server, const std::vector<std::string>& paths, const std::string& by) {
  const auto answer = http_ask(server, "GET", "/kitchen");
  if (!answer) return failed(answer.error().detail);
  if (answer->status != 200) return failed(problem_sentence(*answer));
  const auto house = kitchen::from_document(answer->body);
  if (!house) return failed("the server's kitchen cannot be read: " + kitchen::to_string(house.faults.front()));
  const auto sheet = read_booking_sheets("", paths, *house.value);
  if (!sheet) return failed(sheet.error().detail);
  const auto now = kitchen_now_ms(server);
  if (!now) return failed(now.error().detail);
  const Instant midnight = service_midnight(from_ms(*now), minutes(house.value->settings.utc_offset_minutes));
  Json body = bookings_json(*sheet, midnight);
  const std::size_t count = body["bookings"].size();
  return command(server, by, "take_bookings", std::move(body),
                 fmt::format("{} booking{} known", count, count == 1 ? " is" : "s are"));
}

int run_open(const Address& server, const std::string& name, const std::optional<std::vector<std::string>>& checked,
             bool sure, const std::string& by) {
  // With an empty document the server takes the house it was started with.
  Json body{{"name", name}, {"document", ""}};
  if (checked) body["checked"] = *checked;
  if (sure) body["sure"] = true;
  return command(server, by, "open_service", std::move(body), fmt::format("the service \"{}\" is open", name));
}

int run_close(const Address& server, bool sure) {
  return command(server, "command line", "close_service", {{"sure", sure}}, "the service is closed");
}

int run_status(const Address& server) {
  const auto screen = pass_screen(server);
  if (!screen) return failed(screen.error().detail);
  const auto now = kitchen_now_ms(server);
  if (!now) return failed(now.error().detail);
  fmt::print("{}  {}\n", clock_text(from_ms(*now), screen->service.utc_offset),
             screen->service.open ? screen->service.name : "the service is not open");
  std::vector<const CourseLine*> lines;
  for (const CourseLine& line : screen->courses) lines.push_back(&line);
  std::sort(lines.begin(), lines.end(), [](const CourseLine* a, const CourseLine* b) {
    return a->ticket != b->ticket ? a->ticket < b->ticket : a->order < b->order;
  });
  for (const CourseLine* line : lines) print_course(*screen, *line);
  for (const StandingLine& line : screen->standing) {
    fmt::print("at the pass: table {} {}, {} of {} plates{}\n", line.table, line.course, line.up, line.of,
               line.missing.empty() ? "" : ", no " + line.missing);
  }
  for (const ShortLine& line : screen->hands_short) {
    if (line.nobody) {
      fmt::print("nobody at {}\n", line.name);
    } else {
      fmt::print("behind: {} {}\n", line.name, countdown(line.behind));
    }
  }
  for (const WantedLine& line : screen->wanted) fmt::print("{}\n", line.says);
  for (const OffLine& line : screen->off) {
    fmt::print("{}\n", line.left == 0 ? line.name + ": off" : fmt::format("{}: {} left", line.name, line.left));
  }
  for (const AlertLine& line : screen->alerts)
    fmt::print("{} {}: {}\n", line.answered ? " " : "!", line.says, line.wanted);
  return 0;
}

}  // namespace nappe::client
