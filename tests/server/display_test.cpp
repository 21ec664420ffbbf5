// What is shown while a plan is still being made.
#include "server/display.hpp"

#include <atomic>
#include <boost/asio/io_context.hpp>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <thread>

#include "common/line/line.hpp"
#include "common/line/ticket_line.hpp"
#include "server/kitchen_folder.hpp"
#include "server/metrics.hpp"

using namespace nappe;
using namespace nappe::server;
using nlohmann::json;
using SteadyClock = std::chrono::steady_clock;
using std::chrono::milliseconds;

namespace {

const std::filesystem::path source(NAPPE_SOURCE_DIR);
const Instant evening = from_ms(1764966220000);

/// A small evening on the real line, and a display whose planner takes as long as it is told to.
struct Evening {
  line::State state;
  Instant now = evening;
  boost::asio::io_context context{1};
  Metrics metrics;
  plan::Planner planner;
  std::atomic<int> plan_takes_ms{0};
  std::atomic<bool> planner_fails{false};
  std::map<std::string, json> shown;
  int shows = 0;
  std::unique_ptr<Display> display;

  Evening() {
    const auto document = read_kitchen_document({source / "config/larkfold", source / "config/rules"});
    REQUIRE(document);
    ask(line::OpenService{"Friday", *document});
    ask(line::SendTicket{line::read_ticket_line("3: 1e 2m / 1h 2p", *state.kitchen).value()});
    ask(line::Fire{line::TicketId{1}, "starters", {}});
    const auto show = [this](const std::string& screen, json fresh) {
      const bool changed = shown[screen] != fresh;
      shown[screen] = std::move(fresh);
      shows += screen == "pass" ? 1 : 0;
      return Result<bool>(changed);
    };
    const auto make = [this](const line::State& of, Instant at, const plan::Plan* before) {
      std::this_thread::sleep_for(milliseconds(plan_takes_ms));
      if (planner_fails) throw std::logic_error("out of ideas");
      return planner.make(of, at, before);
    };
    DisplayParts parts{metrics, show, [](const std::vector<std::string>&) {},
                       [this] { return KitchenClock(now, SteadyClock::now(), 1.0); }, make};
    display = std::make_unique<Display>(context, std::move(parts));
    display->changed(state);
  }

  void ask(line::Action action) {
    line::Command command;
    command.id = "c";
    command.by = "Ines";
    command.at = now;
    command.action = std::move(action);
    const auto decided = line::decide(state, command, now);
    INFO((decided ? std::string() : decided.error().detail));
    REQUIRE(decided);
    for (const line::Event& event : *decided) line::apply(state, event);
  }

  /// Runs the loop until `until` is true; how long that took.
  template <class Condition>
  milliseconds run_until(const Condition& until, milliseconds at_most = milliseconds(3000)) {
    const auto begun = SteadyClock::now();
    while (!until() && SteadyClock::now() - begun < at_most) context.run_for(milliseconds(2));
    REQUIRE(until());
    return std::chrono::duration_cast<milliseconds>(SteadyClock::now() - begun);
  }

  /// The pan of the emmer, where it stands.
  [[nodiscard]] const line::Pan& emmer() const {
    for (const auto& [id, pan] : state.pans) {
      if (pan.component == "emmer") return pan;
    }
    throw std::logic_error("no emmer");
  }
  [[nodiscard]] bool garnish_lists(const std::string& step) const {
    for (const auto& [key, item] : shown.at("station:garnish")["list"].items()) {
      if (item["step"] == step) return true;
    }
    return false;
  }
};

}  // namespace

TEST_CASE("the first state is planned and shown before changed() returns") {
  Evening evening;
  CHECK(evening.shows == 1);
  CHECK(evening.garnish_lists("toast"));
}

TEST_CASE("a press is shown soon even if its plan takes long, and again when the plan is there") {
  Evening evening;
  evening.plan_takes_ms = 400;
  evening.ask(line::FinishStep{evening.emmer().id, "toast", 0, false});
  evening.display->changed(evening.state);
  const auto took = evening.run_until([&] { return !evening.garnish_lists("toast"); });
  CHECK(took < milliseconds(200));  // without waiting for the plan
  CHECK(evening.shows == 2);
  evening.run_until([&] { return evening.shows == 3; });
  CHECK_FALSE(evening.garnish_lists("toast"));
}

TEST_CASE("who waits for a change is called when it is shown, with or without its plan, and at once when it is there") {
  Evening evening;
  evening.plan_takes_ms = 400;
  std::vector<int> called;
  evening.display->when_shown(0, [&] { called.push_back(0); });
  CHECK(called == std::vector<int>{0});
  evening.ask(line::SetLeft{"pear", 3});
  evening.display->changed(evening.state, 1);
  evening.display->when_shown(2, [&] { called.push_back(2); });
  evening.display->when_shown(1, [&] { called.push_back(evening.shown["pass"]["off"]["pear"]["left"] == 3 ? 1 : -1); });
  CHECK(called.size() == 1);
  CHECK(evening.run_until([&] { return called.size() == 2; }) < milliseconds(200));
  CHECK(called.back() == 1);
  evening.ask(line::SetLeft{"pear", 2});
  evening.display->changed(evening.state, 2);
  evening.run_until([&] { return called.size() == 3; });
  CHECK(called.back() == 2);
  // Nobody is left waiting when nothing more will be shown.
  evening.display->when_shown(3, [&] { called.push_back(3); });
  evening.display->stop();
  CHECK(called.back() == 3);
}

