// The prep list on a terminal: keys and golden text. To look at what a change does, delete a golden file and run this
// test with NAPPE_WRITE_GOLDEN=1; then read the new file as a cook would.
#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>
#include <sstream>

#include "client/prep_view.hpp"
#include "tests/mise/larkfold_prep.hpp"

using namespace nappe;
using namespace nappe::client;

namespace {

PrepModel friday() {
  static const mise::PrepList list = tests::PrepHouse().list();
  PrepModel model;
  model.title = list.house + ": " + list.title;
  model.parts = mise::parts_of(list);
  model.remarks = mise::remarks_of(list);
  return model;
}

const std::string& id_chosen(const PrepModel& model) { return shown_lines(model).at(model.chosen).line->id; }

void golden(const std::string& name, const Grid& grid) {
  const std::string path = std::string(NAPPE_SOURCE_DIR) + "/tests/mise/golden/" + name + ".txt";
  std::ifstream in(path);
  if (!in && std::getenv("NAPPE_WRITE_GOLDEN") != nullptr) {
    std::ofstream(path) << grid.text();
    WARN("wrote " << path);
    return;
  }
  REQUIRE(in);
  std::ostringstream wanted;
  wanted << in.rdbuf();
  CHECK(grid.text() == wanted.str());
}

}  // namespace

TEST_CASE("space crosses the line out and goes to the next one that is not; u takes it back and shows it") {
  PrepModel model = friday();
  const std::string first = id_chosen(model);
  CHECK(press(model, key(U' ')));
  CHECK(model.crossings.crossed(first));
  const std::string second = id_chosen(model);
  CHECK(second != first);
  CHECK(press(model, key(Special::enter)));
  CHECK_FALSE(press(model, key(Special::up)));
  CHECK(id_chosen(model) == second);
  CHECK(press(model, key(U' ')));  // rubs the cross out
  CHECK_FALSE(model.crossings.crossed(second));
  CHECK(id_chosen(model) == second);
  CHECK(press(model, key(U'u')));
  CHECK(model.crossings.crossed(second));
  CHECK(press(model, key(U'u')));
  CHECK(press(model, key(U'u')));
  CHECK(id_chosen(model) == first);
  CHECK(model.crossings.all().empty());
  CHECK_FALSE(press(model, key(U'u')));
  CHECK(model.notice == "nothing was crossed out");
}

TEST_CASE("s goes through the stations and back to all; what is taken back at another one shows all again") {
  PrepModel model = friday();
  const std::size_t all = shown_lines(model).size();
  std::size_t sum = 0;
  int stations = 0;
  for (press(model, key(U's')); !model.only.empty(); press(model, key(U's'))) {
    for (const ShownLine& one : shown_lines(model)) CHECK(one.line->station == model.only);
    sum += shown_lines(model).size();
    REQUIRE(++stations < 20);
  }
  CHECK(sum == all);
  CHECK(stations == 5);
  press(model, key(U's'));
  REQUIRE(press(model, key(U' ')));
  const std::string crossed = model.crossings.all().front();
  press(model, key(U's'));
  REQUIRE(press(model, key(U'u')));
  CHECK(model.only.empty());
  CHECK(id_chosen(model) == crossed);
}

TEST_CASE("under a box no line is crossed out") {
  PrepModel model = friday();
  for (const char32_t box : {U'h', U'r'}) {
    press(model, key(box));
    CHECK_FALSE(press(model, key(U' ')));
    press(model, key(Special::escape));
  }
  CHECK(model.crossings.all().empty());
  press(model, key(U'q'));
  CHECK(model.quit);
}

TEST_CASE("the last line can be reached and crossed out, and one more press stays there") {
  PrepModel model = friday();
  for (int i = 0; i < 500; ++i) press(model, key(Special::down));
  CHECK(model.chosen + 1 == shown_lines(model).size());
  CHECK(press(model, key(U' ')));
  CHECK(model.chosen + 1 == shown_lines(model).size());
  const Grid grid = draw_prep(model, {24, 80}, blocks());
  CHECK(grid.text().find("[x] pastry   barley crumb: 32 portions") != std::string::npos);
}

TEST_CASE("the list at the sizes people have") {
  PrepModel model = friday();
  for (int i = 0; i < 6; ++i) press(model, key(U' '));
  golden("prep-80x24", draw_prep(model, {24, 80}, blocks()));
  golden("prep-40x12", draw_prep(model, {12, 40}, plain()));
  press(model, key(U's'));
  press(model, key(U's'));
  golden("prep-station-100x30", draw_prep(model, {30, 100}, blocks()));
}

TEST_CASE("no size breaks the drawing") {
  PrepModel model = friday();
  for (int rows = 1; rows < 30; rows += 3)
    for (int columns = 1; columns < 100; columns += 9) {
      const Grid grid = draw_prep(model, {rows, columns}, blocks());
      CHECK(grid.size() == Size{rows, columns});
    }
  model.parts.clear();
  CHECK_FALSE(press(model, key(U' ')));
  CHECK(draw_prep(model, {24, 80}, blocks()).text().find("0 of 0 done") != std::string::npos);
}
