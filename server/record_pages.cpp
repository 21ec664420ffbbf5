#include "server/record_pages.hpp"

#include <fmt/format.h>

#include <charconv>
#include <limits>
#include <nlohmann/json.hpp>
#include <optional>

#include "common/wire/codec.hpp"
#include "common/wire/parse.hpp"

namespace nappe::server {

namespace {

using nlohmann::json;

HttpResponse response_of(std::string body, std::string type) {
  HttpResponse response;
  response.type = std::move(type);
  response.body = std::move(body);
  response.headers.emplace_back("Cache-Control", "no-store");
  return response;
}

/// What the last power cut means for a batch. What was being cooled has a time of its own, which runs on.
std::optional<json> cut_json(const line::Batch& batch) {
  if (!batch.cut_verdict.empty()) return json{{"verdict", batch.cut_verdict}, {"says", batch.cut_says}};
  if (!batch.cooling() || batch.chilling->verdict == food::word(food::ChillState::missed)) return std::nullopt;
  const std::string& state = batch.chilling->verdict;
  if (state == food::word(food::ChillState::gap))
    return json{{"verdict", "throw"}, {"says", "nobody read it before its time to be cold was over"}};
  return json{
      {"verdict", "cooling"},
      {"says", (state.empty() ? "not read since it was split" : state) + "; its time to be cold runs on: read it"}};
}

json batch_json(const line::Batch& batch, const line::Record& record, Instant now) {
  json out = {{"name", batch.name},
              {"kind", batch.kind},
              {"by", batch.by},
              {"made_ms", to_ms(batch.made)},
              {"use_by_ms", to_ms(batch.use_by)},
              {"ends", batch.ends},
              {"kept_in", batch.kept_in},
              {"labelled", batch.labelled},
              {"allergens", batch.allergens},
              {"free_from", batch.free_from},
              {"outside_ms", food::outside_for(batch.outside, now).count()},
              {"unfit", batch.unfit()}};
  if (batch.portions) out["portions"] = *batch.portions;
  if (batch.grams) out["grams"] = *batch.grams;
  if (batch.kept_c) out["kept_c"] = *batch.kept_c;
  if (batch.chilling) out["chilling"] = batch.chilling->verdict;
  if (batch.reheated) out["reheated_ms"] = to_ms(batch.reheated->at);
  if (record.cut) {
    if (auto cut = cut_json(batch)) out["cut"] = std::move(*cut);
  }
  if (batch.fate) out["fate"] = *batch.fate == line::Fate::keep ? "keep" : "cool";
  if (batch.fate) out["fate_by"] = batch.fate_by;
  return out;
}

constexpr const char* altered_means =
    ": it was changed outside this program. Keep the file as it is and show it to whoever answers for the record; the "
    "figures as they stand: nappe record csv --anyway";

/// One sentence for a whole record and for one that is not: the question was answered either way.
HttpResponse check_page(JournalReader& reader) {
  const Status whole = reader.check();
  const auto last = reader.last();
  json body = {{"whole", static_cast<bool>(whole)}};
  body["says"] = whole ? fmt::format("The record is as it was written: {} events, each chained to the one before it.",
                                     last ? *last : 0)
                       : whole.error().detail;
  return response_of(wire::write_json(body), "application/json");
}

HttpResponse batch_answer(const std::vector<mise::Recorded>& events, const std::string& id, const RecordAsked& asked,
                          const Status& whole) {
  auto page = mise::batch_page(events, id, asked.offset, asked.now);
  if (!page) return problem_response(page.error());
  if (!whole) page->altered = whole.error().detail;
  const auto as = asked.target.query.find("as");
  if (as != asked.target.query.end() && as->second == "text")
    return response_of(mise::page_text(*page), "text/plain; charset=utf-8");
  return response_of(mise::page_html(*page), "text/html; charset=utf-8");
}

HttpResponse plates_answer(const std::vector<mise::Recorded>& events, const std::string& table,
                           const RecordAsked& asked) {
  const auto& query = asked.target.query;
  const auto course = query.find("course");
  const auto said = query.find("position");
  int position = 0;
  if (said != query.end()) {
    const std::string& text = said->second;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), position);
    if (error != std::errc() || end != text.data() + text.size() || position < 1)
      return problem_response(Error{Errc::invalid, "\"position\" must be a whole number from 1"});
  }
  std::string text =
      mise::plates_text(events, table, course == query.end() ? std::string() : course->second, position, asked.offset);
  if (text.empty())
    return problem_response(Error{Errc::unknown, "the record has no plate of table " + table + " so named"});
  return response_of(std::move(text), "text/plain; charset=utf-8");
}

}  // namespace

