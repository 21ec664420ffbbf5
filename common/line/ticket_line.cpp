#include "common/line/ticket_line.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>

#include "common/kitchen/allergen.hpp"
#include "common/kitchen/menu.hpp"
#include "common/kitchen/words.hpp"

namespace nappe::line {
namespace {

using kitchen::Kitchen;

bool is_blank(char c) { return c == ' ' || c == '\t'; }
bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
// Bytes beyond ASCII belong to a word, so that a message can repeat it whole.
bool is_word(char c) { return is_letter(c) || is_digit(c) || c == '_' || static_cast<unsigned char>(c) >= 0x80; }
char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

// "main" of "mains": how one dish of a course is called.
std::string one_of(const kitchen::CourseName& course) {
  const std::string& name = course.name;
  return name.size() > 1 && name.back() == 's' ? name.substr(0, name.size() - 1) : name;
}

// "mains are h hogget, p pollack, u mushroom"
std::string letters_of(const kitchen::CourseName& course, const Kitchen& kitchen) {
  std::vector<std::string> out;
  for (const auto& dish : kitchen.dishes) {
    if (dish.course == course.id) out.push_back(dish.letter + " " + kitchen::spoken(dish.id));
  }
  if (out.empty()) return fmt::format("there are no {} tonight", course.name);
  return fmt::format("{} are {}", course.name, fmt::join(out, ", "));
}

class Reader {
 public:
  Reader(std::string_view text, const Kitchen& kitchen) : text_(text), kitchen_(kitchen) {}

  Result<Order> read() {
    if (text_.size() > ticket_line_max) fail(0, "the line is too long; send the table in two orders");
    check_characters();
    if (!failed_) read_table();
    for (std::size_t course = 0; !failed_; ++course) {
      read_course(course);
      skip_blanks();
      if (failed_ || !take('/')) break;
    }
    if (!failed_ && at_ < text_.size())
      fail(at_, "nothing may follow here; end the line or begin the next course with /");
    if (failed_) return *failed_;
    for (auto& [position, allergies] : allergies_) order_.guests.push_back({position, std::move(allergies)});
    order_ = leave_off_for_allergies(std::move(order_), kitchen_);
    const Status fine = check_order(order_, kitchen_);
    if (fine) return std::move(order_);
    const Error& error = fine.error();
    const auto place = places_.find(error.where);
    fail(place == places_.end() ? 0 : place->second, error.detail, error.code);
    return *failed_;
  }

 private:
  [[nodiscard]] bool done() const { return at_ >= text_.size(); }
  [[nodiscard]] char now() const { return done() ? '\0' : text_[at_]; }
  void skip_blanks() {
    while (!done() && is_blank(now())) ++at_;
  }
  bool take(char c) {
    if (done() || now() != c) return false;
    ++at_;
    return true;
  }
  template <class Is>
  std::string_view take_while(Is is) {
    const std::size_t from = at_;
    while (!done() && is(now())) ++at_;
    return text_.substr(from, at_ - from);
  }

  void fail(std::size_t at, const std::string& sentence, Errc code = Errc::invalid) {
    if (failed_) return;
    const auto column = 1 + std::count_if(text_.begin(), text_.begin() + static_cast<std::ptrdiff_t>(at),
                                          [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; });
    failed_ = Error{code, fmt::format("column {}: {}", column, sentence), fmt::format("1:{}", column)};
  }

  // Everything behind this may repeat what was typed.
  void check_characters() {
    std::string plain(text_);
    std::replace(plain.begin(), plain.end(), '\t', ' ');
    const std::size_t good = kitchen::plain_bytes(plain);
    if (good < plain.size()) fail(good, "a character here is no text; type the line again");
  }

  void read_table() {
    skip_blanks();
    const std::size_t from = at_;
    const auto name = take_while([](char c) { return is_word(c) || c == '-'; });
    order_.table = std::string(name);
    places_["/table"] = from;
    skip_blanks();
    if (name.empty()) return fail(from, "begin with the table and a colon, as in 8: 1e 2m");
    if (!take(':')) return fail(at_, fmt::format("a colon must follow the table: {}: 1e 2m", kitchen::clip(name, 40)));
  }

