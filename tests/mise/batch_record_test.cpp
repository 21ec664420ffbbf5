// What an inspector is shown of a batch.
#include "common/mise/batch_record.hpp"

#include <catch2/catch.hpp>

#include "tests/support/night.hpp"

using namespace nappe;
using namespace nappe::line;
using tests::friday;
using tests::Night;

namespace {

std::vector<mise::Recorded> recorded(const Night& night) {
  std::vector<mise::Recorded> events;
  std::int64_t number = 0;
  for (const Event& event : night.log()) {
    number += 1;
    if (concerns_record(event.what)) events.push_back({number, event});
  }
  return events;
}

void must(Night& night, Action action, const std::string& by = "Tom") {
  const Status done = night.ask(std::move(action), by);
  INFO((done ? std::string() : done.error().detail));
  REQUIRE(done);
}

MakeBatch puree() {
  MakeBatch make;
  make.kind = "swede_puree";
  make.use_by_days = 3;
  make.kept_in = "walk-in";
  make.kept_c = 5;
  make.labelled = true;
  make.allergens = std::vector<std::string>{"milk"};
  make.lots = {{"swede \"4711\", <washed>", {}}};
  return make;
}

TakeReading read(double celsius) { return {"swede_puree-20261120", {}, "blue", celsius, {}}; }

// Friday's puree: 90 C at 11:05, 45 C at 11:40, 7 C at 12:20, which is within 90 minutes and not within an hour.
Night cooled(const std::string& rules) {
  Night night(friday(10, 0));
  night.adopt(rules);
  must(night, CheckProbe{"blue", Bath::iced, 0.3}, "Dov");
  night.until(friday(11, 5));
  must(night, puree());
  must(night, StartChill{"swede_puree-20261120", 90, -5, "blue", {}});
  night.until(friday(11, 40));
  must(night, read(45));
  night.until(friday(12, 20));
  must(night, read(7));
  return night;
}

mise::BatchPage page_of(const Night& night, const std::string& id = "swede_puree-20261120") {
  const auto page = mise::batch_page(recorded(night), id, Duration::zero(), night.now());
  REQUIRE(page);
  return *page;
}

}  // namespace

TEST_CASE("the same readings judged under three rule sets give three documented verdicts") {
  // 90 to 7 C in 75 minutes: within 90 minutes to 8 C as taught in England; no number in Scotland's regulations; the US
  // Food Code 2022, 3-501.14, wants 5 C within six hours, which no reading shows yet.
  struct Case {
    const char* rules;
    const char* says;
    const char* source;
  };
  const Case cases[] = {{"england", "Within the limit of England (", "8 °C within 1:30:00"},
                        {"scotland", "No limit: Scotland (", "SSI 2006/3"},
                        {"us-food-code-2022", "Not decided by", "3-501.14"}};
  for (const Case& one : cases) {
    CAPTURE(one.rules);
    const mise::BatchPage page = page_of(cooled(one.rules));
    REQUIRE(!page.verdicts.empty());
    CHECK_THAT(page.verdicts.front(), Catch::Contains(one.says));
    CHECK_THAT(mise::page_text(page), Catch::Contains(one.source) || Catch::Contains("90 min"));
  }
}

TEST_CASE("the page answers who cooled it, from what to what in how long, with which probe and its last check") {
  Night night = cooled("england");
  must(night, CorrectReading{2, 44, "read off the wrong tray"}, "Dov");
  const std::string text = mise::page_text(page_of(night));
  for (const char* const part :
       {"made            2026-11-20 11:05 by Tom", "into the chiller at 2026-11-20 11:05, 90.0 C, air -5.0 C, Tom",
        "45.0 C, corrected to 44.0 C (read off the wrong tray, Dov)",
        "iced water 0.3 C at 2026-11-20 10:00Z by Dov: passed", "2026-11-20 12:20  7.0 C  probe blue",
        "Limits come from the rule set named"}) {
    INFO(text);
    CHECK(text.find(part) != std::string::npos);
  }
  const std::string caution = "Limits come from the rule set named";
  CHECK(text.find(caution) == text.rfind(caution));  // shown once, where it belongs
  CHECK(text.find("safe") == std::string::npos);
}