std::string batches_document(const line::State& state) {
  const line::Record& record = state.record();
  json out = {{"batches", json::object()},
              {"places", json::object()},
              {"probes", json::object()},
              {"handovers", json::object()},
              {"rules", record.rules ? record.rules->in_force.name : std::string()}};
  if (record.cut) {
    out["power"] = {{"off_ms", to_ms(record.cut->since)}};
    if (record.cut->back) out["power"]["back_ms"] = to_ms(*record.cut->back);
  }
  for (const auto& [id, batch] : record.batches)
    if (batch.there()) out["batches"][id] = batch_json(batch, record, state.now);
  for (const auto& [id, place] : record.places) out["places"][id] = {{"fault", place.fault}, {"high", place.high}};
  for (const auto& [id, probe] : record.probes) {
    out["probes"][id] = {{"failed", probe.failed.has_value()}};
    if (probe.good) out["probes"][id]["good_ms"] = to_ms(*probe.good);
  }
  for (const auto& [number, handover] : record.handovers)
    out["handovers"][std::to_string(number)] = {
        {"by", handover.by}, {"at_ms", to_ms(handover.at)}, {"note", handover.note}, {"different", handover.different}};
  return wire::write_json(out);
}

Result<std::vector<mise::Recorded>> read_recorded(JournalReader& reader) {
  std::vector<mise::Recorded> events;
  const auto read =
      reader.read_record(std::numeric_limits<std::int64_t>::max(), [&](const StoredEvent& stored) -> Status {
        auto event = wire::read_event(stored.event.name, stored.event.body, stored.event.at);
        if (!event)
          return Error{Errc::unavailable, fmt::format("event {} ({}) of the journal cannot be read: {}", stored.seq,
                                                      stored.event.name, event.error().detail)};
        events.push_back({stored.seq, std::move(event).value()});
        return Done{};
      });
  if (!read) return read.error();
  return events;
}

HttpResponse record_page(JournalReader& reader, const RecordAsked& asked) {
  constexpr std::string_view batches = "batches/";
  constexpr std::string_view plates = "plates/";
  const std::string& rest = asked.rest;
  if (rest == "check") return check_page(reader);
  const bool known = rest == "readings.csv" || rest.starts_with(batches) || rest.starts_with(plates);
  if (!known) return problem_response(Error{Errc::unknown, "there is nothing at /record/" + rest});
  const auto events = read_recorded(reader);
  if (!events) return problem_response(events.error());
  try {
    if (rest.starts_with(plates)) return plates_answer(*events, rest.substr(plates.size()), asked);
    const Status whole = reader.check();
    if (rest.starts_with(batches)) return batch_answer(*events, rest.substr(batches.size()), asked, whole);
    if (!whole && asked.target.query.count("anyway") == 0)
      return problem_response(Error{Errc::unavailable, whole.error().detail + altered_means});
    return response_of(mise::readings_csv(*events), "text/csv; charset=utf-8");
  } catch (const std::logic_error& damaged) {
    return problem_response(Error{Errc::unavailable, std::string("the record does not fit itself: ") + damaged.what()});
  }
}

}  // namespace nappe::server
