#pragma once
// Shared by the files that decide about batches and readings, and by the screens that show them.

#include <optional>
#include <string>
#include <vector>

#include "common/line/decide.hpp"

namespace nappe::line {

/// The batch of this name of which something is left, or a sentence.
Result<const Batch*> batch_of(const State& state, const std::string& id);
/// The same, and it may be used: not past its use-by, not blocked.
Result<const Batch*> usable_batch(const State& state, const std::string& id);
/// Who answers for it: a name is needed.
Status named(const Asked& asked, const char* for_what);
/// The instant said, or that of the press; `invalid` when it lies ahead. Nothing is older than the batch it is about.
Result<Instant> instant_said(const Asked& asked, const std::optional<std::int64_t>& said_ms, const char* where);
/// Whether it was put down so long after it happened that the record says "entered later".
bool entered_later(Instant happened, Instant now);
/// The kitchen's offset from UTC; zero while no kitchen is known.
Duration utc_offset(const State& state);
/// "20:31 on Friday's date": "2026-11-20 20:31" by the kitchen's clock.
std::string when_text(const State& state, Instant at);
/// Midnight that ends the day, so many days on, by the kitchen's clock.
Instant end_of_day(const State& state, Instant at, int days_on);

/// What the readings say about its cooling under the rules in force: the worst of their stages. Nothing when the rules
/// set no number.
std::optional<ChillJudged> judge_chill(const Record& record, const Batch& batch, Instant now);
/// The judgement, if it says something else than the batch's last, and the block if it has missed.
void add_chill(const Record& record, const Batch& batch, Instant now, Happenings& out);

/// What the last power cut means for this batch; nothing when it was not concerned.
std::optional<CutJudged> judge_cut(const Record& record, const Batch& batch, Instant now);
/// When time alone makes that verdict another one; nothing: never.
std::optional<Instant> cut_expires(const Record& record, const Batch& batch, Instant now);
/// The verdict, if it is another than the batch's last (or `again`), and the block if it is to be thrown.
void add_cut(const Record& record, const Batch& batch, Instant now, bool again, Happenings& out);

/// A probe's reading of food as somebody says it: a name, a probe that can be trusted, a temperature food can have.
Status check_probe_reading(const Asked& asked, const std::string& probe, double celsius);

/// For how long food kept so may be outside the limit; nothing when the rules allow none or know no limit.
std::optional<Duration> allowance_of(const food::RuleSet& rules, Keeping keeping);

/// Portions of this component that nobody has been promised, of counted batches fit to be used. Nothing when no counted
/// batch of it is known.
std::optional<int> portions_unpromised(const State& state, const std::string& component);
/// Whether a batch of this kind is drawn for the component.
bool feeds(const kitchen::Component& component, const std::string& kind);
/// Adds what the decision's plating and un-plating means for batches.
void add_drawn(const State& state, Happenings& out);

/// What is different from standard, one sentence each.
std::vector<std::string> different_from_standard(const State& state, Instant now);
/// What the record lacks before this batch may be kept; empty: nothing.
std::string missing_reading(const Record& record, const Batch& batch, Instant now);

/// A batch that dies in service and must be made again: when it is to be begun at the latest, so that the next is
/// there.
struct Remake {
  const Batch* batch = nullptr;
  Instant begin{};
  Duration takes{};
};
std::vector<Remake> remakes(const State& state);

/// What time alone will make happen to batches: the first of each, with its instant.
struct RecordDue {
  Instant at{};
  Happening what;
};
std::vector<RecordDue> watch_record(const State& state);

Decision decide_on(const Asked& asked, const MakeBatch& action);
Decision decide_on(const Asked& asked, const SplitBatch& action);
Decision decide_on(const Asked& asked, const MixBatches& action);
Decision decide_on(const Asked& asked, const MoveBatch& action);
Decision decide_on(const Asked& asked, const OpenBatch& action);
Decision decide_on(const Asked& asked, const LabelBatch& action);
Decision decide_on(const Asked& asked, const CountBatch& action);
Decision decide_on(const Asked& asked, const StartChill& action);
Decision decide_on(const Asked& asked, const TakeReading& action);
Decision decide_on(const Asked& asked, const ReheatBatch& action);
Decision decide_on(const Asked& asked, const ThrowBatch& action);
Decision decide_on(const Asked& asked, const KeepBatch& action);
Decision decide_on(const Asked& asked, const NoteBatch& action);
Decision decide_on(const Asked& asked, const CorrectReading& action);
Decision decide_on(const Asked& asked, const CheckProbe& action);
Decision decide_on(const Asked& asked, const WriteHandover& action);
Decision decide_on(const Asked& asked, const AnswerHandover& action);
Decision decide_on(const Asked& asked, const RecookBatch& action);
Decision decide_on(const Asked& asked, const TellPower& action);

}  // namespace nappe::line
