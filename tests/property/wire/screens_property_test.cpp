// What holds for every screen of every evening, and that the example documents and the builder know the same members.

#include <algorithm>
#include <catch2/catch.hpp>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <string>

#include "common/wire/merge_patch.hpp"
#include "common/wire/screens.hpp"
#include "tests/property/wire/random_evening.hpp"

using namespace nappe;
using nlohmann::json;

namespace {

// Collections whose keys are ids: their members are walked as "*".
bool is_collection(const std::string& path, const json& value) {
  static const std::set<std::string> names{"/hands",
                                           "/list",
                                           "/heat",
                                           "/standing",
                                           "/waits",
                                           "/alerts",
                                           "/alerts/*/also",
                                           "/stations",
                                           "/stations/*/people",
                                           "/tables",
                                           "/tables/*/allergies",
                                           "/tables/*/courses",
                                           "/tables/*/courses/*/threads",
                                           "/tables/*/courses/*/plates",
                                           "/short",
                                           "/load",
                                           "/load/*",
                                           "/off",
                                           "/lend",
                                           "/tables/*/courses/*/carry/trips",
                                           "/tables/*/courses/*/plates/*/blocked",
                                           "/tables/*/courses/*/plates/*/parts",
                                           "/tables/*/courses/*/plates/*/borrowed",
                                           "/tables/*/courses/*/plates/*/lent",
                                           "/wanted",
                                           "/courses",
                                           "/dishes",
                                           "/tickets",
                                           "/tickets/*/courses",
                                           "/tickets/*/positions",
                                           "/tickets/*/positions/*/plates",
                                           "/tickets/*/positions/*/wanted",
                                           "/tickets/*/positions/*/wanted/*/left_off",
                                           "/dishes/*/parts"};
  return value.is_object() && names.count(path) != 0;
}

std::string type_of(const json& value) { return value.is_number() ? "number" : value.type_name(); }

// Every member's path with its type.
void walk(const json& value, const std::string& path, std::set<std::string>& members) {
  members.insert(path + " " + type_of(value));
  if (!value.is_object()) return;
  const bool collection = is_collection(path, value);
  for (const auto& [key, member] : value.items()) walk(member, path + (collection ? "/*" : "/" + key), members);
}

void check_plain(const json& value, const std::string& path) {
  CAPTURE(path);
  REQUIRE_FALSE(value.is_null());
  REQUIRE_FALSE(value.is_array());  // a merge patch would replace it whole
  if (!value.is_object()) return;
  for (const auto& [key, member] : value.items()) check_plain(member, path + "/" + key);
}

void check_station(const json& screen, Instant now) {
  std::string best;
  std::int64_t best_at = 0;
  for (const auto& [key, item] : screen["list"].items()) {
    REQUIRE(item["pan"].get<int>() > 0);
    REQUIRE(key == "p" + std::to_string(item["pan"].get<int>()) + "." + item["step"].get<std::string>() + "." +
                       std::to_string(item["round"].get<int>()));
    REQUIRE(item.contains("started_ms") == (item["state"] == "doing"));
    REQUIRE(item.contains("words") == item.contains("allergy"));
    REQUIRE(item["n"].get<int>() > 0);
    if (item["state"] == "doing") REQUIRE_FALSE(item["letter"].get<std::string>().empty());
    REQUIRE_FALSE(item["tables"].get<std::string>().empty());
    if (item["state"] == "coming") continue;
    const auto at = item["at_ms"].get<std::int64_t>();
    if (best.empty() || at < best_at || (at == best_at && key < best)) {
      best = key;
      best_at = at;
    }
  }
  REQUIRE(screen.value("next", "") == best);
  const std::string colour = screen.value("colour", "");
  if (colour == "next") {
    REQUIRE(screen.contains("next"));
  } else if (!colour.empty()) {
    REQUIRE(screen["alerts"].contains(colour));
    REQUIRE(screen["alerts"][colour]["answered"] == false);
    REQUIRE_FALSE(screen["alerts"][colour].contains("shelved_until_ms"));
  }
  for (const auto& [key, heat] : screen["heat"].items()) {
    REQUIRE(heat["from_ms"].get<std::int64_t>() <= to_ms(now));
    REQUIRE(heat["max_ms"].get<std::int64_t>() >= heat["from_ms"].get<std::int64_t>());
    REQUIRE_FALSE(heat["then"].get<std::string>().empty());
  }
}

void check_pass(const json& screen) {
  const std::string colour = screen.value("colour", "");
  if (!colour.empty()) REQUIRE((screen["alerts"].contains(colour) || screen["standing"].contains(colour)));
  for (const auto& [ticket, table] : screen["tables"].items()) {
    REQUIRE_FALSE(table["courses"].empty());
    for (const auto& [name, course] : table["courses"].items()) {
      CAPTURE(ticket, name);
      REQUIRE(course["plates"].size() == course["covers"].get<std::size_t>());
      if (course.contains("pull")) REQUIRE(course["threads"].contains(course["pull"].get<std::string>()));
      int up = 0;
      for (const auto& [position, plate] : course["plates"].items()) {
        up += plate["state"] == "standing" ? 1 : 0;
        REQUIRE(plate.contains("until_ms") == (plate["state"] == "standing"));
        if (table.contains("allergies") && table["allergies"].contains(position) && plate["state"] != "gone") {
          REQUIRE(plate.contains("words"));
        }
      }
      REQUIRE(screen["standing"].contains(ticket + "-" + name) == (up > 0));
    }
  }
}

// The floor has every guest of every ticket that has not left, once.
void check_floor(const line::State& state, const json& screen) {
  REQUIRE(screen["dishes"].size() == state.kitchen->dishes.size());
  for (const auto& [id, ticket] : state.tickets) {
    const std::string key = std::to_string(line::number(id));
    const bool here = std::any_of(ticket.courses.begin(), ticket.courses.end(), [](const line::Course& course) {
      return !course.plates.empty() && course.state != line::CourseState::gone;
    });
    CAPTURE(key);
    if (ticket.cancelled) REQUIRE_FALSE(screen["tickets"].contains(key));
    if (ticket.cancelled || !here) continue;
    REQUIRE(screen["tickets"].contains(key));
    for (const line::Course& course : ticket.courses)
      for (const auto& [position, plate] : course.plates)
        REQUIRE(screen["tickets"][key]["positions"][std::to_string(position)]["plates"].contains(course.course));
  }
}

// A milk allergy changes the text of every move that touches its guest, and of no other.
void check_allergies(const line::State& state, const json& screen) {
  for (const auto& [key, item] : screen["list"].items()) {
    const line::Pan& pan = state.pans.at(line::PanId{item["pan"].get<std::uint32_t>()});
    std::set<std::string> wanted(pan.allergies.begin(), pan.allergies.end());
    for (const line::Portion& portion : pan.portions) {
      if (state.find_plate(portion.plate)->gone) continue;
      for (const std::string& allergy : state.find_ticket(portion.plate.ticket)->allergies_of(portion.plate.position)) {
        wanted.insert(allergy);
      }
    }
    CAPTURE(key, item.dump());
    REQUIRE(item.contains("words") != wanted.empty());
    for (std::string allergy : wanted) {
      for (char& c : allergy) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
      REQUIRE(item["words"].get<std::string>().find("NO " + allergy) != std::string::npos);
    }
  }
}

constexpr std::uint64_t evenings = 6;
constexpr int steps_each = 250;

json example(const std::string& name) {
  std::ifstream file(std::string(NAPPE_SOURCE_DIR) + "/tests/protocol/examples/" + name);
  REQUIRE(file);
  return json::parse(file);
}

}  // namespace