TEST_CASE("changes that come while a plan is made are planned together afterwards") {
  Evening evening;
  evening.plan_takes_ms = 100;
  for (int left = 0; left < 5; ++left) {
    evening.ask(line::SetLeft{"pear", left});
    evening.display->changed(evening.state);
  }
  evening.run_until([&] { return evening.shown["pass"]["off"]["pear"]["left"] == 4; });
  const auto begun = SteadyClock::now();
  evening.context.run_for(milliseconds(350));
  CHECK(SteadyClock::now() - begun < milliseconds(1000));
  // The first, one without a plan, one with the first's plan, one with the last's: not one for each of the five.
  CHECK(evening.shows <= 4);
}

TEST_CASE("when planning fails the screens go on with the plan they have") {
  Evening evening;
  evening.planner_fails = true;
  evening.ask(line::FinishStep{evening.emmer().id, "toast", 0, false});
  evening.display->changed(evening.state);
  evening.run_until([&] { return !evening.garnish_lists("toast"); });
  CHECK(evening.shown["pass"]["tables"].contains("1"));
}

TEST_CASE("a plan carried over speaks of no step that is behind and of no pan that is gone") {
  Evening evening;
  const plan::Plan plan = evening.planner.make(evening.state, evening.now, nullptr);
  const line::PanId emmer = evening.emmer().id;
  const auto& before = plan.pans.at(emmer);
  REQUIRE(before.slots.size() > 3);

  const plan::Plan same = carry_over(plan, evening.state);
  CHECK(same.pans.at(emmer).slots.size() == before.slots.size());

  evening.ask(line::FinishStep{emmer, "toast", 0, false});
  const plan::Plan later = carry_over(plan, evening.state);
  const auto& after = later.pans.at(emmer);
  const line::Place place = evening.emmer().place;
  CHECK(after.slots.size() < before.slots.size());
  CHECK(after.slots.front().step == place.step);
  CHECK(after.slots.front().round == place.round);
  CHECK(after.slots.front().running == (evening.emmer().running() != nullptr));
  CHECK(after.ready == before.ready);

  evening.ask(line::Gone{line::TicketId{1}, "starters", {}, true});
  CHECK_FALSE(carry_over(plan, evening.state).pans.contains(emmer));
}

TEST_CASE("forecasts age: without any event the screens are planned again after a while") {
  Evening evening;
  const int before = evening.shows;
  // 5 s at rate 1 is long for a test; a limit of a quarter second is the shortest there is.
  DisplayLimits limits;
  limits.refresh_every = milliseconds(1);
  int shows = 0;
  DisplayParts parts{
      evening.metrics,
      [&](const std::string& screen, json) {
        shows += screen == "pass" ? 1 : 0;
        return Result<bool>(true);
      },
      [](const std::vector<std::string>&) {}, [&] { return KitchenClock(evening.now, SteadyClock::now(), 1.0); },
      [&](const line::State& of, Instant at, const plan::Plan* b) { return evening.planner.make(of, at, b); }};
  Display display(evening.context, std::move(parts), limits);
  display.changed(evening.state);
  evening.run_until([&] { return shows >= 2; });
  CHECK(evening.shows == before);
  display.stop();
}

TEST_CASE(
    "44: where nobody presses the hand list goes on by the plan, says that it guesses, and one press corrects it") {
  Evening evening;
  CHECK_FALSE(evening.shown["station:garnish"].contains("quiet_since_ms"));
  const auto opened = evening.state.opened;
  const Instant meet = *evening.state.find_ticket(line::TicketId{1})->find_course("starters")->meet;
  // Two minutes before the table meets nobody has touched a key.
  evening.now = meet - minutes(2);
  for (const line::Event& event : line::elapse(evening.state, evening.now)) line::apply(evening.state, event);
  evening.display->changed(evening.state);
  evening.run_until([&] { return evening.shown["station:garnish"].contains("quiet_since_ms"); });
  const json& garnish = evening.shown["station:garnish"];
  CHECK(garnish["quiet_since_ms"] == to_ms(opened));
  CHECK_FALSE(evening.garnish_lists("toast"));
  REQUIRE(evening.emmer().runs.empty());
  const auto guessed = std::count_if(garnish["list"].begin(), garnish["list"].end(),
                                     [](const json& item) { return item.value("guess", false); });
  CHECK(guessed >= 1);
  // A press: the list is what is known.
  evening.ask(line::FinishStep{evening.emmer().id, "toast", 0, false});
  evening.display->changed(evening.state);
  evening.run_until([&] { return !evening.shown["station:garnish"].contains("quiet_since_ms"); });
}
