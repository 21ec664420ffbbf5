// Bookings, batches and events of the demo, and what is wrong with broken ones.

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "common/kitchen/batches.hpp"
#include "common/kitchen/bookings.hpp"
#include "common/kitchen/events.hpp"
#include "tests/support/larkfold.hpp"

using namespace nappe;
using namespace nappe::kitchen;
using Json = nlohmann::json;

namespace {

const Kitchen& house() {
  static const Kitchen loaded = tests::larkfold();
  return loaded;
}

File shipped(const std::string& path) {
  for (const File& file : tests::larkfold_files()) {
    if (file.path == path) return file;
  }
  throw std::runtime_error("no file " + path);
}

template <class T>
T value_of(Loaded<T> loaded) {
  for (const Fault& fault : loaded.faults) FAIL_CHECK(to_string(fault));
  REQUIRE(loaded);
  return std::move(*loaded.value);
}

BookingSheet friday() { return value_of(load_bookings(shipped("bookings.json"), house())); }

const Booking& booking(const BookingSheet& sheet, const std::string& id) {
  for (const Booking& one : sheet.bookings) {
    if (one.id == id) return one;
  }
  throw std::runtime_error("no booking " + id);
}

Duration at(int h, int m, int s = 0) {
  return std::chrono::hours(h) + std::chrono::minutes(m) + std::chrono::seconds(s);
}

// One thing broken in a shipped file, as compact text on one line.
struct Broken {
  const char* pointer;
  const char* value;  // JSON; empty: the key is taken away
  const char* where;  // pointer of the first fault
  const char* words;
};

File broken(const File& file, const Broken& row) {
  Json document = Json::parse(file.text);
  const Json::json_pointer place(row.pointer);
  if (std::string(row.value).empty()) {
    document[place.parent_pointer()].erase(place.back());
  } else {
    document[place] = Json::parse(row.value);
  }
  return {file.path, document.dump(2)};
}

template <class Load>
void check_rows(const File& file, const std::vector<Broken>& rows, Load load) {
  for (const Broken& row : rows) {
    INFO(row.pointer << " = " << row.value);
    const auto loaded = load(broken(file, row));
    REQUIRE_FALSE(loaded.value.has_value());
    REQUIRE_FALSE(loaded.faults.empty());
    INFO(to_string(loaded.faults[0]));
    CHECK(loaded.faults[0].pointer == row.where);
    CHECK_THAT(to_string(loaded.faults[0]), Catch::Contains(row.words));
    CHECK(loaded.faults[0].file == file.path);
    CHECK(loaded.faults[0].line > 0);
  }
}

}  // namespace

TEST_CASE("the friday sheet holds 48 covers and the orders of the night") {
  const BookingSheet sheet = friday();
  CHECK(sheet.bookings.size() == 16);
  int covers = 0;
  std::map<std::string, int> dishes;
  for (const Booking& one : sheet.bookings) {
    covers += one.covers;
    for (const auto& [course, plates] : one.orders) {
      for (const auto& dish : plates) {
        if (dish) ++dishes[*dish];
      }
    }
  }
  CHECK(covers == 48);
  // Counted by letter on the sheet as it was first written down, apart from the file.
  const std::map<std::string, int> counted{{"emmer", 18},   {"mackerel", 18}, {"leek", 12},    {"hogget", 21},
                                           {"pollack", 16}, {"mushroom", 11}, {"pudding", 26}, {"pear", 19}};
  for (const auto& [dish, portions] : counted) {
    INFO(dish);
    CHECK(dishes[dish] == portions);
  }
  const Booking& eight = booking(sheet, "t8-1930");
  CHECK(eight.at == at(19, 30));
  REQUIRE(eight.guests.size() == 1);
  CHECK(eight.guests[0].told == at(20, 2, 50));
  CHECK(*eight.orders.at("starters")[3] == "emmer");
  CHECK_FALSE(eight.orders.at("desserts")[5].has_value());
  CHECK(booking(sheet, "t6-1945").late == minutes(25));
  CHECK(booking(sheet, "t11-1915").speech);
  CHECK(booking(sheet, "t10-2000").guests[0].severe);
  CHECK(house().walk_to(booking(sheet, "t10-2000").table) == seconds(45));
  for (std::size_t i = 1; i < sheet.bookings.size(); ++i) CHECK(sheet.bookings[i - 1].at <= sheet.bookings[i].at);
}