TEST_CASE("22, 51: of every evening the screens are plain, consistent, and have one coloured thing at most") {
  for (std::uint64_t seed = 0; seed < evenings; ++seed) {
    tests::RandomEvening evening(seed);
    for (int i = 0; i < steps_each; ++i) {
      evening.step();
      if (i % 5 != 0) continue;
      const plan::Plan plan = plan::make_plan(evening.state(), evening.now(), nullptr);
      const auto screens = wire::build_screens(evening.state(), plan, evening.now());
      CAPTURE(seed, i);
      for (const auto& [name, document] : screens.documents) {
        CAPTURE(name);
        check_plain(document, "");
        if (name == "pass") {
          check_pass(document);
        } else if (name == "floor") {
          check_floor(evening.state(), document);
        } else {
          check_station(document, evening.now());
          check_allergies(evening.state(), document);
        }
      }
    }
    CHECK(evening.done() > evening.refused() / 3);
  }
}

TEST_CASE("screens: until the instant they name, time alone changes nothing; and then it does not go backwards") {
  for (std::uint64_t seed = 100; seed < 100 + evenings; ++seed) {
    tests::RandomEvening evening(seed);
    tests::Random random(seed);
    for (int i = 0; i < steps_each; ++i) {
      evening.step();
      if (i % 25 != 0) continue;
      const Instant now = evening.now();
      const plan::Plan plan = plan::make_plan(evening.state(), now, nullptr);
      const auto screens = wire::build_screens(evening.state(), plan, now);
      if (!screens.changes_at) continue;
      CAPTURE(seed, i);
      REQUIRE(*screens.changes_at > now);
      const Instant last = *screens.changes_at - Duration(1);
      const Instant between = now + Duration(random.between(0, (last - now).count()));
      for (const Instant later : {between, last}) {
        REQUIRE(wire::build_screens(evening.state(), plan, later).documents == screens.documents);
      }
    }
  }
}

