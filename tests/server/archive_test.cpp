#include "server/archive.hpp"

#include <boost/asio/io_context.hpp>
#include <catch2/catch.hpp>
#include <thread>

#include "tests/server/journal_samples.hpp"
#include "tests/server/temporary_folder.hpp"

using namespace nappe;
using namespace nappe::server;

namespace {

struct House {
  tests::TemporaryFolder folder;
  std::string path = folder.file("tonight.db");
  std::unique_ptr<JournalWriter> writer = std::move(JournalWriter::open(path)).value();
  boost::asio::io_context context{1};

  explicit House(std::int64_t events) { REQUIRE(writer->append(tests::sample_group(1, events))); }
  std::unique_ptr<JournalReader> reader() { return std::move(JournalReader::open(path)).value(); }
};

}  // namespace

TEST_CASE("a page is read on another thread and handed over on the context's") {
  House house(20);
  Archive archive(house.context, house.reader());
  std::vector<HttpResponse> pages;
  std::thread::id handed;
  archive.page({"check", {}, {}, {}}, [&](HttpResponse page) {
    handed = std::this_thread::get_id();
    pages.push_back(std::move(page));
  });
  archive.page({"nothing", {}, {}, {}}, [&](HttpResponse page) { pages.push_back(std::move(page)); });
  CHECK(pages.empty());
  house.context.run();
  REQUIRE(pages.size() == 2);
  CHECK(handed == std::this_thread::get_id());
  CHECK(pages[0].status == 200);
  CHECK(pages[0].body.find("20 events") != std::string::npos);
  CHECK(pages[1].status == 404);
}

TEST_CASE("who asks for too many pages at once is told so; later there is room again") {
  House house(5);
  Archive archive(house.context, house.reader(), {2});
  std::vector<unsigned> answered;
  const auto ask = [&] {
    archive.page({"check", {}, {}, {}}, [&](HttpResponse page) { answered.push_back(page.status); });
  };
  for (int n = 0; n < 3; ++n) ask();
  CHECK(answered == std::vector<unsigned>{429});
  house.context.run();
  CHECK(answered == std::vector<unsigned>{429, 200, 200});
  house.context.restart();
  ask();
  house.context.run();
  CHECK(answered.back() == 200);
}

TEST_CASE("closing does not wait for a long page") {
  House house(200000);
  const auto begun = std::chrono::steady_clock::now();
  std::chrono::steady_clock::duration whole{};
  {
    Archive archive(house.context, house.reader());
    archive.page({"check", {}, {}, {}}, [](HttpResponse page) { CHECK(page.status == 200); });
    house.context.run();
    whole = std::chrono::steady_clock::now() - begun;
  }
  house.context.restart();
  int answered = 0;
  {
    Archive archive(house.context, house.reader());
    for (int n = 0; n < 10; ++n) {
      archive.page({"check", {}, {}, {}}, [&](const HttpResponse&) { answered += 1; });
    }
  }
  // Ten pages would have taken ten times as long; none of them is handed to a house that is gone.
  const auto closing = std::chrono::steady_clock::now() - begun - whole;
  INFO(std::chrono::duration<double>(whole).count()
       << " s for a page, closed in " << std::chrono::duration<double>(closing).count());
  CHECK(closing < 5 * whole);
  CHECK(answered == 0);
}