TEST_CASE("saturday adds four tables to 60 covers") {
  const BookingSheet sheet = value_of(load_bookings(shipped("saturday.json"), house()));
  int covers = 48;
  for (const Booking& one : sheet.bookings) {
    covers += one.covers;
    CHECK(one.orders.empty());
  }
  CHECK(covers == 60);
}

TEST_CASE("the twelve events and the batches of the night") {
  const IncidentSheet events = value_of(load_events(shipped("events.json"), house(), friday()));
  REQUIRE(events.incidents.size() == 12);
  CHECK(kind_word(events.incidents[4].kind) == "sent_back");
  CHECK(events.incidents[4].borrow_from == "11");
  CHECK(events.incidents[7].lasts == minutes(4));
  CHECK(events.incidents[11].fails == at(21, 20));
  CHECK(events.incidents[11].gas_shuts);
  const BatchSheet batches = value_of(load_batches(shipped("batches.json"), house()));
  CHECK(batches.find("emulsion_1")->made + *batches.find("emulsion_1")->life == at(19, 50));
  CHECK(batches.find("swede_no_butter")->free_from == std::vector<std::string>{"milk"});
  REQUIRE(batches.find("swede_puree")->chill);
  CHECK(*batches.find("swede_puree")->chill->due - batches.find("swede_puree")->chill->begun == minutes(90));
  CHECK(batches.find("damson_stock")->reduce->to_g == 1200);
  CHECK(batches.wanted.at("hogget") == 25);
}

TEST_CASE("broken bookings are pointed at") {
  const std::vector<Broken> rows{
      {"/title", "", "", "the file has no \"title\""},
      {"/bookings/0/table", "\"33\"", "/bookings/0/table", "there is no table \"33\""},
      {"/bookings/0/covers", "3", "/bookings/0/covers", "3 covers at table 3, which seats 2"},
      {"/bookings/0/at", "\"18.30\"", "/bookings/0/at", "\"18.30\" is no time of day"},
      {"/bookings/1/id", "\"t3-1830\"", "/bookings/1", "the booking \"t3-1830\" is there twice"},
      {"/bookings/12/at", "\"18:30\"", "/bookings/12", "table 3 is booked twice for the same time"},
      {"/bookings/0/orders/mains/0", "\"x\"", "/bookings/0/orders/mains/0",
       "mains are h hogget, p pollack, u mushroom"},
      {"/bookings/0/orders/main", "[]", "/bookings/0/orders/main", "did you mean \"mains\"?"},
      {"/bookings/0/orders/mains", "[\"h\", \"p\", \"u\"]", "/bookings/0/orders/mains", "3 mains for a party of 2"},
      {"/bookings/3/orders/starters/1", "\"m\"", "/bookings/3/orders/starters/1",
       "position 2, milk: no mackerel (milk); they can have e emmer (no curd"},
      {"/bookings/3/guests/0/position", "5", "/bookings/3/guests/0/position", "position 5 of a party of 4"},
      {"/bookings/3/guests/0/allergies/0", "\"mlik\"", "/bookings/3/guests/0/allergies/0", "did you mean \"milk\"?"},
      {"/bookings/7/guests/0/told_at", "", "/bookings/7/orders/desserts/3", ""},
      {"/bookings/0/gests", "[]", "/bookings/0/gests", "did you mean \"guests\"?"},
      {"/$schema", "\"events.schema.json\"", "", "this file holds events, not bookings"},
  };
  check_rows(shipped("bookings.json"), {rows.begin(), rows.begin() + 12},
             [](const File& file) { return load_bookings(file, house()); });
  check_rows(shipped("bookings.json"), {rows.begin() + 13, rows.end()},
             [](const File& file) { return load_bookings(file, house()); });
  // Had the coeliac guest been known, the sheet would have been refused for the emmer and only for that.
  const auto known = load_bookings(broken(shipped("bookings.json"), rows[12]), house());
  REQUIRE(known.faults.size() == 1);
  CHECK(known.faults[0].pointer == "/bookings/7/orders/starters/3");
  CHECK_THAT(to_string(known.faults[0]), Catch::Contains("position 4, gluten: no emmer (wheat); they can have k leek"));
}

