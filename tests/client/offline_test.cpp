// Presses over a link that is cut at random: never lost, never done twice, always in order.
#include <catch2/catch.hpp>
#include <deque>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "client/session.hpp"
#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::client;
using nlohmann::json;

namespace {

// A server that remembers ids as the journal does, and keeps one document: how often each press was done.
class FakeServer {
 public:
  std::vector<std::string> done;  ///< What was carried out, in order.
  std::string epoch = "e1";
  std::int64_t number = 1;
  json document{{"done", json::object()}};
  std::deque<std::pair<std::int64_t, json>> patches;

  // Answers one frame with frames.
  std::vector<std::string> take(const std::string& text) {
    const json frame = json::parse(text);
    const std::string type = frame.at("type");
    if (type == "hello")
      return {json{{"type", "welcome"}, {"version", "0"}, {"epoch", epoch}, {"now_ms", 1000000}, {"rate", 1}}.dump()};
    if (type == "clock")
      return {
          json{{"type", "clock"}, {"t1", frame.at("t1")}, {"t2", 1000000.0}, {"t3", 1000000.0}, {"rate", 1}}.dump()};
    if (type == "subscribe") return subscribe(frame);
    REQUIRE(type == "command");
    return command(frame.at("command"));
  }
  void restart() {
    epoch += "'";
    number = 1;
    patches.clear();
  }

 private:
  std::vector<std::string> subscribe(const json& frame) {
    const std::int64_t has = frame.value("number", std::int64_t{-1});
    if (frame.value("epoch", "") == epoch && has <= number) {
      std::vector<std::string> out;
      for (const auto& [n, patch] : patches) {
        if (n > has) out.push_back(json{{"type", "patch"}, {"screen", "pass"}, {"number", n}, {"patch", patch}}.dump());
      }
      return out;
    }
    return {json{{"type", "document"}, {"screen", "pass"}, {"epoch", epoch}, {"number", number}, {"document", document}}
                .dump()};
  }
  std::vector<std::string> command(const json& command) {
    const std::string id = command.at("id");
    const auto known = answers_.find(id);
    if (known != answers_.end()) return {known->second};
    const bool refuses = command.at("at_ms").get<std::int64_t>() % 7 == 0;
    if (refuses) {
      return {answers_[id] = json{{"type", "refused"},
                                  {"id", id},
                                  {"problem", {{"code", "conflict"}, {"detail", "another hand did it"}}}}
                                 .dump()};
    }
    done.push_back(id);
    const json patch{{"done", {{id, 1}}}};
    document.merge_patch(patch);
    patches.emplace_back(++number, patch);
    answers_[id] = json{{"type", "done"}, {"id", id}, {"number", number}}.dump();
    return {answers_[id], json{{"type", "patch"}, {"screen", "pass"}, {"number", number}, {"patch", patch}}.dump()};
  }
  std::map<std::string, std::string> answers_;
};

// Two queues of frames between client and server; a cut drops what is under way in both directions.
struct Wire {
  std::deque<std::string> up, down;
  bool open = false;
  void cut() {
    up.clear();
    down.clear();
    open = false;
  }
};

Kept press_of(int n) {
  Kept kept;
  kept.id = "id" + std::to_string(n);
  kept.by = "test";
  kept.at_ms = 1000 + n;
  kept.ask = {R"({"one_more":{"pan":)" + std::to_string(n) + "}}", "press", "item" + std::to_string(n), false};
  return kept;
}

struct Night {
  explicit Night(std::uint64_t seed) : random(seed) { make_session(Outbox()); }

  void make_session(Outbox outbox) {
    session = std::make_unique<Session>(
        "device", std::vector<std::string>{"pass"},
        Session::Hears{nullptr,
                       [this](const Kept& kept, const std::string& problem, const std::string&) {
                         REQUIRE(answered.insert(kept.id).second);
                         if (!problem.empty()) refused.insert(kept.id);
                       },
                       nullptr, [this] { file = session->outbox().save(); }});
    session->restore(std::move(outbox));
  }
  void send(std::vector<std::string> frames) {
    for (auto& frame : frames) wire.up.push_back(std::move(frame));
  }
  void open() {
    if (wire.open) return;
    wire.open = true;
    send(session->opened(0));
  }
  void cut() {
    wire.cut();
    session->closed(0);
  }
  void press() {
    const Kept kept = press_of(++pressed);
    auto frames = session->press(kept);
    REQUIRE(frames);
    if (wire.open) send(std::move(frames).value());
  }
  // The client's process dies and comes back with what its file holds.
  void restart_client() {
    wire.cut();
    std::size_t unreadable = 0;
    make_session(Outbox::load(file, &unreadable));
    REQUIRE(unreadable == 0);
  }
  void deliver_up() {
    if (wire.up.empty()) return;
    const std::string frame = wire.up.front();
    wire.up.pop_front();
    for (auto& answer : server.take(frame)) wire.down.push_back(std::move(answer));
  }
  void deliver_down() {
    if (wire.down.empty()) return;
    const std::string frame = wire.down.front();
    wire.down.pop_front();
    send(session->received(frame, 0));
  }
  void step() {
    switch (random.between(0, 11)) {
      case 0:
      case 1:
        press();
        break;
      case 2:
        if (random.chance(0.3)) cut();
        break;
      case 3:
        open();
        break;
      case 4:
        if (random.chance(0.1)) restart_client();
        break;
      case 5:
        if (random.chance(0.1)) {
          cut();
          server.restart();
        }
        break;
      case 6:
      case 7:
      case 8:
        deliver_up();
        break;
      default:
        deliver_down();
        break;
    }
  }
  void settle() {
    open();
    while (!wire.up.empty() || !wire.down.empty()) {
      deliver_up();
      deliver_down();
    }
  }

