#pragma once
// What an inspector is shown of a batch, from the record's events alone: who made it from what, how it was cooled, read
// and reheated, with which probe and when that was last checked, on which plates it went. No guest is named in it.

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "common/line/event.hpp"
#include "common/result.hpp"

namespace nappe::mise {

/// An event of the record with its number in the journal.
struct Recorded {
  std::int64_t number = 0;
  line::Event event;
};

/// One reading as it stands, the correction beside it.
struct ReadingLine {
  int number = 0;
  Instant taken{};
  Instant entered{};
  bool entered_later = false;
  std::string batch;  ///< Empty: of a place.
  std::string place;
  double celsius = 0;
  std::optional<double> corrected_c;
  std::string corrected;  ///< Why and by whom; empty: it was not.
  std::string remark;     ///< What was odd about it; empty: nothing.
  std::string probe;
  std::string probe_check;  ///< The probe's last check before it, in words.
  bool doubtful = false;    ///< The probe's last check before it, or its next one after it, failed.
  std::string by;
};

struct PlateLine {
  Instant at{};
  std::string table;
  std::string course;
  int position = 0;
  std::string dish;
  std::string component;
  std::string batch;  ///< Empty: no batch fit to be used was known.
  std::string why;    ///< Then: what was there and why it was not fit.
};

struct LogLine {
  std::int64_t number = 0;
  Instant at{};
  std::string says;
};

/// One page about one batch.
struct BatchPage {
  std::string altered;  ///< What is wrong with the journal it was read from; empty: it is as it was written.
  std::string id;
  std::vector<std::pair<std::string, std::string>> facts;
  std::vector<std::string> verdicts;  ///< Within or outside the limit of which rule (and its source).
  std::string rules;                  ///< The rule set in force when it was last touched.
  std::vector<ReadingLine> readings;
  std::vector<PlateLine> plates;
  std::vector<LogLine> log;
  Duration utc_offset{};
};

/// The page of a batch, of the last of that name. `unknown` if the record has none. `events`: all of the record, in
/// order.
Result<BatchPage> batch_page(const std::vector<Recorded>& events, const std::string& id, Duration utc_offset,
                             Instant now);

/// As plain text for a terminal, at most 100 columns where words allow; as one HTML page that needs nothing else and
/// prints on A4. Both end with the caution.
std::string page_text(const BatchPage& page);
std::string page_html(const BatchPage& page);

/// Every reading and plate of the record, in order.
std::vector<ReadingLine> reading_lines(const std::vector<Recorded>& events);
std::vector<PlateLine> plate_lines(const std::vector<Recorded>& events);
/// What is known of a table's plates: which batch each component came from. Course and position narrow it if given.
std::string plates_text(const std::vector<Recorded>& events, const std::string& table, const std::string& course,
                        int position, Duration utc_offset);

/// All readings as CSV (RFC 4180), instants as RFC 3339 in UTC.
std::string readings_csv(const std::vector<Recorded>& events);

}  // namespace nappe::mise
