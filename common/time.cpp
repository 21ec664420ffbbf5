#include "common/time.hpp"

#include <fmt/format.h>

#include <cmath>
#include <cstdlib>

namespace nappe {
namespace {

using std::chrono::day;
using std::chrono::days;
using std::chrono::month;
using std::chrono::sys_days;
using std::chrono::year;
using std::chrono::year_month_day;

// A cursor over the text of an instant; every reader returns false at the first thing that does not fit.
struct Reader {
  std::string_view rest;

  bool number(std::size_t digits, int& out) {
    if (rest.size() < digits) return false;
    out = 0;
    for (std::size_t i = 0; i < digits; ++i) {
      if (rest[i] < '0' || rest[i] > '9') return false;
      out = out * 10 + (rest[i] - '0');
    }
    rest.remove_prefix(digits);
    return true;
  }
  bool one_of(std::string_view wanted, char* got = nullptr) {
    if (rest.empty() || wanted.find(rest.front()) == std::string_view::npos) return false;
    if (got != nullptr) *got = rest.front();
    rest.remove_prefix(1);
    return true;
  }
};

}  // namespace

Duration from_seconds(double s) { return Duration(std::llround(s * 1000.0)); }

std::string to_rfc3339(Instant at) {
  const auto date = std::chrono::floor<days>(at);
  const year_month_day ymd{date};
  const auto ms = (at - date).count();
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:03}Z", int(ymd.year()), unsigned(ymd.month()),
                     unsigned(ymd.day()), ms / 3600000, ms / 60000 % 60, ms / 1000 % 60, ms % 1000);
}

std::optional<Instant> from_rfc3339(std::string_view text) {
  Reader in{text};
  int y = 0, mo = 0, d = 0, h = 0, mi = 0, s = 0;
  if (!in.number(4, y) || !in.one_of("-") || !in.number(2, mo) || !in.one_of("-") || !in.number(2, d)) return {};
  if (!in.one_of("Tt ") || !in.number(2, h) || !in.one_of(":") || !in.number(2, mi) || !in.one_of(":")) return {};
  if (!in.number(2, s) || h > 23 || mi > 59 || s > 60) return {};
  std::int64_t ms = 0;
  if (in.one_of(".")) {
    std::int64_t unit = 100;
    int digit = 0;
    if (!in.number(1, digit)) return {};
    do {
      ms += unit * digit;
      unit /= 10;
    } while (in.number(1, digit));
  }
  std::int64_t offset_minutes = 0;
  char sign = 0;
  if (!in.one_of("Zz")) {
    int oh = 0, om = 0;
    if (!in.one_of("+-", &sign) || !in.number(2, oh) || !in.one_of(":") || !in.number(2, om)) return {};
    if (oh > 23 || om > 59) return {};
    offset_minutes = (sign == '-' ? -1 : 1) * (oh * 60 + om);
  }
  if (!in.rest.empty()) return {};
  const year_month_day ymd{year(y), month(static_cast<unsigned>(mo)), day(static_cast<unsigned>(d))};
  if (!ymd.ok()) return {};
  const Instant date = sys_days(ymd);
  return date + std::chrono::hours(h) + std::chrono::minutes(mi - offset_minutes) + std::chrono::seconds(s) +
         Duration(ms);
}

std::string clock_text(Instant at, Duration utc_offset) {
  const Instant local = at + utc_offset;
  const auto s = std::chrono::floor<std::chrono::seconds>(local - std::chrono::floor<days>(local)).count();
  return fmt::format("{:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60);
}

std::string span_text(Duration d) {
  const auto s = std::abs(std::llround(in_seconds(d)));
  const char* sign = d < Duration::zero() && s > 0 ? "-" : "";
  if (s >= 3600) return fmt::format("{}{}:{:02}:{:02}", sign, s / 3600, s / 60 % 60, s % 60);
  return fmt::format("{}{}:{:02}", sign, s / 60, s % 60);
}

}  // namespace nappe
