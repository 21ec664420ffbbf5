#include "common/wire/codec.hpp"

#include <algorithm>
#include <boost/core/demangle.hpp>
#include <boost/mp11/algorithm.hpp>
#include <catch2/catch.hpp>
#include <cctype>
#include <nlohmann/json.hpp>
#include <string>

#include "common/wire/command_schema.hpp"

using namespace nappe;
using nlohmann::json;

namespace {

// "nappe::line::ItsThere" -> "its_there".
template <class T>
std::string snake_name() {
  std::string full = boost::core::demangle(typeid(T).name());
  full = full.substr(full.rfind(':') + 1);
  std::string snake;
  for (const char c : full) {
    if (std::isupper(static_cast<unsigned char>(c)) != 0 && !snake.empty()) snake += '_';
    snake += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  }
  return snake;
}

const char* const a_command = R"({"id": "k1", "by": "ines", "at_ms": 1764000000000, )"
                              R"("do": {"finish_step": {"pan": 31, "step": "ladle", "round": 5}}})";

// The example with one member replaced (or, given null, taken out).
std::string with(const char* pointer, const json& value) {
  json command = json::parse(a_command);
  const json::json_pointer at(pointer);
  if (value.is_null()) {
    command[at.parent_pointer()].erase(at.back());
  } else {
    command[at] = value;
  }
  return command.dump();
}

}  // namespace

TEST_CASE("codec: the command of the description is read, its defaults stand, and it is written back") {
  const auto command = wire::read_command(a_command);
  REQUIRE(command);
  CHECK(command->id == "k1");
  CHECK(command->by == "ines");
  CHECK(to_ms(command->at) == 1764000000000);
  const auto* finish = std::get_if<line::FinishStep>(&command->action);
  REQUIRE(finish != nullptr);
  CHECK(line::number(finish->pan) == 31);
  CHECK(finish->step == "ladle");
  CHECK(finish->round == 5);
  CHECK_FALSE(finish->sure);
  json expected = json::parse(a_command);
  expected["do"]["finish_step"]["sure"] = false;
  CHECK(json::parse(wire::write_command(*command)) == expected);
}

TEST_CASE("codec: every action and every event is named as its struct") {
  boost::mp11::mp_for_each<boost::mp11::mp_transform<boost::mp11::mp_identity, line::Action>>([](auto type) {
    using Action = typename decltype(type)::type;
    const json written = json::parse(wire::write_command({"k", "by", {}, Action{}}));
    CHECK(written["do"].begin().key() == snake_name<Action>());
  });
  boost::mp11::mp_for_each<boost::mp11::mp_transform<boost::mp11::mp_identity, line::Happening>>([](auto type) {
    using Happening = typename decltype(type)::type;
    CHECK(wire::event_name({{}, Happening{}}) == snake_name<Happening>());
  });
}

// Names may be added here, never changed: journals and clients hold them.
TEST_CASE("codec: the names that journals and clients already use are still known") {
  const char* const events[] = {
      "service_opened",  "service_closed",    "hands_set",          "left_set",          "ticket_sent",
      "plate_changed",   "allergy_told",      "ticket_cancelled",   "pan_opened",        "pan_dropped",
      "portions_moved",  "portion_freed",     "course_fired",       "course_unfired",    "course_held",
      "course_released", "meet_moved",        "step_started",       "step_ended",        "pressed",
      "step_reopened",   "cue_met",           "word_given",         "portion_plated",    "plate_gone",
      "plate_back",      "plate_blocked",     "plate_cleared",      "course_gone",       "refire_ordered",
      "marked",          "alert_raised",      "alert_acknowledged", "alert_shelved",     "alert_unshelved",
      "alert_escalated", "alert_cleared",     "positions_moved",    "table_changed",     "ticket_split",
      "ticket_merged",   "table_paused",      "table_resumed",      "pace_asked",        "clear_guessed",
      "plate_unblocked", "portion_lent",      "rules_adopted",      "batch_made",        "batch_split",
      "batch_moved",     "batch_opened",      "use_by_set",         "batch_labelled",    "batch_counted",
      "reading_taken",   "reading_corrected", "chill_begun",        "chill_judged",      "outside_set",
      "batch_blocked",   "batch_reheated",    "batch_thrown",       "batch_kept",        "batch_noted",
      "batch_drawn",     "batch_returned",    "drawn_untraced",     "batch_ended",       "batch_past",
      "place_judged",    "probe_checked",     "handover_written",   "handover_answered", "batch_recooked",
      "power_cut",       "power_back",        "cut_judged",         "words_dropped",     "bookings_taken"};
  for (const char* const name : events) {
    const auto event = wire::read_event(name, "{\"no such member\": 1}", {});
    REQUIRE(!event);
    CAPTURE(name);
    CHECK(event.error().detail.find("There is no event") == std::string::npos);
  }
  const char* const actions[] = {
      "open_service", "close_service",   "set_hands",      "set_left",       "send_ticket",     "change_plate",
      "tell_allergy", "cancel_ticket",   "fire",           "hold",           "release",         "move_meet",
      "gone",         "bring_back",      "refire",         "clear_plate",    "start_step",      "finish_step",
      "one_more",     "its_there",       "plate_portion",  "undo",           "join_pans",       "acknowledge",
      "shelve",       "change_ticket",   "move_positions", "move_table",     "split_table",     "merge_tables",
      "speech",       "table_up",        "table_back",     "pace",           "guess_clear",     "borrow",
      "make_batch",   "split_batch",     "mix_batches",    "move_batch",     "open_batch",      "label_batch",
      "count_batch",  "start_chill",     "take_reading",   "reheat_batch",   "throw_batch",     "keep_batch",
      "note_batch",   "correct_reading", "check_probe",    "write_handover", "answer_handover", "recook_batch",
      "tell_power",   "take_bookings"};
  for (const char* const name : actions) {
    const auto command = wire::read_command(with("/do", json{{name, {{"no such member", 1}}}}));
    REQUIRE(!command);
    CHECK(command.error().where == "/do/" + std::string(name) + "/no such member");
  }
}