TEST_CASE("a gap, a late entry and a probe that failed are seen on the page") {
  Night night = cooled("england");
  TakeReading late = read(6);
  late.taken_ms = to_ms(friday(12, 10));
  night.until(friday(13, 0));
  must(night, late);
  must(night, CheckProbe{"blue", Bath::iced, 2.5}, "Dov");
  const mise::BatchPage page = page_of(night);
  REQUIRE(page.readings.size() == 4);
  CHECK(page.readings.back().entered_later);
  CHECK(page.readings.back().doubtful);  // its next check failed
  CHECK_THAT(mise::page_text(page), Catch::Contains("[entered later, 2026-11-20 13:00; its probe failed a check"));
}

TEST_CASE("the page is one HTML document that needs nothing else, and what people typed is text in it") {
  const std::string html = mise::page_html(page_of(cooled("england")));
  CHECK(html.starts_with("<!doctype html>"));
  CHECK_THAT(html, Catch::Contains("swede &quot;4711&quot;, &lt;washed&gt;"));
  CHECK(html.find("<washed>") == std::string::npos);
  for (const char* const outside : {"http:", "https:", "src=", "<script", "<link"})
    CHECK(html.find(outside) == std::string::npos);
  CHECK_THAT(html, Catch::Contains("@page{size:A4"));
}

TEST_CASE("every plate leads to its batches and every batch to its plates, and no guest is named") {
  Night night = cooled("england");
  night.until(friday(19, 0));
  const TicketId ticket = night.send("3: / 1h 2h!nuts");
  must(night, Fire{ticket, "mains", {}}, "Mara");
  night.until(friday(19, 40));
  must(night, Gone{ticket, "mains", {}, true}, "Mara");
  const mise::BatchPage page = page_of(night);
  REQUIRE(page.plates.size() == 2);
  CHECK(page.plates.front().table == "3");
  const std::string plates = mise::plates_text(recorded(night), "3", "mains", 2, Duration::zero());
  CHECK_THAT(plates, Catch::Contains("table 3 mains position 2, hogget: swede from swede_puree-20261120"));
  CHECK(mise::page_text(page).find("nuts") == std::string::npos);  // whose allergy it was is nobody's business later
  CHECK(mise::plates_text(recorded(night), "4", "", 0, Duration::zero()).empty());
}

TEST_CASE("a share of a split batch has the readings from before it was split") {
  Night night(friday(11, 5));
  night.adopt("england");
  must(night, puree());
  must(night, StartChill{"swede_puree-20261120", 90, -5, "blue", {}});
  night.until(friday(11, 25));
  must(night, read(72));
  must(night, SplitBatch{"swede_puree-20261120", 2, {}});
  const mise::BatchPage page = page_of(night, "swede_puree-20261120-b");
  CHECK(page.readings.size() == 2);
  CHECK_THAT(mise::page_text(page),
             Catch::Contains("split into swede_puree-20261120-a, swede_puree-20261120-b by Tom"));
  CHECK_FALSE(mise::batch_page(recorded(night), "swede_puree-20261120-c", {}, night.now()));
}

TEST_CASE("the CSV has one line for each reading, quoted as RFC 4180 asks, corrections beside what they correct") {
  Night night = cooled("england");
  must(night, CorrectReading{3, 7.5, "said \"seven, five\""}, "Dov");
  const std::string csv = mise::readings_csv(recorded(night));
  CHECK_THAT(csv,
             Catch::Contains("3,2026-11-20T12:20:00.000Z,2026-11-20T12:20:00.000Z,no,swede_puree-20261120,,blue,7,7.5,"
                             "\"said \"\"seven, five\"\", Dov\",Tom,no,\r\n"));
  CHECK(std::count(csv.begin(), csv.end(), '\n') == 4);
}