  void read_course(std::size_t index) {
    skip_blanks();
    if (index >= kitchen_.courses.size()) {
      std::vector<std::string> names;
      for (const auto& course : kitchen_.courses) names.push_back(course.name);
      return fail(at_, fmt::format("there is no course {}; courses are {}", index + 1, fmt::join(names, ", ")));
    }
    const kitchen::CourseName& course = kitchen_.courses[index];
    CourseOrder plates{course.id, {}};
    const std::string where = fmt::format("/courses/{}", order_.courses.size());
    places_[where] = at_;
    places_.try_emplace("/courses", at_);
    if (now() == '-') {
      ++at_;
      skip_blanks();
      if (!done() && now() != '/' && now() != '"') fail(at_, "a course that begins with - is empty; take the - away");
    }
    for (skip_blanks(); !failed_ && !done() && now() != '/'; skip_blanks()) {
      if (now() == '"') {
        read_note();
        break;
      }
      places_[fmt::format("{}/plates/{}", where, plates.plates.size())] = at_;
      read_plate(course, plates);
    }
    if (!plates.plates.empty()) order_.courses.push_back(std::move(plates));
  }

  void read_note() {
    places_["/note"] = at_;
    order_.note = read_quoted();
    skip_blanks();
    if (!failed_ && !done()) {
      fail(at_,
           "words in quotes standing alone are the note and end the line; to change a plate join them to it: 2h\"no "
           "salt\"");
    }
  }

  void read_plate(const kitchen::CourseName& course, CourseOrder& plates) {
    const std::size_t from = at_;
    const auto digits = take_while(is_digit);
    if (digits.empty()) {
      return fail(from, "a plate begins with the position, as in 1e; courses are parted by /");
    }
    if (digits.size() > 3) return fail(from, fmt::format("{} is no position", kitchen::clip(digits, 12)));
    Wanted plate;
    plate.position = std::stoi(std::string(digits));
    const kitchen::Table* table = kitchen_.find_table(order_.table);
    if (table != nullptr && (plate.position < 1 || plate.position > table->seats)) {
      return fail(from, fmt::format("table {} has no position {}; it seats {}, from 1", table->id, plate.position,
                                    table->seats));
    }
    const std::size_t letter_at = at_;
    const auto letters = take_while(is_letter);
    const kitchen::Dish* dish = nullptr;
    if (!letters.empty()) {
      dish = letters.size() == 1 ? kitchen_.find_dish(course.id, std::string(1, lower(letters[0]))) : nullptr;
      if (dish == nullptr) {
        return fail(letter_at,
                    fmt::format("no {} has the letter {}; {}", one_of(course), kitchen::clip(letters, 20),
                                letters_of(course, kitchen_)),
                    Errc::unknown);
      }
      plate.dish = dish->id;
      const bool twice = std::any_of(plates.plates.begin(), plates.plates.end(),
                                     [&](const Wanted& one) { return one.position == plate.position; });
      if (twice) {
        return fail(from, fmt::format("position {} has a {} already; take one away", plate.position, one_of(course)));
      }
    } else if (now() != '!') {
      return fail(letter_at,
                  fmt::format("position {} needs a letter; {}", plate.position, letters_of(course, kitchen_)));
    }
    read_suffixes(plate, dish);
    if (dish != nullptr) plates.plates.push_back(std::move(plate));
  }

  void read_suffixes(Wanted& plate, const kitchen::Dish* dish) {
    while (!failed_ && !done()) {
      const std::size_t from = at_;
      if (take('!')) {
        read_allergy(plate.position, from);
      } else if (now() == '-' || now() == '"') {
        if (dish == nullptr) {
          return fail(from, fmt::format("position {} has no dish to change here; add its letter", plate.position));
        }
        if (now() == '-') {
          read_left_off(plate, *dish);
        } else if (!plate.change.empty()) {
          fail(from,
               fmt::format("position {} has a change already; put all of it into one pair of quotes", plate.position));
        } else {
          plate.change = read_quoted();
          if (!failed_ && plate.change.empty()) fail(from, "there are no words between the quotes; say the change");
        }
      } else if (is_blank(now()) || now() == '/' || is_digit(now())) {
        return;
      } else {
        fail(from, "behind a plate stand !allergy, -part or \"words\"; leave a blank before the next plate");
      }
    }
  }

  void read_allergy(int position, std::size_t from) {
    // No allergen has a digit in it: 1e!fish2m is two plates.
    const auto name = take_while([](char c) { return is_word(c) && !is_digit(c); });
    if (name.empty()) return fail(at_, "name the allergy behind the !, as in !gluten");
    const kitchen::Allergen* known = kitchen::find_allergen(name);
    if (known == nullptr) {
      const auto near = kitchen::nearest_allergen(name);
      return fail(
          from,
          fmt::format("{} is none of the fourteen allergen groups nor a kind within one; {}", kitchen::clip(name, 40),
                      near ? fmt::format("did you mean {}?", *near) : "say it in quotes as a change instead"),
          Errc::unknown);
    }
    auto& allergies = allergies_[position];
    if (std::find(allergies.begin(), allergies.end(), known->name) == allergies.end()) {
      allergies.emplace_back(known->name);
    }
  }

