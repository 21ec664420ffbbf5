#include "server/metrics.hpp"

#include <fmt/format.h>
#include <prometheus/counter.h>
#include <prometheus/family.h>
#include <prometheus/gauge.h>
#include <prometheus/histogram.h>
#include <prometheus/registry.h>
#include <unistd.h>

#include <cmath>
#include <fstream>

namespace nappe::server {

namespace {

using prometheus::ClientMetric;
using prometheus::MetricFamily;
using prometheus::MetricType;

const prometheus::Histogram::BucketBoundaries seconds_buckets = {0.0005, 0.001, 0.0025, 0.005, 0.01,
                                                                 0.025,  0.05,  0.1,    0.25,  1.0};
const prometheus::Histogram::BucketBoundaries count_buckets = {1, 2, 5, 10, 20, 50, 100, 200, 500};

/// prometheus-cpp writes the older text format only; OpenMetrics differs in the family name of counters, in escaping
/// HELP, in how numbers of `le` look, and in its last line.
std::string number(double value) {
  if (std::isnan(value)) return "NaN";
  if (std::isinf(value)) return value > 0 ? "+Inf" : "-Inf";
  std::string text = fmt::format("{}", value);
  if (text.find_first_of(".e") == std::string::npos) text += ".0";
  return text;
}

std::string escaped(std::string_view text) {
  std::string plain;
  for (const char c : text) {
    if (c == '\n') {
      plain += "\\n";
    } else {
      if (c == '\\' || c == '"') plain += '\\';
      plain += c;
    }
  }
  return plain;
}

std::string labels_of(const ClientMetric& metric, std::string_view le = {}) {
  std::string text;
  for (const auto& label : metric.label)
    text += fmt::format(R"({}{}="{}")", text.empty() ? "" : ",", label.name, escaped(label.value));
  if (!le.empty()) text += fmt::format(R"({}le="{}")", text.empty() ? "" : ",", le);
  return text.empty() ? text : '{' + text + '}';
}

void write_histogram(std::string& out, const std::string& name, const ClientMetric& metric) {
  for (const auto& bucket : metric.histogram.bucket) {
    out +=
        fmt::format("{}_bucket{} {}\n", name, labels_of(metric, number(bucket.upper_bound)), bucket.cumulative_count);
  }
  out += fmt::format("{}_count{} {}\n", name, labels_of(metric), metric.histogram.sample_count);
  out += fmt::format("{}_sum{} {}\n", name, labels_of(metric), number(metric.histogram.sample_sum));
}

void write_family(std::string& out, const MetricFamily& family) {
  constexpr std::string_view total = "_total";
  std::string name = family.name;
  const bool counts = family.type == MetricType::Counter;
  if (counts && name.ends_with(total)) name.resize(name.size() - total.size());
  const bool spread = family.type == MetricType::Histogram;
  out += fmt::format("# TYPE {} {}\n", name, counts ? "counter" : spread ? "histogram" : "gauge");
  if (name.ends_with("_seconds")) out += fmt::format("# UNIT {} seconds\n", name);
  if (name.ends_with("_bytes")) out += fmt::format("# UNIT {} bytes\n", name);
  out += fmt::format("# HELP {} {}\n", name, escaped(family.help));
  for (const auto& metric : family.metric) {
    if (spread) {
      write_histogram(out, name, metric);
    } else if (counts) {
      out += fmt::format("{}_total{} {}\n", name, labels_of(metric), number(metric.counter.value));
    } else {
      out += fmt::format("{}{} {}\n", name, labels_of(metric), number(metric.gauge.value));
    }
  }
}

/// Bytes of memory this process has in use (the second number of /proc/self/statm, in pages); 0 where that is not
/// there.
double resident_bytes() {
  std::ifstream statm("/proc/self/statm");
  double size = 0;
  double resident = 0;
  statm >> size >> resident;
  return statm ? resident * static_cast<double>(::sysconf(_SC_PAGESIZE)) : 0;
}

}  // namespace

struct Metrics::Impl {
  prometheus::Registry registry;

  prometheus::Family<prometheus::Counter>& counter(const char* name, const char* help) {
    return prometheus::BuildCounter().Name(name).Help(help).Register(registry);
  }
  prometheus::Gauge& gauge(const char* name, const char* help) {
    return prometheus::BuildGauge().Name(name).Help(help).Register(registry).Add({});
  }
  prometheus::Histogram& histogram(const char* name, const char* help,
                                   const prometheus::Histogram::BucketBoundaries& buckets) {
    return prometheus::BuildHistogram().Name(name).Help(help).Register(registry).Add({}, buckets);
  }

  prometheus::Family<prometheus::Counter>& commands = counter("napped_commands_total", "Commands answered, by answer.");
  prometheus::Counter& events = counter("napped_events_total", "Events made durable.").Add({});
  prometheus::Histogram& commit =
      histogram("napped_commit_seconds", "Time to make one group of events durable.", seconds_buckets);
  prometheus::Histogram& group = histogram("napped_commit_commands", "Commands made durable together.", count_buckets);
  prometheus::Gauge& failed = gauge("napped_journal_failed", "1 when a write failed and commands are refused.");
  prometheus::Histogram& plan = histogram("napped_plan_seconds", "Time to make one plan.", seconds_buckets);
  prometheus::Histogram& screens =
      histogram("napped_screens_seconds", "Time to rebuild and compare all screens.", seconds_buckets);
  prometheus::Counter& patches = counter("napped_patches_total", "Changes of a screen.").Add({});
  prometheus::Gauge& sessions = gauge("napped_sessions", "Devices connected to the socket.");
  prometheus::Family<prometheus::Counter>& cut =
      counter("napped_sessions_cut_total", "Devices cut off by the server, by reason.");
  prometheus::Counter& frames = counter("napped_frames_sent_total", "Frames put into outboxes.").Add({});
  prometheus::Family<prometheus::Counter>& http = counter("napped_http_responses_total", "HTTP responses, by status.");
  prometheus::Gauge& resident = gauge("process_resident_memory_bytes", "Memory in use by the server.");
};

Metrics::Metrics() : impl_(std::make_unique<Impl>()) {}
Metrics::~Metrics() = default;

void Metrics::command_answered(std::string_view how) {
  impl_->commands.Add({{"answer", std::string(how)}}).Increment();
}
void Metrics::committed(double seconds, std::size_t commands, std::size_t events) {
  impl_->commit.Observe(seconds);
  impl_->group.Observe(static_cast<double>(commands));
  impl_->events.Increment(static_cast<double>(events));
}
void Metrics::commit_failed() { impl_->failed.Set(1); }
void Metrics::planned(double seconds) { impl_->plan.Observe(seconds); }
void Metrics::screens_built(double seconds, std::size_t patches) {
  impl_->screens.Observe(seconds);
  impl_->patches.Increment(static_cast<double>(patches));
}
void Metrics::session_opened() { impl_->sessions.Increment(); }
void Metrics::session_closed() { impl_->sessions.Decrement(); }
void Metrics::session_cut(std::string_view why) { impl_->cut.Add({{"why", std::string(why)}}).Increment(); }
void Metrics::frames_sent(std::size_t frames) { impl_->frames.Increment(static_cast<double>(frames)); }
void Metrics::http_answered(int status) { impl_->http.Add({{"status", std::to_string(status)}}).Increment(); }

std::string Metrics::text() const {
  impl_->resident.Set(resident_bytes());
  std::string out;
  for (const auto& family : impl_->registry.Collect()) write_family(out, family);
  return out + "# EOF\n";
}

}  // namespace nappe::server
