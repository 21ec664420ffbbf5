#include <catch2/catch.hpp>
#include <string>

#include "common/wire/codec.hpp"
#include "tests/property/wire/random_described.hpp"

using namespace nappe;
using tests::Random;

namespace {

constexpr std::size_t actions = std::variant_size_v<line::Action>;
constexpr std::size_t happenings = std::variant_size_v<line::Happening>;

line::Command random_command(Random& random, std::size_t index) {
  line::Command command;
  command.id = "k" + std::to_string(random.between(1, 1'000'000));
  command.by = tests::random_word(random);
  command.at = from_ms(random.between(0, wire::instant_ms_max));
  command.action = tests::random_alternative<line::Action>(random, index);
  return command;
}

void check_sentence(const Error& error) {
  REQUIRE_FALSE(error.detail.empty());
  REQUIRE(error.detail.size() < 2000);
  REQUIRE((error.detail.back() == '.' || error.detail.back() == '?'));
  REQUIRE(error.detail.find('\n') == std::string::npos);
}

// Breaks a text the way a bad link, a bad client or a bad hand would.
std::string spoilt(Random& random, std::string text) {
  static const std::vector<std::string> pieces{"null", "{}", "[]",      "-1", "1e999", "\"\\ud800\"",          "\xC3",
                                               "\"",   "{",  "}",       ",",  ":",     "99999999999999999999", "true",
                                               "\x01", "\\", "\xF0\x9F"};
  for (auto n = random.between(1, 4); n > 0 && !text.empty(); --n) {
    const auto at = static_cast<std::size_t>(random.between(0, static_cast<std::int64_t>(text.size()) - 1));
    switch (random.between(0, 5)) {
      case 0:
        text[at] = static_cast<char>(random.between(0, 255));
        break;
      case 1:
        text.erase(at, static_cast<std::size_t>(random.between(1, 12)));
        break;
      case 2:
        text.insert(at, random.pick(pieces));
        break;
      case 3:
        text.resize(at);
        break;
      case 4:
        text.insert(at, text.substr(0, 20));
        break;
      default: {  // a whole value replaced: what follows a colon up to the next comma
        const auto colon = text.find(':', at);
        if (colon == std::string::npos) break;
        const auto end = text.find_first_of(",}", colon);
        if (end != std::string::npos) text.replace(colon + 1, end - colon - 1, random.pick(pieces));
      }
    }
  }
  return text;
}

}  // namespace

TEST_CASE("codec: every action comes back as it was written, for random commands") {
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    for (std::size_t index = 0; index < actions; ++index) {
      Random random(seed * actions + index);
      const line::Command command = random_command(random, index);
      const std::string text = wire::write_command(command);
      CAPTURE(seed, index, text);
      const auto back = wire::read_command(text);
      if (!back) FAIL(back.error().detail);
      REQUIRE(back->id == command.id);
      REQUIRE(back->by == command.by);
      REQUIRE(back->at == command.at);
      REQUIRE(tests::same_alternative(back->action, command.action));
    }
  }
}

TEST_CASE("codec: every event comes back as it was written, for random events") {
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    for (std::size_t index = 0; index < happenings; ++index) {
      Random random(seed * happenings + index);
      const line::Event event{from_ms(random.between(0, wire::instant_ms_max)),
                              tests::random_alternative<line::Happening>(random, index)};
      const std::string body = wire::event_body(event);
      CAPTURE(seed, index, body);
      const auto back = wire::read_event(wire::event_name(event), body, event.at);
      if (!back) FAIL(back.error().detail);
      REQUIRE(back->at == event.at);
      REQUIRE(tests::same_alternative(back->what, event.what));
    }
  }
}

TEST_CASE("codec: a journal may hold what no command may: long words, and times before 1970") {
  line::WordGiven given{std::string(500, 'x'), line::PanId{1}, "rest", std::string(5000, 'y')};
  const line::Event event{{}, given};
  REQUIRE(wire::read_event("word_given", wire::event_body(event), {}));
  const line::Event early{{}, line::CourseGone{line::TicketId{1}, "mains", 5, -7, -90000}};
  const auto back = wire::read_event("course_gone", wire::event_body(early), {});
  REQUIRE(back);
  CHECK(std::get<line::CourseGone>(back->what).late_ms == -90000);
}

TEST_CASE("codec: a spoilt command is read or refused in a sentence, and what is read is written the same") {
  int refused = 0;
  for (std::uint64_t seed = 0; seed < 6000; ++seed) {
    Random random(seed);
    const std::string text = spoilt(random, wire::write_command(random_command(random, seed % actions)));
    CAPTURE(seed, text);
    const auto command = wire::read_command(text);
    if (command) {
      const auto again = wire::read_command(wire::write_command(*command));
      REQUIRE(again);
      REQUIRE(tests::same_alternative(again->action, command->action));
    } else {
      ++refused;
      check_sentence(command.error());
    }
  }
  CHECK(refused > 3000);
}

TEST_CASE("codec: a spoilt event and plain noise are refused in a sentence") {
  for (std::uint64_t seed = 0; seed < 4000; ++seed) {
    Random random(seed);
    const line::Event event{{}, tests::random_alternative<line::Happening>(random, seed % happenings)};
    const auto spoilt_event = wire::read_event(wire::event_name(event), spoilt(random, wire::event_body(event)), {});
    if (!spoilt_event) check_sentence(spoilt_event.error());
    std::string noise(static_cast<std::size_t>(random.between(0, 200)), '\0');
    for (char& c : noise) c = static_cast<char>(random.between(0, 255));
    CAPTURE(seed);
    const auto command = wire::read_command(noise);
    REQUIRE(!command);
    check_sentence(command.error());
    REQUIRE(!wire::read_order(noise));
  }
}
