// Opening the service: not while the line check lacks something, unless a person of the house says so by name.
#include <catch2/catch.hpp>

#include "common/kitchen/load.hpp"
#include "common/line/line.hpp"
#include "tests/support/larkfold.hpp"

using namespace nappe;
using namespace nappe::line;

namespace {

const Instant evening = *from_rfc3339("2026-11-20T17:20:00Z");

Result<std::vector<Event>> open(std::optional<std::vector<std::string>> checked, bool sure, const std::string& by,
                                const State& state = {}) {
  static const std::string document = kitchen::to_document(tests::larkfold());
  Command command;
  command.id = "open";
  command.by = by;
  command.at = evening;
  OpenService action{"Friday", document};
  action.checked = std::move(checked);
  action.wanted = std::vector<std::string>{"swede_puree", "loin", "emulsion"};
  action.sure = sure;
  command.action = action;
  return decide(state, command, evening);
}

const ServiceOpened& opened(const Result<std::vector<Event>>& events) {
  REQUIRE(events);
  return std::get<ServiceOpened>(events->front().what);
}

}  // namespace

TEST_CASE("a service cannot be opened while a check is missing unless a named person says so") {
  const auto none = open(std::nullopt, false, "Mara");
  REQUIRE_FALSE(none);
  CHECK(none.error().code == Errc::refused);
  CHECK(none.error().detail ==
        "the line check lacks 3 of 3 (swede puree, loin, emulsion): check them, or a person of the house says by name "
        "that it opens all the same");
  const auto one_missing = open(std::vector<std::string>{"loin", "swede_puree"}, false, "Mara");
  REQUIRE_FALSE(one_missing);
  CHECK(one_missing.error().detail.find("lacks 1 of 3 (emulsion)") != std::string::npos);
  // Sure, but nobody of the house: a device, a program, a stranger.
  for (const char* nobody : {"command line", "napped", "", "Someone Else"})
    CHECK_FALSE(open(std::vector<std::string>{"loin"}, true, nobody));
}

TEST_CASE("who opens without the whole line check is in the record, with what was missing") {
  const auto events = open(std::vector<std::string>{"loin"}, true, "mara");
  const ServiceOpened& event = opened(events);
  REQUIRE(event.unchecked);
  CHECK(*event.unchecked == std::vector<std::string>{"swede puree", "emulsion"});
  CHECK(event.by == "Mara");
}

TEST_CASE("with everything checked the service opens and nothing is said about it") {
  const auto events = open(std::vector<std::string>{"emulsion", "loin", "swede_puree", "more"}, false, "command line");
  const ServiceOpened& event = opened(events);
  CHECK_FALSE(event.unchecked);
  CHECK_FALSE(event.by);
}
