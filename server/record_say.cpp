#include "server/record_say.hpp"

#include <fmt/format.h>

#include "common/food/judge.hpp"
#include "common/line/record.hpp"
#include "common/words.hpp"

namespace nappe::server {

namespace {

using namespace nappe::line;

class Says {
 public:
  explicit Says(const State& state) : s_(state) {}

  std::string operator()(const BatchMade& e) const {
    return fmt::format("{}: use by {} ({}).{}", e.batch, when(from_ms(e.use_by_ms)), e.ends,
                       e.labelled ? "" : " It has no label yet: no label, no use.");
  }
  std::string operator()(const BatchSplit& e) const {
    std::string into;
    for (const BatchShare& share : e.into) into += (into.empty() ? "" : ", ") + share.batch;
    return fmt::format("{} is now {}: label each.", e.batch, into);
  }
  std::string operator()(const UseBySet& e) const {
    return fmt::format("{}: use by {} ({}).", e.batch, when(from_ms(e.use_by_ms)), e.ends);
  }
  std::string operator()(const BatchCounted& e) const {
    if (!e.portions || !e.portions_before || *e.portions == *e.portions_before) return {};
    return fmt::format("{}: {} counted, {} by the record; the gap stays in the record.", e.batch,
                       counted(*e.portions, "portion"), *e.portions_before);
  }
  std::string operator()(const ReadingTaken& e) const {
    std::string says = fmt::format("Reading {}: {:.1f} C.", e.reading, e.celsius);
    if (e.remark) says += fmt::format(" {}.", *e.remark);
    const Batch* batch = s_.record().find(e.batch);
    if (batch != nullptr && !batch->cooling()) says += " " + holding(*batch, e.celsius);
    const auto probe = s_.record().probes.find(e.probe);
    if (probe == s_.record().probes.end())
      says += fmt::format(" No check of probe {} is on record.", e.probe);
    else if (probe->second.failed)
      says += fmt::format(" Probe {} failed its last check.", e.probe);
    return says;
  }
  std::string operator()(const ChillJudged& e) const { return e.says; }
  std::string operator()(const BatchBlocked& e) const {
    const Batch* batch = s_.record().find(e.batch);
    const auto& cooling = s_.record().rule_set().cooling;
    if (batch == nullptr || !batch->cooling() || batch->recooked || !cooling || !cooling->recook)
      return fmt::format("{} may not be used: throw it.", e.batch);
    return fmt::format("{} may not be used: throw it, or cook it again as {} ({}) says, each with a name.", e.batch,
                       cooling->recook->source.rule, cooling->recook->source.text);
  }
  std::string operator()(const BatchRecooked& e) const {
    return fmt::format("{} Chill it now: its cooling begins anew.", e.says);
  }
  std::string operator()(const PowerCut&) const { return "The power is off: keep every door shut."; }
  std::string operator()(const PowerBack& e) const {
    return fmt::format("The power was off for {}: read every fridge, and what is kept hot.",
                       food::limit_text(std::chrono::round<std::chrono::minutes>(Duration(e.back_ms - e.since_ms))));
  }
  std::string operator()(const CutJudged& e) const { return fmt::format("{}: {}. {}", e.batch, e.verdict, e.says); }
  std::string operator()(const BatchReheated& e) const { return e.says; }
  std::string operator()(const PlaceJudged& e) const { return e.says + "."; }
  std::string operator()(const ProbeChecked& e) const {
    const char* const limits = e.bath == Bath::iced ? "-1 to +1 C in iced water" : "99 to 101 C in boiling water";
    if (e.passed) return fmt::format("Probe {} is within {}.", e.probe, limits);
    std::string doubtful;
    for (const int reading : e.doubtful) doubtful += fmt::format("{}{}", doubtful.empty() ? "" : ", ", reading);
    return fmt::format("Probe {} is outside {}. Readings since its last good check: {}.", e.probe, limits,
                       doubtful.empty() ? "none" : doubtful);
  }
  std::string operator()(const HandoverWritten& e) const {
    std::string says = fmt::format("Handover {}.", e.handover);
    for (const std::string& line : e.different) says += " " + line + ".";
    return says;
  }
  template <class Other>
  std::string operator()(const Other&) const {
    return {};
  }

 private:
  [[nodiscard]] std::string when(Instant at) const {
    const Duration offset = s_.kitchen ? minutes(s_.kitchen->settings.utc_offset_minutes) : Duration::zero();
    const std::string text = to_rfc3339(at + offset);
    return text.substr(0, 10) + " " + text.substr(11, 5);
  }

  [[nodiscard]] std::string holding(const Batch& batch, double celsius) const {
    const food::RuleSet& rules = s_.record().rule_set();
    if (batch.keeping() == Keeping::shelf) return {};
    if (batch.keeping() == Keeping::hot) return food::judge_hot_holding(rules, celsius, batch.outside, s_.now).sentence;
    return food::judge_chill_holding(rules, celsius, batch.outside, s_.now).sentence;
  }

  const State& s_;
};

}  // namespace

std::string say_record(const std::vector<line::Event>& events, const line::State& state) {
  std::string says;
  for (const line::Event& event : events) {
    const std::string one = std::visit(Says(state), event.what);
    if (!one.empty()) says += (says.empty() ? "" : " ") + one;
  }
  return says;
}

}  // namespace nappe::server
