// The page by its drawings: axes have names, labels do not overprint.
#include <fmt/format.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <regex>

#include "client/rehearse.hpp"
#include "common/rehearse/curve.hpp"
#include "common/rehearse/figures.hpp"
#include "common/rehearse/report.hpp"
#include "common/rehearse/svg.hpp"
#include "tests/rehearse/larkfold_night.hpp"

using namespace nappe;
using namespace nappe::rehearse;

namespace {

// The page's larger letters, on a telephone; a letter is hardly wider than six tenths of its height on average.
constexpr double letters = 15;

struct Label {
  std::string text;
  double from = 0;
  double to = 0;
  double base = 0;
};

std::vector<Label> labels_of(const std::string& svg) {
  static const std::regex one(R"re(<text[^>]* x="([-0-9.]+)" y="([-0-9.]+)" text-anchor="(\w+)">([^<]*)</text>)re");
  std::vector<Label> out;
  for (std::sregex_iterator it(svg.begin(), svg.end(), one), end; it != end; ++it) {
    const std::string text = (*it)[4];
    const auto bytes = std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xc0) != 0x80; });
    const double width = 0.6 * letters * static_cast<double>(bytes);
    const double x = std::stod((*it)[1]);
    const std::string anchor = (*it)[3];
    const double from = anchor == "start" ? x : anchor == "end" ? x - width : x - width / 2;
    out.push_back({text, from, from + width, std::stod((*it)[2])});
  }
  return out;
}

bool has(const std::vector<Label>& labels, const std::string& text) {
  return std::any_of(labels.begin(), labels.end(), [&](const Label& one) { return one.text == text; });
}

std::string overprinted(const std::vector<Label>& labels) {
  for (const Label& a : labels) {
    if (a.from < -1 || a.to > svg_width + 1) return fmt::format("\"{}\" runs over the edge", a.text);
    for (const Label& b : labels)
      if (&a != &b && a.from < b.to && b.from < a.to && std::abs(a.base - b.base) < letters * 0.7)
        return fmt::format("\"{}\" over \"{}\"", a.text, b.text);
  }
  return {};
}

CurvePoint point(double prompt, double past, double late, double minutes) {
  CurvePoint out;
  out.name = fmt::format("prompt {:.2f}", prompt);
  out.prompt = prompt;
  out.past = {past, 0.004, 40};
  out.late = {late, 0.002, 40};
  out.wait = {minutes, 0.2, 40};
  return out;
}

// Two settings that come to nearly the same, and the tables alone far from all.
std::vector<CurvePoint> close_curve() {
  std::vector<CurvePoint> out{point(0, 0.105, 0.011, 18.7), point(0.25, 0.11, 0.012, 18.0),
                              point(0.5, 0.121, 0.011, 17.1), point(0.75, 0.122, 0.011, 17.0),
                              point(1, 0.145, 0.007, 16.3)};
  CurvePoint alone = point(0.5, 0.213, 0.088, 14.5);
  alone.name = "each table alone";
  alone.alone = true;
  out.push_back(alone);
  return out;
}

struct Played {
  Stage stage;
  Summary summary;
};
Played played(double bias) {
  const auto kitchen = tests::larkfold();
  Manner manner;
  manner.rule = Rule::fixed;
  manner.bias = bias;
  Played out{tests::stage_of(kitchen, tests::larkfold_saturday(kitchen)), {}};
  out.summary = summarise(out.stage, manner, client::play_nights(out.stage, manner, 1, 8, 0));
  return out;
}

}  // namespace

