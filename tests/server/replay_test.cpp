// The fold of the last service is the fold of everything.
#include "server/replay.hpp"

#include <catch2/catch.hpp>

#include "common/kitchen/load.hpp"
#include "common/line/line.hpp"
#include "common/line/ticket_line.hpp"
#include "common/wire/codec.hpp"
#include "server/kitchen_folder.hpp"
#include "tests/server/temporary_folder.hpp"
#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::server;

namespace {

const std::filesystem::path source(NAPPE_SOURCE_DIR);

/// Drives the real line by random commands and writes what happens.
struct House {
  JournalWriter& writer;
  std::string document;
  line::State state;
  Instant now = from_ms(1764966220000);
  int commands = 0;

  void ask(line::Action action) {
    now += seconds(7);
    line::Command command;
    command.id = "c" + std::to_string(++commands);
    command.by = "Ines";
    command.at = now;
    command.action = std::move(action);
    JournalGroup group;
    group.first = writer.last() + 1;
    const auto happen = [&](const std::vector<line::Event>& events) {
      for (const line::Event& event : events) {
        line::apply(state, event);
        group.events.push_back({"", event.at, wire::event_name(event), wire::event_body(event)});
      }
    };
    happen(line::elapse(state, now));
    if (const auto decided = line::decide(state, command, now)) happen(*decided);
    REQUIRE(writer.append(group));
  }

  std::string any_batch(tests::Random& random) {
    const auto& batches = state.record().batches;
    if (batches.empty()) return "none";
    auto batch = batches.begin();
    std::advance(batch, random.between(0, static_cast<std::int64_t>(batches.size()) - 1));
    return batch->first;
  }

  void record_command(tests::Random& random) {
    line::MakeBatch make;
    make.kind = random.chance(0.5) ? "swede_puree" : "emulsion";
    make.use_by_days = 3;
    make.labelled = random.chance(0.8);
    make.kept_c = 4;
    make.kept_in = "walk-in";
    switch (random.between(0, 6)) {
      case 0:
        return ask(line::TakeReading{any_batch(random), {}, "blue", static_cast<double>(random.between(-5, 90)), {}});
      case 1:
        return ask(line::TakeReading{{}, "walk-in", "red", static_cast<double>(random.between(2, 12)), {}});
      case 2:
        return ask(line::SplitBatch{any_batch(random), 2, {}});
      case 3:
        return ask(line::ThrowBatch{any_batch(random), "dropped", {}, {}});
      case 4:
        return ask(line::CheckProbe{"blue", line::Bath::iced, random.chance(0.7) ? 0.0 : 4.0});
      default:
        return ask(make);
    }
  }

  // Everything gets its word, so that the night may close.
  void close_down() {
    const auto batches = state.record().batches;
    for (const auto& [id, batch] : batches) {
      ask(line::TakeReading{id, {}, "blue", 3, {}});
      ask(line::KeepBatch{id, line::Fate::keep});
      const line::Batch* now_there = state.record().find(id);
      if (now_there->there() && !now_there->fate) ask(line::ThrowBatch{id, "not to be kept", {}, {}});
    }
  }

  void random_command(tests::Random& random) {
    const auto ticket = line::TicketId{static_cast<std::uint32_t>(random.between(1, state.tickets_made + 1))};
    switch (random.between(0, 9)) {
      case 0:
        return ask(line::SendTicket{
            line::read_ticket_line("3: 1e 2m\"no dill\" / 1h 2p \"a birthday\"", *state.kitchen).value()});
      case 1:
        return ask(line::Fire{ticket, random.chance(0.5) ? "starters" : "mains", {}, random.chance(0.5)});
      case 2:
        return ask(line::Gone{ticket, random.chance(0.5) ? "starters" : "mains", {}, true});
      case 3:
        return ask(line::SetLeft{"pear", static_cast<int>(random.between(0, 9))});
      case 4:
        return ask(line::SetHands{"garnish", "tom", random.chance(0.5)});
      case 5:
      case 6:
        return record_command(random);
      default:
        break;
    }
    if (state.pans.empty()) return;
    auto pan = state.pans.begin();
    std::advance(pan, random.between(0, static_cast<std::int64_t>(state.pans.size()) - 1));
    const auto& step = state.component_of(pan->second).steps[static_cast<std::size_t>(pan->second.place.step)];
    ask(line::FinishStep{pan->first, step.id, pan->second.place.round, true});
  }
};

}  // namespace

TEST_CASE("a start folds the last service only and comes to the same state, wherever the journal ends") {
  const auto document = read_kitchen_document({source / "config/larkfold", source / "config/rules"});
  REQUIRE(document);
  for (std::uint64_t seed = 0; seed < 6; ++seed) {
    tests::Random random(seed);
    const tests::TemporaryFolder folder;
    const auto writer = JournalWriter::open(folder.file("j.db"));
    REQUIRE(writer);
    const auto reader = JournalReader::open(folder.file("j.db"));
    REQUIRE(reader);
    House house{**writer, *document, {}};
    for (int night = 0; night < 3; ++night) {
      house.ask(line::OpenService{"Night " + std::to_string(night), house.document});
      for (int n = 0; n < 60; ++n) {
        house.random_command(random);
        if (n % 20 != 0) continue;
        line::State all;
        line::State last;
        INFO("SEED=" << seed << " night " << night << " command " << n);
        REQUIRE(fold_all(**reader, all));
        REQUIRE(fold_last_service(**reader, last));
        CHECK(line::fingerprint(all) == line::fingerprint(house.state));
        CHECK(line::fingerprint(last) == line::fingerprint(house.state));
      }
      house.close_down();
      house.ask(line::CloseService{true});
      REQUIRE(house.state.service == line::ServiceState::closed);
      // Before the next service opens there is work for it already.
      for (int n = 0; n < 4; ++n) house.record_command(random);
      line::State closed;
      REQUIRE(fold_last_service(**reader, closed));
      CHECK(line::fingerprint(closed) == line::fingerprint(house.state));
    }
  }
}

TEST_CASE("an event that cannot be read or does not fit stops the fold and is named") {
  const tests::TemporaryFolder folder;
  const auto writer = JournalWriter::open(folder.file("j.db"));
  REQUIRE(writer);
  JournalGroup group;
  group.first = 1;
  group.events.push_back({"", from_ms(1), "never_heard_of", "{}"});
  REQUIRE((*writer)->append(group));
  const auto reader = JournalReader::open(folder.file("j.db"));
  REQUIRE(reader);
  line::State state;
  const auto folded = fold_all(**reader, state);
  REQUIRE_FALSE(folded);
  CHECK(folded.error().detail.find("event 1 (never_heard_of)") != std::string::npos);
}
