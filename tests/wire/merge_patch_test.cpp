#include "common/wire/merge_patch.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

using nappe::wire::merge_patch_apply;
using nappe::wire::merge_patch_apply_text;
using nappe::wire::merge_patch_diff;
using nappe::wire::merge_patch_diff_text;
using nlohmann::json;

TEST_CASE("merge patch: the fifteen example test cases of RFC 7396 appendix A") {
  struct Case {
    const char* original;
    const char* patch;
    const char* result;
  };
  const Case cases[] = {
      {R"({"a":"b"})", R"({"a":"c"})", R"({"a":"c"})"},
      {R"({"a":"b"})", R"({"b":"c"})", R"({"a":"b","b":"c"})"},
      {R"({"a":"b"})", R"({"a":null})", R"({})"},
      {R"({"a":"b","b":"c"})", R"({"a":null})", R"({"b":"c"})"},
      {R"({"a":["b"]})", R"({"a":"c"})", R"({"a":"c"})"},
      {R"({"a":"c"})", R"({"a":["b"]})", R"({"a":["b"]})"},
      {R"({"a":{"b":"c"}})", R"({"a":{"b":"d","c":null}})", R"({"a":{"b":"d"}})"},
      {R"({"a":[{"b":"c"}]})", R"({"a":[1]})", R"({"a":[1]})"},
      {R"(["a","b"])", R"(["c","d"])", R"(["c","d"])"},
      {R"({"a":"b"})", R"(["c"])", R"(["c"])"},
      {R"({"a":"foo"})", R"(null)", R"(null)"},
      {R"({"a":"foo"})", R"("bar")", R"("bar")"},
      {R"({"e":null})", R"({"a":1})", R"({"e":null,"a":1})"},
      {R"([1,2])", R"({"a":"b","c":null})", R"({"a":"b"})"},
      {R"({})", R"({"a":{"bb":{"ccc":null}}})", R"({"a":{"bb":{}}})"},
  };
  for (const Case& one : cases) {
    CAPTURE(one.original, one.patch);
    CHECK(merge_patch_apply(json::parse(one.original), json::parse(one.patch)) == json::parse(one.result));
    const auto text = merge_patch_apply_text(one.original, one.patch);
    REQUIRE(text);
    CHECK(json::parse(*text) == json::parse(one.result));
  }
}

TEST_CASE("merge patch: the example of RFC 7396 section 3, both ways") {
  const json before = json::parse(R"({"title": "Goodbye!", "author": {"givenName": "John", "familyName": "Doe"},
    "tags": ["example", "sample"], "content": "This will be unchanged"})");
  const json patch = json::parse(R"({"title": "Hello!", "phoneNumber": "+01-123-456-7890",
    "author": {"familyName": null}, "tags": ["example"]})");
  const json after = json::parse(R"({"title": "Hello!", "author": {"givenName": "John"}, "tags": ["example"],
    "content": "This will be unchanged", "phoneNumber": "+01-123-456-7890"})");
  CHECK(merge_patch_apply(before, patch) == after);
  CHECK(merge_patch_diff(before, after) == patch);
}

TEST_CASE("merge patch: a difference says only what changed") {
  const json before = json::parse(R"({"same": {"deep": [1, 2]}, "list": {"p1": {"n": 1, "at": 5}, "p2": {"n": 2}}})");
  const json after = json::parse(R"({"same": {"deep": [1, 2]}, "list": {"p1": {"n": 1, "at": 6}, "p3": {"n": 3}}})");
  CHECK(merge_patch_diff(before, after) == json::parse(R"({"list": {"p1": {"at": 6}, "p2": null, "p3": {"n": 3}}})"));
  CHECK(merge_patch_diff(before, before) == json::object());
  CHECK(merge_patch_diff(json::parse(R"({"a": {"b": 1}})"), json::parse(R"({"a": {}})")) ==
        json::parse(R"({"a": {"b": null}})"));
  CHECK(merge_patch_diff(json::parse(R"({"a": 1})"), json::parse(R"({"a": {}})")) == json::parse(R"({"a": {}})"));
}

TEST_CASE("merge patch: a text that is not JSON is refused with its place") {
  const auto broken = merge_patch_diff_text("{\n \"a\": }", "{}");
  REQUIRE(!broken);
  CHECK(broken.error().code == nappe::Errc::invalid);
  CHECK(broken.error().where == "2:7");
  CHECK(broken.error().detail.find("2:7") != std::string::npos);
  const auto cut = merge_patch_apply_text("{}", "{\"a\":");
  REQUIRE(!cut);
  CHECK(cut.error().where == "1:6");
}