TEST_CASE("labels of a drawing stand apart and axes have names") {
  const auto [stage, summary] = played(GENERATE(0.5, 1.0, 3.0));
  const auto lateness = labels_of(draw_lateness(summary));
  CHECK(overprinted(lateness) == "");
  CHECK(has(lateness, "share of courses"));
  CHECK(has(lateness, "minutes against the first word given"));
  CHECK(has(lateness, "0"));
  // A bar for each minute that holds anything, and no other.
  const std::string drawn = draw_lateness(summary);
  const std::regex bar("<rect ");
  CHECK(std::distance(std::sregex_iterator(drawn.begin(), drawn.end(), bar), std::sregex_iterator()) ==
        std::count_if(summary.lateness.begin(), summary.lateness.end(), [](int count) { return count > 0; }));
  CHECK_FALSE(has(lateness, "+0"));
  const auto worst = labels_of(draw_worst(summary));
  CHECK(overprinted(worst) == "");
  CHECK(has(worst, "share of the station&#39;s hands wanted") != has(worst, "share of the station's hands wanted"));
  for (const StationSummary& station : summary.stations) {
    if (!station.works) continue;
    CHECK(has(worst, station.name));
    const auto load = labels_of(draw_load(stage, station));
    CHECK(overprinted(load) == "");
    CHECK(has(load, "share of its hands at work"));
  }
}

TEST_CASE("courses earlier and later than are counted stand at the ends, and their labels apart") {
  Summary summary;
  summary.lateness.assign(46, 0);
  const auto labels_with = [&](int first, int last) {
    summary.lateness.assign(46, 0);
    for (const int minute : {first, 0, last}) summary.lateness[static_cast<std::size_t>(minute + 15)] = 10;
    return labels_of(draw_lateness(summary));
  };
  for (const int first : {-15, -14, -8, -2})
    for (const int last : {1, 9, 14, 16, 29, 30}) {
      CAPTURE(first, last);
      CHECK(overprinted(labels_with(first, last)) == "");
    }
  CHECK(has(labels_with(-15, 30), "≤ −15"));
  CHECK(has(labels_with(-15, 30), "≥ 30"));
  CHECK(has(labels_with(-9, 14), "−10"));
}

TEST_CASE("settings that come to the same do not overprint each other") {
  const auto figures = draw_curve(close_curve());
  REQUIRE(figures.size() == 3);
  CHECK(figures[0].name == "components past their window");
  for (const CurveFigure& figure : figures) {
    CAPTURE(figure.name);
    const auto labels = labels_of(figure.svg);
    CHECK(overprinted(labels) == "");
    for (const char* setting : {"0", "0.25", "0.5", "0.75", "1", "fresh", "prompt"}) CHECK(has(labels, setting));
    // No label stands on a point: all stand left of or below the drawing.
    for (const Label& label : labels) CHECK((label.to <= 66 || label.base > 130 + letters * 0.7));
  }
  CHECK(has(labels_of(figures[0].svg), "10 %"));
  CHECK(has(labels_of(figures[2].svg), "10 min"));
}

TEST_CASE("the page says what would help best first, and each cell of a table what it is") {
  const auto [stage, summary] = played(1);
  Change much;
  much.name = "much";
  much.nights = 60;
  much.late_alone = {-0.05, 0.005, 60};
  Change little = much;
  little.name = "little";
  little.late_alone = {-0.002, 0.005, 60};
  const std::string page = to_page({}, stage, summary, {little, much}, close_curve());
  CHECK(page.find(">much<") < page.find(">little<"));
  CHECK(page.find("<h2>What would help</h2>") < page.find(">much<"));
  // Luck is set back, and the words say so.
  CHECK(page.find(R"(<td class="luck" data-head="courses late by that count"><span>−0.2 )") != std::string::npos);
  CHECK(page.find(R"(<td data-head="courses late by that count"><span>−5.0 )") != std::string::npos);
  CHECK(page.find("grey: no difference that these nights could tell from luck") != std::string::npos);
  const std::regex cell("<td[ >]"), headed("<td[^>]* data-head=\"[^\"]+\"");
  const auto count = [&](const std::regex& what) {
    return std::distance(std::sregex_iterator(page.begin(), page.end(), what), std::sregex_iterator());
  };
  CHECK(count(cell) > 100);
  CHECK(count(cell) == count(headed));
}

TEST_CASE("round steps of an axis cover what is drawn") {
  CHECK(round_ticks(0, 16.4, 4) == std::vector<double>{0, 5, 10, 15, 20});
  CHECK(round_ticks(0, 1, 4) == std::vector<double>{0, 0.5, 1});
  CHECK(round_ticks(0, 40, 4) == std::vector<double>{0, 10, 20, 30, 40});
  CHECK(round_ticks(0, 0, 4).size() >= 2);
}