TEST_CASE("broken batches are pointed at") {
  const std::vector<Broken> rows{
      {"/batches/0/by", "\"inez\"", "/batches/0/by", "did you mean \"ines\"?"},
      {"/batches/0/use_by_days", "", "/batches/0", "nothing says when the batch dies"},
      {"/batches/0/life_min", "60", "/batches/0/life_min", "dies at two times"},
      {"/batches/11/from/0/batch", "\"brown_buter\"", "/batches/11/from/0/batch", "did you mean \"brown_butter\"?"},
      {"/batches/10/from/0", "{\"batch\": \"emulsion_1\"}", "/batches/10/from/0/batch", "would be made from itself"},
      {"/batches/10/from/0", "{\"batch\": \"brown_butter\"}", "/batches/10/from/0/batch", "would be made from itself"},
      {"/batches/10/from/0", "{\"batch\": \"swede_puree\", \"ingredient\": \"x\"}", "/batches/10/from/0",
       "either a batch or an ingredient"},
      {"/batches/11/allergens", "[\"sulphites\"]", "/batches/11/from/0/batch",
       "which holds milk, but does not list it"},
      {"/batches/11/made_at", "\"14:00\"", "/batches/11/from/0/batch", "is made before \"brown_butter\""},
      {"/batches/4/allergens", "[\"milk\"]", "/batches/4/free_from", "free from milk and holds milk"},
      {"/batches/5/allergens", "[\"egg\"]", "/batches/5",
       "batch \"potatoes\" holds egg, but component \"potatoes\" drawn from it does not list it"},
      {"/batches/5/id", "\"potatos\"", "/batches", "component \"potatoes\" is drawn from a batch \"potatoes\""},
      {"/batches/3/chill/due_at", "\"11:00\"", "/batches/3/chill/due_at", "due before it begins"},
      {"/batches/3/chill/to_c", "95", "/batches/3/chill/to_c", "chilling from 90 to 95 C"},
      {"/batches/3/chill/trays/0/depth_mm", "0", "/batches/3/chill/trays/0/depth_mm", "it must be more than 0"},
      {"/batches/2/reduce/to_g", "6000", "/batches/2/reduce/to_g", "reducing from 6000 to 6000 g"},
      {"/wanted/hoget", "3", "/wanted/hoget", "did you mean \"hogget\"?"},
      {"/wanted/hogget", "-1", "/wanted/hogget", "a whole number from 0"},
  };
  check_rows(shipped("batches.json"), rows, [](const File& file) { return load_batches(file, house()); });
}

TEST_CASE("broken events are pointed at") {
  const BookingSheet sheet = friday();
  const std::vector<Broken> rows{
      {"/events/0/kind", "\"booking_canceled\"", "/events/0/kind", "it is one of booking_cancelled"},
      {"/events/0/booking", "\"t4-1931\"", "/events/0/booking", "did you mean \"t4-1930\"?"},
      {"/events/0/booking", "", "/events/0", "an event \"booking_cancelled\" has no \"booking\""},
      {"/events/0/station", "\"garnish\"", "/events/0/station", "has nothing to do with \"station\""},
      {"/events/0/statoin", "\"garnish\"", "/events/0/statoin", "did you mean \"station\"?"},
      {"/events/2/component", "\"emer\"", "/events/2/component", "did you mean \"emmer\"?"},
      {"/events/9/person", "\"thom\"", "/events/9/person", "did you mean \"tom\"?"},
      {"/events/11/fails_at", "\"21:00\"", "/events/11/fails_at", "fails before it first dips"},
      {"/events/3/allergies/0", "\"gluton\"", "/events/3/allergies/0", "did you mean \"gluten\"?"},
      {"/events/1/left", "-5", "/events/1/left", "it must be from 0 to 100000"},
  };
  check_rows(shipped("events.json"), rows, [&](const File& file) { return load_events(file, house(), sheet); });
}
