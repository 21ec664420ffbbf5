// Random orders are written and read back the same; random lines never crash and always say what is wrong.

#include <algorithm>
#include <catch2/catch.hpp>

#include "common/kitchen/allergen.hpp"
#include "common/kitchen/menu.hpp"
#include "common/line/ticket_line.hpp"
#include "tests/support/larkfold.hpp"
#include "tests/support/random.hpp"

using namespace nappe;
using namespace nappe::line;

namespace {

std::string random_words(tests::Random& random) {
  static const std::vector<std::string> pieces{"no salt", "\"", "\\", "/", "!", "-", "é", "  ", "ß", ":", "roe"};
  std::string out;
  for (std::int64_t n = random.between(1, 6); n > 0; --n) out += random.pick(pieces);
  return out;
}

// An order that passes check_order: guests by position, canonical allergens, no empty course.
Order random_order(tests::Random& random, const kitchen::Kitchen& house) {
  Order order;
  const kitchen::Table& table = random.pick(house.tables);
  order.table = table.id;
  for (int position = 1; position <= table.seats; ++position) {
    if (!random.chance(0.3)) continue;
    Guest guest{position, {}};
    for (std::int64_t n = random.between(1, 3); n > 0; --n) {
      const std::string name(random.pick(kitchen::allergens()).name);
      if (std::find(guest.allergies.begin(), guest.allergies.end(), name) == guest.allergies.end()) {
        guest.allergies.push_back(name);
      }
    }
    order.guests.push_back(guest);
  }
  for (const auto& course : house.courses) {
    CourseOrder plates{course.id, {}};
    std::vector<kitchen::Dish> card;
    for (const auto& dish : house.dishes) {
      if (dish.course == course.id) card.push_back(dish);
    }
    for (int position = 1; position <= table.seats; ++position) {
      if (random.chance(0.25)) continue;
      const kitchen::Dish& dish = random.pick(card);
      Wanted plate{position, dish.id, {}, ""};
      for (const auto& part : dish.parts) {
        if (part.can_be_left_off && random.chance(0.2)) plate.left_off.push_back(part.component);
      }
      if (random.chance(0.2)) plate.change = random_words(random);
      const auto guest = std::find_if(order.guests.begin(), order.guests.end(),
                                      [&](const Guest& g) { return g.position == position; });
      if (guest != order.guests.end()) {
        const auto how = kitchen::can_have(house, dish, guest->allergies, plate.left_off);
        if (how.answer == kitchen::Answer::no) continue;
      }
      const auto at = static_cast<std::ptrdiff_t>(random.between(0, static_cast<std::int64_t>(plates.plates.size())));
      plates.plates.insert(plates.plates.begin() + at, plate);
    }
    if (!plates.plates.empty()) order.courses.push_back(plates);
  }
  if (random.chance(0.3)) order.note = random_words(random);
  return leave_off_for_allergies(order, house);
}

}  // namespace

TEST_CASE("an order written as a line reads back as the same order") {
  const kitchen::Kitchen house = tests::larkfold();
  int tried = 0;
  for (std::uint64_t seed = 0; seed < 2000; ++seed) {
    tests::Random random(seed);
    const Order order = random_order(random, house);
    if (order.courses.empty()) continue;
    ++tried;
    const std::string text = write_ticket_line(order, house);
    INFO("SEED=" << seed << " " << text);
    const auto again = read_ticket_line(text, house);
    if (!again) FAIL(again.error().detail);
    REQUIRE(*again == order);
    REQUIRE(write_ticket_line(*again, house) == text);
  }
  CHECK(tried > 1500);
}

TEST_CASE("no line crashes the reader, and a refusal has a column inside the line and a sentence") {
  const kitchen::Kitchen house = tests::larkfold();
  static const std::vector<std::string> pieces{"8",  ":", " ", "1", "e",  "m",     "/",  "-", "!",    "gluten", "\"",
                                               "\\", "é", "x", "0", "99", "crumb", "\t", "r", "\xF0", "h"};
  int read = 0;
  for (std::uint64_t seed = 0; seed < 20'000; ++seed) {
    tests::Random random(seed);
    std::string text;
    if (random.chance(0.5)) {
      const Order order = random_order(random, house);
      text = write_ticket_line(order, house);
      for (std::int64_t n = random.between(1, 3); n > 0 && !text.empty(); --n) {
        const auto at = static_cast<std::size_t>(random.between(0, static_cast<std::int64_t>(text.size()) - 1));
        if (random.chance(0.5)) {
          text.erase(at, 1);
        } else {
          text[at] = static_cast<char>(random.between(0, 255));
        }
      }
    } else {
      for (std::int64_t n = random.between(0, 14); n > 0; --n) text += random.pick(pieces);
    }
    INFO("SEED=" << seed << " " << text);
    const auto order = read_ticket_line(text, house);
    if (order) {
      ++read;
      REQUIRE(check_order(*order, house));
      continue;
    }
    const Error& error = order.error();
    REQUIRE(error.where.substr(0, 2) == "1:");
    const int column = std::stoi(error.where.substr(2));
    REQUIRE(column >= 1);
    REQUIRE(column <= static_cast<int>(text.size()) + 1);
    REQUIRE(error.detail.size() > std::string("column 1: ").size() + 10);
  }
  CHECK(read > 100);
}
