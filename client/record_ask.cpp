#include "client/record_ask.hpp"

#include <fmt/format.h>

#include <cstdio>

#include "client/http.hpp"
#include "client/one_shot.hpp"

namespace nappe::client {

using Json = nlohmann::json;

int say_failed(const std::string& sentence) {
  fmt::print(stderr, "{}\n", sentence);
  return 1;
}

Result<std::string> get_text(const Address& server, const std::string& path) {
  const auto answer = http_ask(server, "GET", path);
  if (!answer) return answer.error();
  if (answer->status != 200) return Error{Errc::unavailable, problem_sentence(*answer)};
  return answer->body;
}

Result<Json> get_json(const Address& server, const std::string& path) {
  const auto text = get_text(server, path);
  if (!text) return text.error();
  Json json = Json::parse(*text, nullptr, false);
  if (json.is_discarded()) return Error{Errc::unavailable, path + " was not answered in JSON"};
  return json;
}

Result<KitchenTime> kitchen_time(const Address& server) {
  const auto clock = get_json(server, "/clock");
  if (!clock) return clock.error();
  KitchenTime time;
  time.now = from_ms(clock->value("now_ms", std::int64_t{0}));
  const auto kitchen = get_json(server, "/kitchen");
  if (!kitchen) return kitchen.error();
  if (kitchen->contains("settings"))
    time.offset = minutes((*kitchen)["settings"].value("utc_offset_minutes", std::int64_t{0}));
  return time;
}

Result<LiveRecord> live_record(const Address& server) {
  const auto record = get_json(server, "/batches");
  if (!record) return record.error();
  const auto time = kitchen_time(server);
  if (!time) return time.error();
  LiveRecord out{{}, time->now, time->offset};
  for (const auto& [id, batch] : (*record)["batches"].items()) {
    mise::LiveBatch one;
    one.id = id;
    one.kind = batch.value("kind", std::string());
    if (batch.contains("portions")) one.portions = batch["portions"].get<int>();
    if (batch.contains("grams")) one.grams = batch["grams"].get<int>();
    one.kept_in = batch.value("kept_in", std::string());
    one.use_by = from_ms(batch.value("use_by_ms", std::int64_t{0}));
    one.unfit = batch.value("unfit", std::string());
    out.batches.push_back(std::move(one));
  }
  return out;
}

namespace {

// What a program writes and a person does not.
std::string as_typed(std::string sentence) {
  for (const std::string_view written : {" (\"sure\": true)", " (\"stranger\": true)"})
    if (const auto at = sentence.find(written); at != std::string::npos) sentence.erase(at, written.size());
  return sentence;
}

}  // namespace

int ask_action(const Address& server, const Who& by, const char* action, Json body) {
  const auto clock = get_json(server, "/clock");
  if (!clock) return say_failed(clock.error().detail);
  Json command{{"id", fresh_id()}, {"by", by.name}, {"at_ms", clock->value("now_ms", std::int64_t{0})}};
  if (by.stranger) command["stranger"] = true;
  command["do"][action] = std::move(body);
  const auto answer = http_ask(server, "POST", "/commands", command.dump());
  if (!answer) return say_failed(answer.error().detail);
  if (answer->status / 100 != 2) return say_failed(as_typed(problem_sentence(*answer)));
  const Json said = Json::parse(answer->body, nullptr, false);
  fmt::print("{}\n", said.is_object() ? said.value("says", std::string("done")) : std::string("done"));
  return 0;
}

}  // namespace nappe::client
