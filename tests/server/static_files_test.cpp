#include "server/static_files.hpp"

#include <catch2/catch.hpp>
#include <fstream>

#include "tests/server/temporary_folder.hpp"

using namespace nappe::server;
using nappe::tests::TemporaryFolder;

namespace {

std::string header(const HttpResponse& response, const std::string& name) {
  for (const auto& [key, value] : response.headers) {
    if (key == name) return value;
  }
  return {};
}

/// A page folder inside a folder with something secret beside it and a link leading out.
struct Page {
  TemporaryFolder folder;
  Page() {
    std::filesystem::create_directories(folder.path() / "dist/assets");
    std::ofstream(folder.file("dist/index.html")) << "<!doctype html><title>pass</title>";
    std::ofstream(folder.file("dist/assets/main-1a2b.js")) << "console.log(1)";
    std::ofstream(folder.file("secret.txt")) << "secret";
    std::ofstream(folder.file("dist-other.txt")) << "secret";
    std::filesystem::create_symlink(folder.path() / "secret.txt", folder.path() / "dist/link.txt");
    std::filesystem::create_directory_symlink(folder.path(), folder.path() / "dist/up");
  }
  [[nodiscard]] StaticFiles files() const { return StaticFiles(folder.path() / "dist"); }
};

}  // namespace

TEST_CASE("the page and its files are served with their types and guards") {
  const Page page;
  const auto index = page.files().find("/", {});
  REQUIRE(index);
  CHECK(index->status == 200);
  CHECK(index->type == "text/html; charset=utf-8");
  CHECK(index->body.find("pass") != std::string::npos);
  CHECK(header(*index, "Content-Security-Policy").find("default-src 'none'") == 0);
  CHECK(header(*index, "X-Content-Type-Options") == "nosniff");
  CHECK(header(*index, "Cache-Control") == "no-cache");
  const auto script = page.files().find("/assets/main-1a2b.js", {});
  REQUIRE(script);
  CHECK(script->type == "text/javascript; charset=utf-8");
  CHECK(header(*script, "Cache-Control").find("immutable") != std::string::npos);
}

TEST_CASE("what the browser has already is not sent again, until it changes") {
  const Page page;
  HttpRequest request;
  request.headers["if-none-match"] = header(*page.files().find("/", {}), "ETag");
  const auto again = page.files().find("/", request);
  REQUIRE(again);
  CHECK(again->status == 304);
  CHECK(again->body.empty());
  std::ofstream(page.folder.file("dist/index.html")) << "<!doctype html><title>other</title>";
  CHECK(page.files().find("/", request)->status == 200);
}

TEST_CASE("no path leads out of the folder") {
  const Page page;
  for (const char* path : {"/../secret.txt", "/assets/../../secret.txt", "/link.txt", "/up/secret.txt", "//etc/passwd",
                           "/..", "/../dist-other.txt", "\\..\\secret.txt", "/assets", "/assets/", "/nothing.js", ""}) {
    INFO(path);
    CHECK_FALSE(page.files().find(path, {}).has_value());
  }
}

TEST_CASE("without a folder nothing is served") {
  CHECK_FALSE(StaticFiles("").find("/", {}).has_value());
  CHECK_FALSE(StaticFiles("/nowhere/at/all").find("/", {}).has_value());
}

TEST_CASE("an ending that is not known is plain bytes") { CHECK(media_type("a.xyz") == "application/octet-stream"); }