  void read_left_off(Wanted& plate, const kitchen::Dish& dish) {
    const std::size_t from = at_;
    ++at_;
    // Ids may hold a hyphen themselves: the longest part that fits is meant.
    std::string best;
    for (const auto& part : dish.parts) {
      const std::string& id = part.component;
      const bool fits =
          text_.substr(at_, id.size()) == id && (at_ + id.size() == text_.size() || !is_word(text_[at_ + id.size()]));
      if (fits && id.size() > best.size()) best = id;
    }
    if (best.empty())
      best = std::string(take_while(is_word));
    else
      at_ += best.size();
    if (best.empty()) return fail(at_, "name the part to leave off behind the -, as in -crumb");
    std::vector<std::string> can;
    for (const auto& part : dish.parts) {
      if (part.can_be_left_off) can.push_back(part.component);
    }
    if (std::find(can.begin(), can.end(), best) == can.end()) {
      return fail(from,
                  fmt::format("{} cannot be left off the {}; {}", kitchen::clip(best, 40), kitchen::spoken(dish.id),
                              can.empty() ? std::string("it goes whole or not at all")
                                          : fmt::format("what can be left off is {}", fmt::join(can, ", "))),
                  Errc::unknown);
    }
    auto& off = plate.left_off;
    if (std::find(off.begin(), off.end(), best) == off.end()) off.push_back(best);
  }

  std::string read_quoted() {
    const std::size_t from = at_;
    ++at_;
    std::string out;
    while (!done() && now() != '"') {
      if (now() == '\\' && at_ + 1 < text_.size() && (text_[at_ + 1] == '"' || text_[at_ + 1] == '\\')) ++at_;
      out += now();
      ++at_;
    }
    if (!take('"')) fail(from, "the quotes are not closed; add \" behind the words");
    return out;
  }

  std::string_view text_;
  const Kitchen& kitchen_;
  std::size_t at_ = 0;
  Order order_;
  std::map<int, std::vector<std::string>> allergies_;
  std::map<std::string, std::size_t> places_;  // pointer into the order -> where it stands in the text
  std::optional<Error> failed_;
};

std::string quoted(const std::string& words) {
  std::string out = "\"";
  for (const char c : words) {
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + '"';
}

std::string allergy_marks(const Guest& guest) {
  std::string out;
  for (std::string name : guest.allergies) {
    std::replace(name.begin(), name.end(), ' ', '_');
    out += "!" + name;
  }
  return out;
}

}  // namespace

Result<Order> read_ticket_line(std::string_view text, const Kitchen& kitchen) { return Reader(text, kitchen).read(); }

std::string write_ticket_line(const Order& order, const Kitchen& kitchen) {
  std::map<int, std::string> marks;  // still to be written
  for (const Guest& guest : order.guests) {
    if (!guest.allergies.empty()) marks[guest.position] = allergy_marks(guest);
  }
  const auto eats = [&](int position) {
    return std::any_of(order.courses.begin(), order.courses.end(), [&](const CourseOrder& course) {
      return std::any_of(course.plates.begin(), course.plates.end(),
                         [&](const Wanted& plate) { return plate.position == position; });
    });
  };
  std::vector<std::string> courses;
  for (const auto& name : kitchen.courses) {
    std::vector<std::string> plates;
    for (const CourseOrder& course : order.courses) {
      if (course.course != name.id) continue;
      for (const Wanted& plate : course.plates) {
        const kitchen::Dish* dish = kitchen.find_dish(plate.dish);
        std::string text = fmt::format("{}{}", plate.position, dish == nullptr ? "?" : dish->letter);
        for (const std::string& off : plate.left_off) text += "-" + off;
        if (const auto mark = marks.find(plate.position); mark != marks.end()) {
          text += mark->second;
          marks.erase(mark);
        }
        if (!plate.change.empty()) text += quoted(plate.change);
        plates.push_back(std::move(text));
      }
    }
    if (courses.empty()) {
      for (const Guest& guest : order.guests) {
        if (eats(guest.position) || marks.count(guest.position) == 0) continue;
        plates.push_back(std::to_string(guest.position) + marks[guest.position]);
      }
    }
    courses.push_back(plates.empty() ? "-" : fmt::format("{}", fmt::join(plates, " ")));
  }
  while (courses.size() > 1 && courses.back() == "-") courses.pop_back();
  std::string out = fmt::format("{}: {}", order.table, fmt::join(courses, " / "));
  if (!order.note.empty()) out += " " + quoted(order.note);
  return out;
}

}  // namespace nappe::line