TEST_CASE("codec: a command that is wrong is refused with one sentence and where") {
  struct Case {
    std::string text;
    const char* where;
    const char* says;  ///< A part of the sentence.
  };
  const std::string long_id(65, 'x');
  const std::string long_word(401, 'x');
  const Case cases[] = {
      {"", "1:1", "ends before"},
      {"{\"id\"", "1:6", "ends before"},
      {"nonsense", "1:2", "not JSON"},
      {"{\"id\": \"\xFF\"}", "1:9", "UTF-8"},
      {R"({"id": "a", "id": "b"})", "", "\"id\" is named twice"},
      {"[]", "", "must be an object, not a list"},
      {with("/id", nullptr), "/id", "\"id\" is missing"},
      {with("/id", ""), "/id", "is empty"},
      {with("/id", long_id), "/id", "longer than 64"},
      {with("/by", 7), "/by", "\"by\" must be a text, not a number"},
      {with("/at_ms", nullptr), "/at_ms", "is missing"},
      {with("/at_ms", "now"), "/at_ms", "must be a number, not a text"},
      {with("/at_ms", 1.5), "/at_ms", "whole number"},
      {with("/at_ms", -1), "/at_ms", "milliseconds since 1970"},
      {with("/at_ms", 253402300800000), "/at_ms", "year 9999"},
      {with("/at_ms", 18446744073709551615ULL), "/at_ms", "not between"},
      {with("/atms", 5), "/atms", "did you mean \"at_ms\"?"},
      {with("/do", nullptr), "/do", "\"do\" is missing"},
      {with("/do", json::object()), "/do", "exactly one action"},
      {R"({"id": "a", "by": "b", "at_ms": 1, "do": {"gone": {}, "hold": {}}})", "/do", "exactly one action"},
      {with("/do", json{{"finish_stp", json::object()}}), "/do/finish_stp", "did you mean \"finish_step\"?"},
      {with("/do", json{{"its there", json::object()}}), "/do/its there", "did you mean \"its_there\"?"},
      {with("/do", json{{"a/b~c", json::object()}}), "/do/a~1b~0c", "known are open_service"},
      {with("/do/finish_step", 1), "/do/finish_step", "must be an object, not a number"},
      {with("/do/finish_step/step", nullptr), "/do/finish_step/step", "\"step\" is missing from \"finish_step\""},
      {with("/do/finish_step/pan", -1), "/do/finish_step/pan", "not between 0 and 4294967295"},
      {with("/do/finish_step/pan", 4294967296), "/do/finish_step/pan", "not between"},
      {with("/do/finish_step/round", 2147483648), "/do/finish_step/round", "not between"},
      {with("/do/finish_step/sure", "yes"), "/do/finish_step/sure", "must be true or false, not a text"},
      {with("/do/finish_step/step", "a\nb"), "/do/finish_step/step", "control character"},
      {with("/do/finish_step/step",
            "a\xC2\x9B"
            "b"),
       "/do/finish_step/step", "control character"},
      {with("/do/finish_step/rond", 2), "/do/finish_step/rond", "did you mean \"round\"?"},
      {with("/do", json{{"cancel_ticket", {{"ticket", 1}, {"reason", long_word}}}}), "/do/cancel_ticket/reason",
       "longer than 400"},
      {with("/do", json{{"gone", {{"ticket", 1}, {"course", "mains"}, {"but", {1, "two"}}}}}), "/do/gone/but/1",
       "Entry 2 of \"but\" must be a number, not a text"},
      {with("/do", json{{"gone", {{"ticket", 1}, {"course", "mains"}, {"but", json::array_t(201, 1)}}}}),
       "/do/gone/but", "more than 200"},
      {R"({"id":"a","by":"b","at_ms":1,"do":{"set_left":{"dish":"pollack","left":null}}})", "/do/set_left/left",
       "leave the member out"},
      {std::string(100000, '['), "1:65", "nests deeper"},
  };
  for (const Case& one : cases) {
    CAPTURE(one.text.substr(0, 200));
    const auto command = wire::read_command(one.text);
    REQUIRE(!command);
    CAPTURE(command.error().detail);
    CHECK(command.error().code == Errc::invalid);
    CHECK(command.error().where == one.where);
    CHECK(command.error().detail.find(one.says) != std::string::npos);
    const char last = command.error().detail.back();
    CHECK((last == '.' || last == '?'));
    CHECK(command.error().detail.find('\n') == std::string::npos);
  }
}

