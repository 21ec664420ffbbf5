// What an order must be, whoever wrote it.

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "common/kitchen/allergen.hpp"
#include "common/kitchen/menu.hpp"
#include "common/kitchen/near.hpp"
#include "common/kitchen/words.hpp"
#include "common/line/ticket_line.hpp"

namespace nappe::line {
namespace {

using kitchen::Kitchen;

const std::vector<std::string> no_allergies;

const std::vector<std::string>& allergies_of(const Order& order, int position) {
  for (const Guest& guest : order.guests) {
    if (guest.position == position) return guest.allergies;
  }
  return no_allergies;
}

Error invalid(std::string where, std::string sentence) {
  return {Errc::invalid, std::move(sentence), std::move(where)};
}
Error unknown(std::string where, std::string sentence) {
  return {Errc::unknown, std::move(sentence), std::move(where)};
}

std::string with_hint(std::string sentence, const std::string& hint) {
  return hint.empty() ? sentence : sentence + "; " + hint;
}

Status check_words(const std::string& words, std::string_view what, const std::string& where) {
  if (words.size() > words_max) {
    return invalid(where, fmt::format("{} is longer than {} bytes; say it shorter", what, words_max));
  }
  if (!kitchen::plain_words(words)) {
    return invalid(where, fmt::format("{} holds a character that is no text; type it again on one line", what));
  }
  return Done{};
}

std::string seats_words(const kitchen::Table& table, int position) {
  return fmt::format("table {} has no position {}; it seats {}, from 1", table.id, position, table.seats);
}

Status check_guests(const Order& order, const kitchen::Table& table) {
  std::set<int> seen;
  for (std::size_t i = 0; i < order.guests.size(); ++i) {
    const Guest& guest = order.guests[i];
    const std::string where = fmt::format("/guests/{}", i);
    if (guest.position < 1 || guest.position > table.seats) return invalid(where, seats_words(table, guest.position));
    if (!seen.insert(guest.position).second) {
      return invalid(where, fmt::format("position {} is described twice; say all of it in one place", guest.position));
    }
    for (const std::string& allergy : guest.allergies) {
      if (kitchen::find_allergen(allergy) != nullptr) continue;
      const auto near = kitchen::nearest_allergen(allergy);
      return unknown(
          where,
          with_hint(fmt::format("\"{}\" is none of the fourteen allergen groups nor a kind within one", allergy),
                    near ? fmt::format("did you mean {}?", *near) : "say the change in quotes and tell the pass"));
    }
  }
  return Done{};
}

Status check_left_off(const Wanted& plate, const kitchen::Dish& dish, const std::string& where) {
  std::vector<std::string> can;
  for (const kitchen::Part& part : dish.parts) {
    if (part.can_be_left_off) can.push_back(part.component);
  }
  std::set<std::string> seen;
  for (const std::string& off : plate.left_off) {
    if (!seen.insert(off).second) {
      return invalid(where, fmt::format("position {}: {} is left off twice; once is enough", plate.position,
                                        kitchen::spoken(off)));
    }
    if (std::find(can.begin(), can.end(), off) != can.end()) continue;
    const bool part = std::any_of(dish.parts.begin(), dish.parts.end(),
                                  [&](const kitchen::Part& one) { return one.component == off; });
    const std::string problem =
        part ? fmt::format("the {} cannot go without {}", kitchen::spoken(dish.id), kitchen::spoken(off))
             : fmt::format("the {} has no part \"{}\"", kitchen::spoken(dish.id), kitchen::clip(off, 40));
    return unknown(where, with_hint(fmt::format("position {}: {}", plate.position, problem),
                                    can.empty() ? "nothing of it can be left off"
                                                : fmt::format("what can be left off is {}", fmt::join(can, ", "))));
  }
  return Done{};
}

// "the emmer holds wheat", with each allergen named once.
std::string why_not(const kitchen::CanHave& how) {
  std::vector<std::string> held;
  for (const kitchen::Clash& clash : how.in_the_way) {
    std::string words = fmt::format("the {} holds {}", kitchen::spoken(clash.component), clash.allergen);
    if (std::find(held.begin(), held.end(), words) == held.end()) held.push_back(std::move(words));
  }
  return fmt::format("{}", fmt::join(held, " and "));
}

std::string instead(const Kitchen& kitchen, const std::string& course, const std::vector<std::string>& allergies) {
  std::vector<std::string> can;
  for (const auto& one : kitchen::alternatives(kitchen, course, allergies)) {
    can.push_back(fmt::format("{} {}", one.dish->letter, kitchen::in_words(*one.dish, one.how)));
  }
  if (can.empty()) return fmt::format("none of the {} can be had: ask the pass", kitchen::spoken(course));
  return fmt::format("of the {} they can have {}", kitchen::spoken(course), fmt::join(can, ", "));
}

Status check_allergies(const Order& order, const CourseOrder& course, const Wanted& plate, const Kitchen& kitchen,
                       const std::string& where) {
  const auto& allergies = allergies_of(order, plate.position);
  if (allergies.empty()) return Done{};
  const kitchen::Dish& dish = *kitchen.find_dish(plate.dish);
  const auto how = kitchen::can_have(kitchen, dish, allergies, plate.left_off);
  const std::string who = fmt::format("position {}, {}", plate.position, fmt::join(allergies, ", "));
  if (how.answer == kitchen::Answer::no) {
    return Error{Errc::refused,
                 fmt::format("{}: not {}, {}; {}", who, kitchen::spoken(dish.id), why_not(how),
                             instead(kitchen, course.course, allergies)),
                 where};
  }
  if (!how.left_off.empty()) {
    return Error{
        Errc::refused,
        fmt::format("{}: the {} only without {}; leave it off: {}{}-{}", who, kitchen::spoken(dish.id),
                    fmt::join(how.left_off, " and "), plate.position, dish.letter, fmt::join(how.left_off, "-")),
        where};
  }
  return Done{};
}

Status check_course(const Order& order, const CourseOrder& course, const kitchen::Table& table, const Kitchen& kitchen,
                    const std::string& where) {
  std::set<int> seen;
  for (std::size_t i = 0; i < course.plates.size(); ++i) {
    const Wanted& plate = course.plates[i];
    const std::string at = fmt::format("{}/plates/{}", where, i);
    if (plate.position < 1 || plate.position > table.seats) return invalid(at, seats_words(table, plate.position));
    if (!seen.insert(plate.position).second) {
      return invalid(at, fmt::format("position {} has two plates in {}; take one away", plate.position,
                                     kitchen::spoken(course.course)));
    }
    const kitchen::Dish* dish = kitchen.find_dish(plate.dish);
    if (dish == nullptr) {
      std::vector<std::string> known;
      for (const auto& one : kitchen.dishes) known.push_back(one.id);
      return unknown(at, with_hint(fmt::format("position {}: there is no dish \"{}\"", plate.position,
                                               kitchen::clip(plate.dish, 40)),
                                   kitchen::suggest(plate.dish, known)));
    }
    if (dish->course != course.course) {
      return invalid(
          at, fmt::format("position {}: the {} is not one of the {} but of the {}; order it there", plate.position,
                          kitchen::spoken(dish->id), kitchen::spoken(course.course), kitchen::spoken(dish->course)));
    }
    if (Status fine = check_left_off(plate, *dish, at); !fine) return fine;
    const std::string what = fmt::format("the change of position {}", plate.position);
    if (Status fine = check_words(plate.change, what, at); !fine) return fine;
    if (Status fine = check_allergies(order, course, plate, kitchen, at); !fine) return fine;
  }
  return Done{};
}

}  // namespace

Status check_order(const Order& order, const Kitchen& kitchen, int seats) {
  const kitchen::Table* known_table = kitchen.find_table(order.table);
  if (known_table == nullptr) {
    std::vector<std::string> known;
    for (const auto& one : kitchen.tables) known.push_back(one.id);
    // "did you mean 8?" for "88" would be a guess at a number; the list is short enough to say.
    return unknown("/table", fmt::format("there is no table \"{}\"; tables are {}", kitchen::clip(order.table, 40),
                                         fmt::join(known, ", ")));
  }
  kitchen::Table table = *known_table;
  table.seats = std::max(table.seats, seats);
  if (Status fine = check_guests(order, table); !fine) return fine;
  std::set<std::string> seen;
  bool nothing = true;
  for (std::size_t i = 0; i < order.courses.size(); ++i) {
    const CourseOrder& course = order.courses[i];
    const std::string where = fmt::format("/courses/{}", i);
    std::vector<std::string> known;
    for (const auto& one : kitchen.courses) known.push_back(one.id);
    if (std::find(known.begin(), known.end(), course.course) == known.end()) {
      return unknown(where, with_hint(fmt::format("there is no course \"{}\"", kitchen::clip(course.course, 40)),
                                      kitchen::suggest(course.course, known)));
    }
    if (!seen.insert(course.course).second) {
      return invalid(where, fmt::format("the course {} is there twice; put its plates together", course.course));
    }
    nothing = nothing && course.plates.empty();
    if (Status fine = check_course(order, course, table, kitchen, where); !fine) return fine;
  }
  if (nothing) {
    return invalid("/courses", fmt::format("nothing is ordered for table {}; name at least one plate", order.table));
  }
  return check_words(order.note, "the note", "/note");
}

Order leave_off_for_allergies(Order order, const Kitchen& kitchen) {
  for (CourseOrder& course : order.courses) {
    for (Wanted& plate : course.plates) {
      const auto& allergies = allergies_of(order, plate.position);
      const kitchen::Dish* dish = kitchen.find_dish(plate.dish);
      if (allergies.empty() || dish == nullptr) continue;
      const auto how = kitchen::can_have(kitchen, *dish, allergies, plate.left_off);
      if (how.answer == kitchen::Answer::no) continue;  // leaving parts off would not help
      plate.left_off.insert(plate.left_off.end(), how.left_off.begin(), how.left_off.end());
    }
  }
  return order;
}

std::vector<std::string> allergy_notes(const Order& order, const Kitchen& kitchen) {
  std::vector<std::string> out;
  for (const CourseOrder& course : order.courses) {
    for (const Wanted& plate : course.plates) {
      const auto& allergies = allergies_of(order, plate.position);
      const kitchen::Dish* dish = kitchen.find_dish(plate.dish);
      if (allergies.empty() || dish == nullptr) continue;
      const auto how = kitchen::can_have(kitchen, *dish, allergies);
      if (how.answer == kitchen::Answer::yes) continue;
      out.push_back(fmt::format("position {}, {}: {}", plate.position, fmt::join(allergies, ", "),
                                kitchen::in_words(*dish, how)));
    }
  }
  return out;
}

}  // namespace nappe::line
