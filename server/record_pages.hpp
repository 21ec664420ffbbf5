#pragma once
// What the record shows over HTTP: the batches that are there, a batch's page, a table's plates, all readings.

#include <string>
#include <vector>

#include "common/line/state.hpp"
#include "common/mise/batch_record.hpp"
#include "common/result.hpp"
#include "server/http.hpp"
#include "server/journal.hpp"

namespace nappe::server {

/// The record as it stands, as JSON text: batches, places, probes, handovers nobody has answered, the rules in force.
std::string batches_document(const line::State& state);

/// All events of the record in the journal; `unavailable` names one that cannot be read.
Result<std::vector<mise::Recorded>> read_recorded(JournalReader& reader);

/// What is asked of the record: GET /record/`rest`.
struct RecordAsked {
  std::string rest;
  Target target;
  Duration offset{};  ///< Of the house's clocks from UTC.
  Instant now{};
};

/// The answer: "check", "batches/ID" (text with ?as=text), "plates/TABLE", "readings.csv".
HttpResponse record_page(JournalReader& reader, const RecordAsked& asked);

}  // namespace nappe::server