TEST_CASE("codec: an alert written before alerts could be about batches is still read") {
  const auto old = wire::read_event("alert_raised",
                                    R"({"alert":3,"kind":"keep_low","station":"","pan":7,"step":"","round":0,)"
                                    R"("plate":{"ticket":0,"course":"","position":0},"at_ms":1764000000000})",
                                    {});
  REQUIRE(old);
  CHECK_FALSE(std::get<line::AlertRaised>(old->what).batch);
}

TEST_CASE("codec: a temperature keeps its tenth both ways and must be a number a probe can show") {
  const auto reading = wire::read_command(
      with("/do", json{{"take_reading", {{"batch", "swede-1120"}, {"probe", "blue"}, {"celsius", 72.4}}}}));
  REQUIRE(reading);
  CHECK(std::get<line::TakeReading>(reading->action).celsius == 72.4);
  CHECK(json::parse(wire::write_command(*reading))["do"]["take_reading"]["celsius"] == 72.4);
  const auto huge = wire::read_command(
      with("/do", json{{"take_reading", {{"batch", "swede-1120"}, {"probe", "blue"}, {"celsius", 1e300}}}}));
  REQUIRE(!huge);
  CHECK(huge.error().where == "/do/take_reading/celsius");
}

TEST_CASE("codec: lengths count characters and not bytes, and words may be long") {
  std::string word;
  for (int i = 0; i < 400; ++i) word += "é";
  const auto long_reason = wire::read_command(with("/do", json{{"cancel_ticket", {{"ticket", 1}, {"reason", word}}}}));
  CHECK(long_reason);
  std::string id;
  for (int i = 0; i < 64; ++i) id += "ö";
  CHECK(wire::read_command(with("/by", id)));
  CHECK_FALSE(wire::read_command(with("/by", id + "x")));
}

TEST_CASE("codec: a kitchen's document may be long and hold line ends") {
  const std::string document = "{\n" + std::string(100000, ' ') + "}\n";
  const auto command =
      wire::read_command(with("/do", json{{"open_service", {{"name", "Friday"}, {"document", document}}}}));
  REQUIRE(command);
  CHECK(std::get<line::OpenService>(command->action).document == document);
}

TEST_CASE("codec: what may be left out is what means nothing when it is not said") {
  CHECK(wire::read_command(R"({"id":"a","by":"","at_ms":1,"do":{"set_left":{"dish":"pollack"}}})"));
  CHECK(wire::read_command(R"({"id":"a","by":"","at_ms":1,"do":{"fire":{"ticket":1,"course":"mains"}}})"));
  CHECK(wire::read_command(R"({"id":"a","by":"","at_ms":1,"do":{"gone":{"ticket":1,"course":"mains"}}})"));
  CHECK(wire::read_command(R"({"id":"a","by":"","at_ms":1,"do":{"close_service":{}}})"));
  // Whom an allergy belongs to, or when a course is to meet, is never guessed.
  CHECK_FALSE(
      wire::read_command(R"({"id":"a","by":"","at_ms":1,"do":{"tell_allergy":{"ticket":1,"allergies":["milk"]}}})"));
  CHECK_FALSE(wire::read_command(R"({"id":"a","by":"","at_ms":1,"do":{"tell_allergy":{"ticket":1,"position":2}}})"));
  CHECK_FALSE(wire::read_command(R"({"id":"a","by":"","at_ms":1,"do":{"move_meet":{"ticket":1,"course":"mains"}}})"));
}

