// Row 51 where the cook sees it: the terminal's screens of random evenings, at the sizes people have.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <set>

#include "client/draw.hpp"
#include "common/plan/plan.hpp"
#include "common/wire/screens.hpp"
#include "tests/property/wire/random_evening.hpp"

using namespace nappe;
using nlohmann::json;

namespace {

// Stretches of coloured rows with nothing coloured between them: a thing may be several rows high.
int coloured_things(const client::Grid& grid) {
  int things = 0;
  bool above = false;
  for (int row = 0; row < grid.size().rows; ++row) {
    bool here = false;
    for (int column = 0; column < grid.size().columns; ++column)
      here = here || grid.at(row, column).tone == client::Tone::colour;
    things += here && !above ? 1 : 0;
    above = here;
  }
  return things;
}

}  // namespace

TEST_CASE("51: whatever happens, no terminal screen shows more than one thing in colour, at any size") {
  int seen = 0;
  for (std::uint64_t seed = 500; seed < 504; ++seed) {
    tests::RandomEvening evening(seed);
    for (int i = 0; i < 250; ++i) {
      evening.step();
      if (i % 6 != 0) continue;
      const client::Times now{evening.now(), 1000};
      const plan::Plan plan = plan::make_plan(evening.state(), evening.now(), nullptr);
      for (const auto& [name, document] : wire::build_screens(evening.state(), plan, evening.now()).documents) {
        if (name == "floor") continue;  // it has no colour at all
        for (const client::Size size : {client::Size{24, 80}, client::Size{40, 120}, client::Size{20, 40}}) {
          client::Grid grid(size);
          if (name == "pass") {
            client::PassModel model;
            model.link.up = true;
            client::received(model, client::read_pass(document));
            client::passed(model, now);
            grid = client::draw_pass(model, now, size, client::blocks());
          } else {
            client::StationModel model;
            model.station = name.substr(8);
            model.link.up = true;
            client::received(model, client::read_station(document));
            grid = client::draw_station(model, now, size, client::blocks());
          }
          const int things = coloured_things(grid);
          CAPTURE(seed, i, name, size.columns);
          INFO(grid.text());
          REQUIRE(things <= 1);
          seen += things;
        }
      }
    }
  }
  CHECK(seen > 20);  // some of them were coloured
}
