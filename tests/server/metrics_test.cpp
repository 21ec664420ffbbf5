#include "server/metrics.hpp"

#include <catch2/catch.hpp>
#include <set>
#include <sstream>

using nappe::server::Metrics;

namespace {

bool has_line(const std::string& text, const std::string& line) {
  return ("\n" + text).find("\n" + line + "\n") != std::string::npos;
}

}  // namespace

TEST_CASE("the exposition follows OpenMetrics 1.0.0") {
  Metrics metrics;
  metrics.command_answered("done");
  metrics.command_answered("done");
  metrics.command_answered("re\"fu\\sed\n");
  metrics.committed(0.003, 4, 9);
  metrics.session_opened();
  metrics.http_answered(200);
  const std::string text = metrics.text();

  CHECK(text.ends_with("\n# EOF\n"));
  CHECK(text.find("\n\n") == std::string::npos);
  CHECK(text.find('\r') == std::string::npos);
  CHECK(has_line(text, "# TYPE napped_commands counter"));
  CHECK(has_line(text, R"(napped_commands_total{answer="done"} 2.0)"));
  CHECK(has_line(text, R"(napped_commands_total{answer="re\"fu\\sed\n"} 1.0)"));
  CHECK(has_line(text, "napped_events_total 9.0"));
  CHECK(has_line(text, "# UNIT napped_commit_seconds seconds"));
  CHECK(has_line(text, R"(napped_commit_seconds_bucket{le="0.0025"} 0)"));
  CHECK(has_line(text, R"(napped_commit_seconds_bucket{le="0.005"} 1)"));
  CHECK(has_line(text, R"(napped_commit_seconds_bucket{le="+Inf"} 1)"));
  CHECK(has_line(text, "napped_commit_seconds_count 1"));
  CHECK(has_line(text, "napped_sessions 1.0"));

  // TYPE stands before the family's first sample, once, and families are not interleaved.
  std::set<std::string> families;
  std::string family;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line) && line != "# EOF";) {
    if (line.starts_with("# TYPE ")) {
      family = line.substr(7, line.rfind(' ') - 7);
      CHECK(families.insert(family).second);
    } else {
      const bool belongs = line.starts_with(family) || line.substr(line.find(' ', 2) + 1).starts_with(family);
      CHECK(belongs);
    }
  }
}