TEST_CASE("codec: an order is read on its own") {
  const auto order = wire::read_order(R"({"table": "8", "guests": [{"position": 4, "allergies": ["gluten"]}],
    "courses": [{"course": "starters", "plates": [{"position": 1, "dish": "emmer"},
                                                  {"position": 4, "dish": "leek", "change": "sauce beside"}]}]})");
  REQUIRE(order);
  CHECK(order->table == "8");
  REQUIRE(order->courses.size() == 1);
  CHECK(order->courses[0].plates[1].change == "sauce beside");
  CHECK(order->guests[0].allergies == std::vector<std::string>{"gluten"});
  const auto wrong =
      wire::read_order(R"({"table": "8", "courses": [{"course": "starters", "plates": [{"position": 1}]}]})");
  REQUIRE(!wrong);
  CHECK(wrong.error().where == "/courses/0/plates/0/dish");
}

TEST_CASE("codec: an event is written as name and body and read back; a damaged one is refused") {
  line::StepEnded ended;
  ended.pan = line::PanId{31};
  ended.step = "ladle";
  ended.round = 5;
  ended.at_ms = 1764000000000;
  const line::Event event{from_ms(1764000000500), ended};
  CHECK(wire::event_name(event) == "step_ended");
  CHECK(json::parse(wire::event_body(event)) ==
        json::parse(R"({"pan": 31, "step": "ladle", "round": 5, "at_ms": 1764000000000, "inferred": false})"));
  const auto back = wire::read_event("step_ended", wire::event_body(event), event.at);
  REQUIRE(back);
  CHECK(back->at == event.at);
  CHECK(std::get<line::StepEnded>(back->what).round == 5);

  const auto unknown = wire::read_event("step_endd", "{}", {});
  REQUIRE(!unknown);
  CHECK(unknown.error().detail == "There is no event \"step_endd\"; did you mean \"step_ended\"?");
  const auto kind = wire::read_event("alert_raised", R"({"alert":1,"kind":"keep_lo","station":"","pan":0,"step":"",
    "plate":{"ticket":0,"course":"","position":0},"at_ms":5})",
                                     {});
  REQUIRE(!kind);
  CHECK(kind.error().where == "/kind");
  CHECK(kind.error().detail == "\"kind\" cannot be \"keep_lo\"; did you mean \"keep_low\"?");
}

TEST_CASE("a service may be opened without its document: the server knows its house") {
  const auto command =
      nappe::wire::read_command(R"({"id":"a1","by":"Mara","at_ms":1,"do":{"open_service":{"name":"Friday"}}})");
  REQUIRE(command);
  const auto* open = std::get_if<nappe::line::OpenService>(&command->action);
  REQUIRE(open != nullptr);
  CHECK(open->name == "Friday");
  CHECK(open->document.empty());
}

TEST_CASE("codec: the schema of the commands names what the reader takes, and what it cannot do without") {
  const json schema = json::parse(wire::action_schema());
  const json& actions = schema["properties"];
  REQUIRE(actions.size() == wire::action_names().size());
  CHECK(schema["minProperties"] == 1);
  boost::mp11::mp_for_each<boost::mp11::mp_transform<boost::mp11::mp_identity, line::Action>>([&](auto type) {
    using Action = typename decltype(type)::type;
    const json written = json::parse(wire::write_command({"k", "by", {}, Action{}}))["do"];
    const std::string name = written.begin().key();
    CAPTURE(name);
    REQUIRE(actions.contains(name));
    const json& action = actions[name];
    const json required = action.value("required", json::array());
    // What is written is described; what is described and left out is missed only if it is required.
    for (const auto& [member, value] : written[name].items()) CHECK(action["properties"].contains(member));
    for (const auto& [member, described] : action["properties"].items()) {
      CAPTURE(member);
      json body = written[name];
      body.erase(member);
      const auto read = wire::read_command(with("/do", json{{name, body}}));
      const bool needed = std::find(required.begin(), required.end(), member) != required.end();
      const bool missed = !read && read.error().detail.find("\"" + member + "\" is missing") == 0;
      CHECK(missed == needed);
    }
    const auto read = wire::read_command(with("/do", json{{name, {{"no such member", 1}}}}));
    CHECK_FALSE(read);
    CHECK(action["additionalProperties"] == false);
  });
  CHECK(actions["finish_step"]["required"] == json{"pan", "step"});
  CHECK(actions["finish_step"]["properties"]["step"] == json{{"type", "string"}, {"maxLength", 64}});
  CHECK(actions["fire"]["properties"]["meet_ms"]["type"] == "integer");
  CHECK(actions["cancel_ticket"]["properties"]["reason"]["maxLength"] == 400);
  CHECK(actions["throw_batch"]["type"] == "object");
}
