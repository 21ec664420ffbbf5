#include <fmt/format.h>

#include <algorithm>

#include "client/floor.hpp"
#include "client/words.hpp"
#include "common/kitchen/menu.hpp"

namespace nappe::client {
namespace {

constexpr int few = 5;  // so many left are worth an exclamation mark

const std::vector<std::string>& help() {
  static const std::vector<std::string> lines{
      "8: 1e 2m 3k!milk / 1h 2p 3u    table 8; position and dish; / the next course",
      "!gluten behind a plate         what this guest must not eat, in all courses",
      "-crumb                         without it;   \"sauce beside\"  words for the cook",
      "",
      "enter    send                  tab    change the table's open ticket instead",
      "esc      empty the line        ^C     quit; what is not delivered is kept",
  };
  return lines;
}

class FloorPage {
 public:
  FloorPage(const FloorModel& model, Times now, Size size, const Look& look)
      : model_(model), now_(now), size_(size), look_(look), grid_(size), read_(read_line(model)) {
    if (model.screen) offset_ = model.screen->service.utc_offset;
  }

  Grid draw() {
    head();
    if (read_.order)
      table(2);
    else
      tables(2);
    card(12);
    draw_rule(grid_, look_, 15);
    input(16);
    says(17);
    foot();
    if (model_.over == Over::help) draw_box(grid_, look_, "the line", help());
    if (!look_.utf8) grid_.make_ascii();
    return std::move(grid_);
  }

 private:
  const kitchen::Table* table_of() const {
    if (!read_.order || model_.kitchen == nullptr) return nullptr;
    return model_.kitchen->find_table(read_.order->table);
  }

  void head() {
    const kitchen::Table* here = table_of();
    int at = 1;
    if (here == nullptr) {
      at = grid_.put(0, at, "FLOOR", Tone::strong);
      if (model_.screen) grid_.put(0, at + 2, model_.screen->service.name, Tone::dim);
    } else {
      at = grid_.put(0, at, fmt::format("TABLE {}", here->id), Tone::strong);
      const kitchen::Room* room = model_.kitchen->find_room(here->room);
      at = grid_.put(
          0, at + 2,
          fmt::format("{} seats, {}, walk {} s", cardinal(here->seats), room == nullptr ? std::string() : room->name,
                      std::chrono::duration_cast<std::chrono::seconds>(model_.kitchen->walk_to(here->id)).count()),
          Tone::dim);
    }
    grid_.put_right(0, size_.columns - 1, clock_text(now_.kitchen, offset_), Tone::normal);
    if (model_.draft && model_.draft->word && model_.draft->line == model_.line)
      grid_.put_right(1, size_.columns - 1,
                      fmt::format("can be: {} {}", model_.draft->course, hour_minute(*model_.draft->word, offset_)),
                      Tone::strong);
  }

  // Nothing typed: every table with what to tell it. "How long on six?" is answered by looking.
  void tables(int top) {
    if (!model_.screen) return;
    int row = top;
    for (const FloorTicket& ticket : model_.screen->tickets) {
      if (!ticket.open || row >= top + 9) continue;
      grid_.put(row, 1, fmt::format("{:>3}", ticket.table), Tone::strong);
      const char* word = ticket.state == "waiting" ? "could be" : ticket.state == "held" ? "held, word" : "word";
      std::string text = fmt::format("{} {}", ticket.next, word);
      if (ticket.says) text += fmt::format(" {}", hour_minute(*ticket.says, offset_));
      if (ticket.pause == "up") text += ", up";
      if (ticket.pause == "speech") text += ", speech";
      grid_.put(row, 6, text);
      grid_.put(row, 46, fmt::format("{} covers, ticket {}", ticket.covers, ticket.ticket), Tone::dim);
      ++row;
    }
  }

  // What a position has, by course, and what it must not eat.
  void position(int row, int column, int width, int number, bool allergy_last) {
    std::vector<std::string> names;
    for (const line::CourseOrder& course : read_.order->courses)
      for (const line::Wanted& plate : course.plates)
        if (plate.position == number) {
          std::string name = kitchen::spoken(plate.dish);
          for (const std::string& off : plate.left_off) name += " -" + kitchen::spoken(off);
          names.push_back(std::move(name));
        }
    std::string allergy;
    for (const line::Guest& guest : read_.order->guests)
      if (guest.position == number)
        for (const std::string& name : guest.allergies) allergy += (allergy.empty() ? "" : " ") + upper(name);
    const int at = grid_.put(row + (allergy_last ? 0 : 1), column, fmt::format("{} ", number), Tone::strong);
    grid_.put(row + (allergy_last ? 0 : 1), at, names.empty() ? "" : names.front(), Tone::normal, width - 3);
    if (names.size() > 1) {
      names.erase(names.begin());
      grid_.put(row + (allergy_last ? 1 : 2), column + 2, fmt::format("{}", fmt::join(names, ", ")), Tone::dim,
                width - 3);
    }
    if (!allergy.empty())
      grid_.put(row + (allergy_last ? 2 : 0), column + 2, "[" + allergy + "]", Tone::reverse, width - 3);
  }

