#include "common/kitchen/bookings.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "common/kitchen/menu.hpp"
#include "common/kitchen/near.hpp"
#include "common/kitchen/read_kitchen.hpp"

namespace nappe::kitchen {
namespace {

GuestNote read_guest(const Node& node, int covers, Faults& faults) {
  Fields fields(node, "a guest", faults);
  GuestNote out;
  out.position = static_cast<int>(fields.need_whole("position", {1, 1000}));
  out.allergies = read_allergens(fields, "allergies", faults);
  out.severe = fields.flag("severe", false);
  out.told = fields.clock("told_at");
  fields.finish();
  if (covers > 0 && out.position > covers) {
    faults.add(fields.place("position"), fmt::format("position {} of a party of {}", out.position, covers),
               "positions count from 1 to the covers");
  }
  if (fields.is_object() && !fields.has("allergies")) {
    faults.add(node, "a guest with nothing to know", "add \"allergies\" or take the guest away");
  }
  return out;
}

// A course's letters by position.
std::vector<std::optional<std::string>> read_letters(const Node& list, const std::string& course, int covers,
                                                     const Kitchen& kitchen, Faults& faults) {
  std::vector<std::optional<std::string>> out;
  if (list.kind != Node::Kind::list) {
    faults.add(list, fmt::format("the {} should be a list, this is {}", course, kind_name(list.kind)),
               "write a letter for each position, null for none");
    return out;
  }
  if (covers > 0 && list.items.size() > static_cast<std::size_t>(covers)) {
    faults.add(list, fmt::format("{} {} for a party of {}", list.items.size(), course, covers),
               "one letter for each position");
  }
  for (const Node& item : list.items) {
    out.emplace_back();
    if (item.kind == Node::Kind::null) continue;
    if (item.kind != Node::Kind::text) {
      faults.add(item, fmt::format("a dish's letter should be a text, this is {}", kind_name(item.kind)),
                 "write its letter, or null for none");
      continue;
    }
    if (const Dish* dish = kitchen.find_dish(course, item.text)) {
      out.back() = dish->id;
      continue;
    }
    std::vector<std::string> letters;
    for (const Dish& dish : kitchen.dishes) {
      if (dish.course == course) letters.push_back(dish.letter + " " + spoken(dish.id));
    }
    faults.add(item, fmt::format("no dish of the {} has the letter \"{}\"", course, item.text),
               fmt::format("{} are {}", course, fmt::join(letters, ", ")));
  }
  return out;
}

void read_orders(const Node& node, Booking& booking, const Kitchen& kitchen, Faults& faults) {
  for (std::size_t i = 0; i < node.keys.size(); ++i) {
    const std::string& course = node.keys[i].name;
    const auto courses = ids_of(kitchen.courses);
    if (std::find(courses.begin(), courses.end(), course) == courses.end()) {
      faults.add_key(node, i, fmt::format("there is no course \"{}\"", course), suggest(course, courses));
      continue;
    }
    booking.orders[course] = read_letters(node.items[i], course, booking.covers, kitchen, faults);
  }
}

// Nobody is booked for what their known allergies forbid.
void check_allergies(const Booking& booking, const Node& orders, const Kitchen& kitchen, Faults& faults) {
  for (const GuestNote& guest : booking.guests) {
    if (guest.told || guest.position < 1) continue;
    const auto seat = static_cast<std::size_t>(guest.position - 1);
    for (const auto& [course, dishes] : booking.orders) {
      if (seat >= dishes.size() || !dishes[seat]) continue;
      const Dish& dish = *kitchen.find_dish(*dishes[seat]);
      const CanHave how = can_have(kitchen, dish, guest.allergies);
      if (how.answer != Answer::no) continue;
      std::vector<std::string> can;
      for (const Alternative& one : alternatives(kitchen, course, guest.allergies)) {
        can.push_back(one.dish->letter + " " + in_words(*one.dish, one.how));
      }
      faults.add(
          orders.find(course)->items[seat],
          fmt::format("position {}, {}: {}", guest.position, fmt::join(guest.allergies, ", "), in_words(dish, how)),
          can.empty() ? std::string("nothing of this course can be had")
                      : fmt::format("they can have {}", fmt::join(can, ", ")));
    }
  }
}

Booking read_booking(const Node& node, const Kitchen& kitchen, Faults& faults) {
  Fields fields(node, "a booking", faults);
  Booking out;
  out.id = fields.need_id("id");
  out.at = fields.need_clock("at");
  out.table = fields.need_text("table");
  out.covers = static_cast<int>(fields.need_whole("covers", {1, 1000}));
  const Node* orders = fields.object("orders");
  if (orders != nullptr) read_orders(*orders, out, kitchen, faults);
  std::vector<std::string> positions;
  std::vector<const Node*> places;
  for (const Node& guest : fields.list("guests")) {
    out.guests.push_back(read_guest(guest, out.covers, faults));
    positions.push_back(std::to_string(out.guests.back().position));
    places.push_back(&guest);
  }
  refuse_duplicates(positions, places, "position", faults);
  out.late = fields.span("late_min", {0, 600}, 60'000).value_or(Duration::zero());
  out.speech = fields.flag("speech", false);
  out.note = fields.text("note");
  fields.finish();
  if (!out.table.empty()) {
    const Table* table = kitchen.find_table(out.table);
    if (table == nullptr) {
      refuse_unknown(out.table, ids_of(kitchen.tables), "table", fields.place("table"), faults);
    } else if (out.covers > table->seats) {
      faults.add(fields.place("covers"),
                 fmt::format("{} covers at table {}, which seats {}", out.covers, table->id, table->seats),
                 "give them a larger table or join two");
    }
  }
  if (orders != nullptr) check_allergies(out, *orders, kitchen, faults);
  return out;
}

}  // namespace

Loaded<BookingSheet> load_bookings(const File& file, const Kitchen& kitchen) {
  return load_sheet<BookingSheet>(file, "bookings", [&](const Node& root, BookingSheet& sheet, Faults& faults) {
    Fields fields(root, "the file", faults);
    fields.skip("$schema");
    fields.text("description");
    sheet.title = fields.need_text("title");
    std::vector<const Node*> places;
    for (const Node& node : fields.need_list("bookings")) {
      sheet.bookings.push_back(read_booking(node, kitchen, faults));
      places.push_back(&node);
    }
    fields.finish();
    refuse_duplicates(ids_of(sheet.bookings), places, "booking", faults);
    for (std::size_t i = 0; i < sheet.bookings.size(); ++i) {
      for (std::size_t before = 0; before < i; ++before) {
        const Booking& a = sheet.bookings[before];
        const Booking& b = sheet.bookings[i];
        if (a.table.empty() || a.table != b.table || a.at != b.at) continue;
        faults.add(*places[i], fmt::format("table {} is booked twice for the same time", b.table),
                   fmt::format("the other is \"{}\", line {}; move one", a.id, places[before]->line));
      }
    }
    std::stable_sort(sheet.bookings.begin(), sheet.bookings.end(),
                     [](const Booking& a, const Booking& b) { return a.at < b.at; });
  });
}

}  // namespace nappe::kitchen
