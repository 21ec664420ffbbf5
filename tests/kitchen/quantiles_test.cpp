// Times as quantiles: given in a component's file, or learnt and kept beside it.
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

#include "tests/support/larkfold.hpp"

using namespace nappe;
using Json = nlohmann::json;

namespace {

// The shipped house with one step of one component's file changed.
std::vector<kitchen::File> with_step(const std::string& component, const std::string& step, const Json& change) {
  auto files = tests::larkfold_files();
  bool done = false;
  for (kitchen::File& file : files) {
    Json document = Json::parse(file.text);
    if (!document.contains("components")) continue;
    for (Json& one : document["components"])
      if (one["id"] == component)
        for (Json& entry : one["steps"])
          if (entry.value("id", "") == step) {
            entry.merge_patch(change);
            done = true;
          }
    file.text = document.dump();
  }
  REQUIRE(done);
  return files;
}

std::vector<kitchen::File> with_learnt(const Json& entries) {
  auto files = tests::larkfold_files();
  files.push_back({"learnt.json", Json{{"$schema", "../schema/learnt.schema.json"}, {"learnt", entries}}.dump()});
  return files;
}

kitchen::Kitchen load(const std::vector<kitchen::File>& files) {
  auto loaded = kitchen::load_kitchen(files, {"england"});
  for (const auto& fault : loaded.faults) UNSCOPED_INFO(kitchen::to_string(fault));
  REQUIRE(loaded);
  return *loaded.value;
}

std::string first_fault(const std::vector<kitchen::File>& files) {
  const auto loaded = kitchen::load_kitchen(files, {"england"});
  return loaded ? std::string("no fault") : kitchen::to_string(loaded.faults.front());
}

const kitchen::Step& step_of(const kitchen::Kitchen& kitchen, const char* component, const char* step) {
  return *kitchen.find_component(component)->find_step(step);
}

}  // namespace

TEST_CASE("quantiles given in a step are its usual time and its scatter, and the plan is made with them") {
  // A median of 10 min with a scatter of 0.18 is below 12.6 min nine times in ten and below 11.6 four times in five
  // (log-normal: 10 exp(0.18 z), z = 1.2816 and 0.8416).
  const Json said{{"fixed_s", nullptr},
                  {"each_s", nullptr},
                  {"scatter", nullptr},
                  {"quantiles", {{"q10_s", 476.4}, {"q50_s", 600}, {"q90_s", 755.7}}}};
  const auto kitchen = load(with_step("turnips", "plate", said));
  const auto& step = step_of(kitchen, "turnips", "plate");
  CHECK(step.usual(1) == seconds(600));
  CHECK(step.usual(3) == seconds(600));
  CHECK(step.scatter == Approx(0.18).margin(0.0005));
  CHECK(600 * std::exp(0.8416 * step.scatter) == Approx(11.6 * 60).epsilon(0.005));
  // The document that goes into the journal says the same without them.
  const auto again = kitchen::from_document(kitchen::to_document(kitchen));
  REQUIRE(again);
  CHECK(step_of(*again.value, "turnips", "plate").usual(2) == seconds(600));
  CHECK(step_of(*again.value, "turnips", "plate").scatter == Approx(step.scatter));
}

TEST_CASE("quantiles of so many portions keep how the step grows") {
  const auto plain = tests::larkfold();
  const auto& before = step_of(plain, "turnips", "glaze");  // 20 s and 3 s for each
  REQUIRE(before.usual(4) == seconds(32));
  const auto kitchen = load(
      with_step("turnips", "glaze",
                {{"scatter", nullptr}, {"quantiles", {{"portions", 4}, {"q10_s", 40}, {"q50_s", 64}, {"q90_s", 90}}}}));
  const auto& step = step_of(kitchen, "turnips", "glaze");
  CHECK(step.usual(4) == seconds(64));
  CHECK(step.usual(1) == seconds(46));
}

TEST_CASE("learnt times move what the file says by their number against eight, and say that they are learnt") {
  const auto plain = tests::larkfold();
  const double usual = in_seconds(step_of(plain, "turnips", "glaze").usual(1));
  const double scatter = step_of(plain, "turnips", "glaze").scatter;
  const Json twice{{"component", "turnips"}, {"step", "glaze"},       {"times", 8},
                   {"q10_s", usual * 1.5},   {"q50_s", usual * 2.25}, {"q90_s", usual * 2.25 * 1.5}};
  const auto kitchen = load(with_learnt(Json::array({twice})));
  const auto& step = step_of(kitchen, "turnips", "glaze");
  // Eight against eight: the geometric mean of once and 2.25 times is 1.5 times.
  CHECK(in_seconds(step.usual(1)) == Approx(usual * 1.5).epsilon(0.001));
  const double learnt = std::log(2.25) / (2 * 1.2815515655);
  CHECK(step.scatter == Approx(std::sqrt((learnt * learnt + scatter * scatter) / 2)).epsilon(0.001));
  CHECK(step.origin == kitchen::Origin::learnt);
  CHECK(kitchen.version != plain.version);
  Json often = twice;
  often["times"] = 100000;
  CHECK(in_seconds(step_of(load(with_learnt(Json::array({often}))), "turnips", "glaze").usual(1)) ==
        Approx(usual * 2.25).epsilon(0.001));
  // Two entries of four times each are eight.
  Json four = twice;
  four["times"] = 4;
  CHECK(in_seconds(step_of(load(with_learnt(Json::array({four, four}))), "turnips", "glaze").usual(1)) ==
        Approx(usual * 1.5).epsilon(0.001));
}

TEST_CASE("quantiles that cannot be are refused, with where and what to do") {
  const Json falling{{"scatter", nullptr}, {"quantiles", {{"q10_s", 50}, {"q50_s", 40}, {"q90_s", 90}}}};
  CHECK_THAT(first_fault(with_step("turnips", "glaze", falling)), Catch::Contains("do not rise"));
  const Json both{{"scatter", 0.2}, {"quantiles", {{"q10_s", 30}, {"q50_s", 40}, {"q90_s", 90}}}};
  CHECK_THAT(first_fault(with_step("turnips", "glaze", both)), Catch::Contains("how much the time scatters"));
  const Json good{{"times", 5}, {"q10_s", 30}, {"q50_s", 40}, {"q90_s", 50}};
  const auto learnt = [&](const char* component, const char* step) {
    Json entry = good;
    entry["component"] = component;
    entry["step"] = step;
    return first_fault(with_learnt(Json::array({entry})));
  };
  CHECK_THAT(learnt("turnip", "glaze"),
             Catch::Contains("there is no component \"turnip\"") && Catch::Contains("did you mean \"turnips\"?"));
  CHECK_THAT(learnt("turnips", "glass"), Catch::Contains("there is no step \"glass\""));
}
