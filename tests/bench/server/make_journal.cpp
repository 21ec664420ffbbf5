// Writes a journal of whole nights at the demo restaurant, driven through the real line, until it has enough events;
// then times reading and folding it. Usage: make_journal FILE [EVENTS]

#include <fmt/format.h>

#include <chrono>
#include <cstdlib>
#include <map>

#include "common/kitchen/load.hpp"
#include "common/line/line.hpp"
#include "common/line/ticket_line.hpp"
#include "common/wire/codec.hpp"
#include "server/journal.hpp"
#include "server/kitchen_folder.hpp"
#include "server/replay.hpp"

using namespace nappe;
using namespace nappe::server;

namespace {

// Tables and what they eat, in the card's letters; invented.
constexpr const char* orders[] = {"3: 1e 2m / 1h 2p / 1d 2r",
                                  "7: 1m 2m 3e 4k / 1h 2h 3p 4u / 1d 2d 3d 4r",
                                  "1: 1k 2m / 1p 2p / 1d 2r",
                                  "5: 1e 2m 3m 4k / 1h 2h 3p 4u / 1d 2d 3r 4r",
                                  "9: 1e 2k / 1h 2u / 1d 2d",
                                  "2: 1m 2m / 1h 2p / 1r",
                                  "8: 1e 2e 3e 4m 5m 6k / 1h 2h 3h 4p 5p 6u / 1d 2d 3d 4d 5r",
                                  "4: 1e 2m / 1h 2u / 1d 2r"};

/// Drives the line and collects its events, one command a group as a quiet kitchen would.
class Night {
 public:
  Night(JournalWriter& writer, std::string document) : writer_(writer), document_(std::move(document)) {}

  void play(int number) {
    ask(line::OpenService{fmt::format("Night {}", number), document_});
    std::vector<line::TicketId> tickets;
    for (const char* order : orders) {
      const auto read = line::read_ticket_line(order, *state_.kitchen);
      if (!read) fail(read.error());
      ask(line::SendTicket{*read});
      tickets.push_back(line::TicketId{state_.tickets_made});
    }
    for (const char* course : {"starters", "mains", "desserts"}) {
      for (const line::TicketId ticket : tickets) ask(line::Fire{ticket, course, {}}, true);
      cook();
      for (const line::TicketId ticket : tickets) ask(line::Gone{ticket, course, {}, true}, true);
    }
    ask(line::CloseService{true});
    flush();
    now_ += minutes(18 * 60);
  }

  [[nodiscard]] std::int64_t events() const { return last_; }
  [[nodiscard]] const line::State& state() const { return state_; }

 private:
  [[noreturn]] static void fail(const Error& error) {
    fmt::print(stderr, "make_journal: {}\n", error.detail);
    std::exit(1);
  }

  /// Presses "done" on every pan in turn until all are finished.
  void cook() {
    for (bool more = true; more;) {
      more = false;
      std::vector<line::PanId> pans;
      for (const auto& [id, pan] : state_.pans) pans.push_back(id);
      for (const line::PanId id : pans) {
        const line::Pan* pan = state_.find_pan(id);
        if (pan == nullptr || pan->finished) continue;
        const auto& component = state_.component_of(*pan);
        const auto& step = component.steps[static_cast<std::size_t>(pan->place.step)];
        more |= ask(line::FinishStep{id, step.id, pan->place.round, true}, true);
      }
    }
  }

  bool ask(line::Action action, bool may_be_refused = false) {
    now_ += seconds(4);
    line::Command command;
    command.id = fmt::format("c{}", ++commands_);
    command.by = "Ines";
    command.at = now_;
    command.action = std::move(action);
    take(line::elapse(state_, now_), "");
    const auto decided = line::decide(state_, command, now_);
    if (!decided && !may_be_refused) fail(decided.error());
    if (!decided) return false;
    const std::int64_t before = last_;
    take(*decided, command.id);
    JournalCommand record{command.id, "digest", command.by, command.at, 0, 0, fmt::format(R"({{"number":{}}})", last_)};
    if (last_ > before) {
      record.first = before + 1;
      record.last = last_;
    }
    group_.commands.push_back(std::move(record));
    return last_ > before;
  }

  void take(const std::vector<line::Event>& events, const std::string& command) {
    for (const line::Event& event : events) {
      line::apply(state_, event);
      group_.events.push_back({command, event.at, wire::event_name(event), wire::event_body(event)});
      last_ += 1;
    }
  }

  void flush() {
    group_.first = last_ - static_cast<std::int64_t>(group_.events.size()) + 1;
    if (const auto written = writer_.append(group_); !written) fail(written.error());
    group_ = {};
  }

  JournalWriter& writer_;
  std::string document_;
  line::State state_;
  JournalGroup group_;
  Instant now_ = from_ms(1760000000000);
  std::int64_t last_ = 0;
  std::int64_t commands_ = 0;
};

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) {
    fmt::print(stderr, "usage: make_journal FILE [EVENTS]\n");
    return 2;
  }
  const std::int64_t wanted = argc > 2 ? std::atoll(argv[2]) : 100000;
  const std::string source = NAPPE_SOURCE_DIR;
  const auto document = read_kitchen_document({source + "/config/larkfold", source + "/config/rules"});
  if (!document) {
    fmt::print(stderr, "make_journal: {}\n", document.error().detail);
    return 1;
  }
  {
    const auto writer = JournalWriter::open(argv[1]);
    if (!writer) {
      fmt::print(stderr, "make_journal: {}\n", writer.error().detail);
      return 1;
    }
    Night night(**writer, *document);
    int nights = 0;
    while (night.events() < wanted) night.play(++nights);
    fmt::print("journal: {} events in {} nights\n", night.events(), nights);
  }
  const auto reader = JournalReader::open(argv[1]);
  if (!reader) return 1;
  const auto begun = std::chrono::steady_clock::now();
  line::State state;
  const auto last = fold_all(**reader, state);
  const double ms = std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - begun).count();
  if (!last) {
    fmt::print(stderr, "make_journal: {}\n", last.error().detail);
    return 1;
  }
  fmt::print("fold of all: {} events in {:.0f} ms, {:.2f} us an event\n", *last, ms,
             1000 * ms / static_cast<double>(*last));
  return 0;
}