  tests::Random random;
  FakeServer server;
  Wire wire;
  std::unique_ptr<Session> session;
  std::string file;
  int pressed = 0;
  std::set<std::string> answered, refused;
};

}  // namespace

TEST_CASE("random cuts, restarts of client and server: every press is done once, in order, and answered once") {
  for (std::uint64_t seed = 0; seed < 300; ++seed) {
    INFO("SEED=" << seed);
    Night night(seed);
    for (int i = 0; i < 200; ++i) night.step();
    night.settle();
    // Lost answers are made good by sending again: all are answered, none is kept.
    REQUIRE(night.session->outbox().kept().empty());
    REQUIRE(night.answered.size() == static_cast<std::size_t>(night.pressed));
    std::vector<std::string> expected;
    for (int n = 1; n <= night.pressed; ++n) {
      if ((1000 + n) % 7 != 0) expected.push_back("id" + std::to_string(n));
    }
    REQUIRE(night.server.done == expected);
    REQUIRE(night.refused.size() == static_cast<std::size_t>(night.pressed) - expected.size());
    // The document the client holds is the server's.
    REQUIRE(night.session->screen("pass") != nullptr);
    REQUIRE(night.session->screen("pass")->document == night.server.document);
  }
}

TEST_CASE("a press not yet sent is taken back without a word; one that may have arrived is undone at the line") {
  Session session("device", {"pass"}, {});
  Kept one = press_of(1);
  one.ask.item = "p1.turn.0";
  REQUIRE(session.press(one));
  Kept undo = press_of(2);
  undo.ask = {R"({"undo":{"station":"garnish"}})", "press", "p1.turn.0", true};
  REQUIRE(session.press(undo));
  CHECK(session.outbox().kept().empty());

  session.opened(0);
  REQUIRE(session.press(one));
  const auto frames = session.press(undo);
  REQUIRE(frames);
  REQUIRE(frames->size() == 1);
  CHECK(json::parse(frames->front())["command"]["do"].contains("undo"));
}

TEST_CASE("a missed patch asks for what is missing, once") {
  Session session("device", {"pass"}, {});
  session.opened(0);
  session.received(R"({"type":"document","screen":"pass","epoch":"e","number":5,"document":{"a":1}})", 0);
  CHECK(session.received(R"({"type":"patch","screen":"pass","number":4,"patch":{"a":9}})", 0).empty());
  CHECK(session.screen("pass")->document == json{{"a", 1}});
  const auto asked = session.received(R"({"type":"patch","screen":"pass","number":7,"patch":{"c":3}})", 0);
  REQUIRE(asked.size() == 1);
  CHECK(json::parse(asked.front()) == json{{"type", "subscribe"}, {"screen", "pass"}, {"epoch", "e"}, {"number", 5}});
  CHECK(session.received(R"({"type":"patch","screen":"pass","number":8,"patch":{"d":4}})", 0).empty());
  session.received(R"({"type":"patch","screen":"pass","number":6,"patch":{"b":2}})", 0);
  session.received(R"({"type":"patch","screen":"pass","number":7,"patch":{"c":3}})", 0);
  CHECK(session.screen("pass")->document == json{{"a", 1}, {"b", 2}, {"c", 3}});
}

TEST_CASE("frames that are no use are survived") {
  std::string told;
  Session session("device", {"pass"}, {nullptr, nullptr, [&](const std::string& problem) { told = problem; }, nullptr});
  session.opened(0);
  for (const char* frame :
       {"", "[]", "{", "null", R"({"type":5})", R"({"type":"document","screen":"pass"})",
        R"({"type":"document","screen":"other","document":{}})", R"({"type":"patch"})", R"({"type":"done"})",
        R"({"type":"refused","id":"x","problem":3})", R"({"type":"clock"})"}) {
    CHECK(session.received(frame, 0).empty());
  }
  session.received(R"({"type":"error","problem":{"detail":"there is no screen \"station:x\""}})", 0);
  CHECK(told == "there is no screen \"station:x\"");
}

TEST_CASE("a file of presses with a torn line keeps the others") {
  Outbox outbox;
  REQUIRE(outbox.add(press_of(1)));
  REQUIRE(outbox.add(press_of(2)));
  std::string text = outbox.save();
  text += text.substr(0, text.size() / 3);
  std::size_t unreadable = 0;
  const Outbox back = Outbox::load(text, &unreadable);
  CHECK(back.kept().size() == 2);
  CHECK(unreadable == 1);
  CHECK(command_text(back.kept()[1]) == command_text(outbox.kept()[1]));
}