TEST_CASE("screens: the patch from one step of an evening to the next gives the next document") {
  for (std::uint64_t seed = 200; seed < 202; ++seed) {
    tests::RandomEvening evening(seed);
    std::map<std::string, json> shown;
    for (int i = 0; i < steps_each; ++i) {
      evening.step();
      if (i % 3 != 0) continue;
      const auto screens =
          wire::build_screens(evening.state(), plan::make_plan(evening.state(), evening.now(), nullptr), evening.now());
      for (const auto& [name, document] : screens.documents) {
        json& before = shown[name];
        if (before.is_null()) before = json::object();
        const json patch = wire::merge_patch_diff(before, document);
        CAPTURE(seed, i, name);
        REQUIRE(wire::merge_patch_apply(before, patch) == document);
        before = document;
      }
    }
  }
}

// The terminal and the page are written against the example documents: a member that stands in only one of the two
// would never be drawn, or never be there.
TEST_CASE("screens: the example documents and the builder have the same members, of the same types") {
  std::map<std::string, std::set<std::string>> built;
  for (std::uint64_t seed = 300; seed < 300 + evenings; ++seed) {
    tests::RandomEvening evening(seed);
    for (int i = 0; i < steps_each; ++i) {
      evening.step();
      if (i % 2 != 0) continue;
      const plan::Plan plan = plan::make_plan(evening.state(), evening.now(), nullptr);
      for (const auto& [name, document] : wire::build_screens(evening.state(), plan, evening.now()).documents) {
        walk(document, "", built[name == "pass" || name == "floor" ? name + ".json" : "station.json"]);
      }
    }
  }
  for (const auto& [file, members] : built) {
    std::set<std::string> known;
    walk(example(file), "", known);
    std::vector<std::string> only_built;
    std::set_difference(members.begin(), members.end(), known.begin(), known.end(), std::back_inserter(only_built));
    std::vector<std::string> only_example;
    std::set_difference(known.begin(), known.end(), members.begin(), members.end(), std::back_inserter(only_example));
    CAPTURE(file);
    CHECK(only_built == std::vector<std::string>{});
    CHECK(only_example == std::vector<std::string>{});
  }
}