  // The table as it sits: half of the positions on the far side, the others around on the near side.
  void table(int top) {
    const kitchen::Table* here = table_of();
    if (here == nullptr) return;
    const int far = here->seats / 2;
    const int near = here->seats - far;
    const int width = (size_.columns - 6) / std::max(far, near);
    for (int i = 0; i < far; ++i) position(top, 4 + i * width, width, i + 1, false);
    grid_.put(top + 3, 2, look_.utf8 ? "\u256D" : ".", Tone::dim);
    grid_.fill(top + 3, 3, size_.columns - 6, look_.rule, Tone::dim);
    grid_.put(top + 3, size_.columns - 3, look_.utf8 ? "\u256E" : ".", Tone::dim);
    grid_.set(top + 4, 2, {look_.wall, Tone::dim});
    grid_.set(top + 4, size_.columns - 3, {look_.wall, Tone::dim});
    if (!read_.order->note.empty()) grid_.put(top + 4, 4, read_.order->note, Tone::dim, size_.columns - 9);
    grid_.put(top + 5, 2, look_.utf8 ? "\u2570" : "'", Tone::dim);
    grid_.fill(top + 5, 3, size_.columns - 6, look_.rule, Tone::dim);
    grid_.put(top + 5, size_.columns - 3, look_.utf8 ? "\u256F" : "'", Tone::dim);
    for (int i = 0; i < near; ++i) position(top + 6, 4 + i * width, width, here->seats - i, true);
  }

  int in_line(const std::string& dish) const {
    int count = 0;
    if (!read_.order) return count;
    for (const line::CourseOrder& course : read_.order->courses)
      for (const line::Wanted& plate : course.plates) count += plate.dish == dish ? 1 : 0;
    return count;
  }

  // The card, and what is left of it when this line is sent.
  void card(int top) {
    if (model_.kitchen == nullptr) return;
    int row = top;
    for (const kitchen::CourseName& course : model_.kitchen->courses) {
      if (row >= top + 3) return;
      int at = grid_.put(row, 1, fmt::format("{:<10}", course.name), Tone::dim);
      for (const kitchen::Dish& dish : model_.kitchen->dishes) {
        if (dish.course != course.id) continue;
        at = grid_.put(row, at, dish.letter, Tone::strong);
        at = grid_.put(row, at + 1, kitchen::spoken(dish.id));
        if (model_.screen)
          if (const auto counted = model_.screen->left.find(dish.id); counted != model_.screen->left.end()) {
            const int left = counted->second - in_line(dish.id);
            const std::string text = left < 0               ? fmt::format("{} too many", -left)
                                     : counted->second <= 0 ? std::string("off")
                                                            : fmt::format("{}{}", left, left <= few ? "!" : "");
            at = grid_.put(row, at + 1, text, left < 0 || counted->second <= 0 ? Tone::reverse : Tone::strong);
          }
        at += 3;
      }
      ++row;
    }
  }

  void input(int row) {
    const int room = size_.columns - 4;
    const auto letters = decode_utf8(model_.line);
    std::string shown;
    const std::size_t from =
        letters.size() > static_cast<std::size_t>(room) ? letters.size() - static_cast<std::size_t>(room) : 0;
    for (std::size_t i = from; i < letters.size(); ++i) append_utf8(shown, letters[i]);
    const int at = grid_.put(row, 1, shown, Tone::strong);
    grid_.put(row, at, " ", Tone::reverse);
  }

  void says(int top) {
    int row = top;
    const int last = size_.rows - 3;
    const auto put = [&](const std::string& text, Tone tone) {
      for (const std::string& line : wrapped(text, size_.columns - 2))
        if (row <= last) grid_.put(row++, 1, line, tone);
    };
    if (!read_.problem.empty()) put(read_.problem, Tone::normal);
    if (read_.order)
      for (const line::Guest& guest : read_.order->guests)
        if (!guest.allergies.empty())
          put(fmt::format("position {}, {}: {}: tell the guest now", guest.position, fmt::join(guest.allergies, ", "),
                          kitchen::card_for(*model_.kitchen, guest.allergies)),
              Tone::strong);
    if (model_.draft && model_.draft->line == model_.line && read_.problem.empty()) {
      if (!model_.draft->problem.empty()) put(model_.draft->problem, Tone::reverse);
      for (const std::string& load : model_.draft->load) put(load, model_.draft->full ? Tone::strong : Tone::dim);
    }
  }

  void foot() {
    const int row = size_.rows - 2;
    if (!model_.notice.text.empty()) draw_notice(grid_, row, model_.notice);
    const std::string link = link_sentence(model_.link, offset_);
    const FloorTicket* open = read_.order ? open_ticket(model_, read_.order->table) : nullptr;
    std::string keys = "enter send";
    if (open != nullptr)
      keys = model_.adding ? fmt::format("enter change ticket {}   tab a new ticket", open->ticket)
                           : fmt::format("enter send   tab change ticket {}", open->ticket);
    keys += "   esc empty   F1 help";
    grid_.put(size_.rows - 1, 1, link.empty() ? keys : link, link.empty() ? Tone::dim : Tone::reverse);
  }

  const FloorModel& model_;
  Times now_;
  Size size_;
  Look look_;
  Grid grid_;
  FloorLine read_;
  Duration offset_{};
};

}  // namespace

Grid draw_floor(const FloorModel& model, Times now, Size size, const Look& look) {
  return FloorPage(model, now, size, look).draw();
}

}  // namespace nappe::client
