#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "client/floor.hpp"
#include "client/words.hpp"
#include "common/kitchen/menu.hpp"

namespace nappe::client {
namespace {

constexpr int picture_rows = 10;  // the table as it sits
constexpr int few = 5;            // so many left are worth an exclamation mark

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
    const auto card_rows = card();
    const auto said = says();
    // What is said needs room before the picture of the table does.
    const int foot_at = size_.rows - 2;
    const int wanted = std::max(3, static_cast<int>(said.size()));
    const int below = static_cast<int>(card_rows.size()) + 2;  // the card, the rule, the line
    const int room = foot_at - 2 - below - wanted;
    const bool picture = size_.columns >= 72 && foot_at - 2 - below - 3 >= picture_rows;
    const int top_rows = picture ? picture_rows : std::clamp(room, 1, 12);
    if (!read_.order)
      tables(2, top_rows);
    else if (picture)
      table(2);
    else
      positions(2, top_rows);
    int row = 2 + top_rows;
    for (const auto& line : card_rows) {
      int at = 1;
      for (const auto& [text, tone] : line) at = grid_.put(row, at, text, tone);
      ++row;
    }
    draw_rule(grid_, look_, row++);
    input(row++);
    draw_said(said, row, foot_at);
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
          fmt::format("{} {}, {}, walk {} s", cardinal(here->seats), here->seats == 1 ? "seat" : "seats",
                      room == nullptr ? std::string() : room->name,
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
  void tables(int top, int rows) {
    if (!model_.screen) return;
    if (!model_.screen->service.open) {
      int row = top;
      for (const std::string& line : wrapped(service_words(model_.screen->service), size_.columns - 2))
        grid_.put(row++, 1, line);
      return;
    }
    std::vector<const FloorTicket*> open;
    for (const FloorTicket& ticket : model_.screen->tickets)
      if (ticket.open) open.push_back(&ticket);
    if (open.empty()) grid_.put(top, 1, "no table has ordered", Tone::dim);
    const bool wide = size_.columns >= 72;
    for (std::size_t i = 0; i < open.size(); ++i) {
      const int row = top + static_cast<int>(i);
      if (row + 1 == top + rows && i + 1 < open.size()) {
        grid_.put(row, 6, fmt::format("and {} more", open.size() - i), Tone::dim);
        return;
      }
      const FloorTicket& ticket = *open[i];
      grid_.put(row, 1, fmt::format("{:>3}", ticket.table), Tone::strong);
      const char* word = ticket.state == "waiting" ? "could be" : ticket.state == "held" ? "held, word" : "word";
      std::string text = fmt::format("{} {}", ticket.next, word);
      if (ticket.says) text += fmt::format(" {}", hour_minute(*ticket.says, offset_));
      if (ticket.pause == "up") text += ", up";
      if (ticket.pause == "speech") text += ", speech";
      grid_.put(row, 6, text, Tone::normal, size_.columns - 7);
      if (wide)
        grid_.put(row, 46, fmt::format("{}, ticket {}", counted(ticket.covers, "cover"), ticket.ticket), Tone::dim);
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

  // Where the picture has no room: a row for each position that has or must not have something.
  void positions(int top, int rows) {
    std::map<int, std::string> lines;
    for (const line::CourseOrder& course : read_.order->courses)
      for (const line::Wanted& plate : course.plates) {
        std::string& text = lines[plate.position];
        text += (text.empty() ? "" : ", ") + kitchen::spoken(plate.dish);
        for (const std::string& off : plate.left_off) text += " -" + kitchen::spoken(off);
      }
    for (const line::Guest& guest : read_.order->guests)
      if (!guest.allergies.empty())
        lines[guest.position] =
            fmt::format("[{}] {}", upper(fmt::format("{}", fmt::join(guest.allergies, " "))), lines[guest.position]);
    int row = top;
    std::size_t left = lines.size();
    for (const auto& [number, text] : lines) {
      if (row + 1 == top + rows && left > 1) {
        grid_.put(row, 4, fmt::format("and {} more", left), Tone::dim);
        return;
      }
      grid_.put_right(row, 3, std::to_string(number), Tone::strong);
      grid_.put(row++, 4, text, Tone::normal, size_.columns - 5);
      --left;
    }
  }

  struct Piece {
    std::string text;
    Tone tone = Tone::normal;
  };

  // " 3!": what is left of a dish when this line is sent.
  Piece left_of(const std::string& dish) const {
    if (!model_.screen) return {};
    const auto found = model_.screen->left.find(dish);
    if (found == model_.screen->left.end()) return {};
    const int left = found->second - in_line(dish);
    if (left < 0) return {fmt::format(" {} too many", -left), Tone::reverse};
    if (found->second <= 0) return {" off", Tone::reverse};
    return {fmt::format(" {}{}", left, left <= few ? "!" : ""), Tone::strong};
  }

  // The card, a course a row, in more rows where it is too long for one.
  std::vector<std::vector<Piece>> card() const {
    std::vector<std::vector<Piece>> rows;
    if (model_.kitchen == nullptr) return rows;
    constexpr int behind_name = 11;
    for (const kitchen::CourseName& course : model_.kitchen->courses) {
      rows.push_back({{fmt::format("{:<10}", course.name), Tone::dim}});
      int used = behind_name;
      for (const kitchen::Dish& dish : model_.kitchen->dishes) {
        if (dish.course != course.id) continue;
        const Piece left = left_of(dish.id);
        const std::string name = " " + kitchen::spoken(dish.id);
        const int width = columns_of(dish.letter) + columns_of(name) + columns_of(left.text);
        if (used > behind_name && used + width > size_.columns - 1) {
          rows.push_back({{std::string(behind_name - 1, ' '), Tone::dim}});
          used = behind_name;
        }
        rows.back().push_back({dish.letter, Tone::strong});
        rows.back().push_back({name, Tone::normal});
        if (!left.text.empty()) rows.back().push_back(left);
        rows.back().push_back({"   ", Tone::normal});
        used += width + 3;
      }
    }
    return rows;
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

  // Why it cannot be sent first, then what each guest can have, then whose hands it fills.
  std::vector<Piece> says() const {
    std::vector<Piece> out;
    const auto add = [&](const std::string& text, Tone tone) {
      for (std::string& line : wrapped(text, size_.columns - 2)) out.push_back({std::move(line), tone});
    };
    const bool drafted = model_.draft && model_.draft->line == model_.line && read_.problem.empty();
    // What was just refused stands at the foot already.
    const auto stands = [&](const std::string& text) { return model_.notice.text.find(text) == 0; };
    if (!read_.problem.empty() && !stands(read_.problem)) add(read_.problem, Tone::normal);
    if (drafted && !model_.draft->problem.empty() && !stands(model_.draft->problem))
      add(model_.draft->problem, Tone::reverse);
    if (read_.order)
      for (const line::Guest& guest : read_.order->guests)
        if (!guest.allergies.empty())
          add(fmt::format("position {}, {}: {}: tell the guest now", guest.position, fmt::join(guest.allergies, ", "),
                          kitchen::card_for(*model_.kitchen, guest.allergies)),
              Tone::strong);
    if (drafted)
      for (const std::string& load : model_.draft->load) add(load, model_.draft->full ? Tone::strong : Tone::dim);
    if (model_.screen)
      for (const std::string& sentence : model_.screen->wanted) add(sentence, Tone::strong);
    return out;
  }

  // What does not fit is turned to by the arrows, and the last row says how much that is.
  void draw_said(const std::vector<Piece>& said, int top, int end) {
    const int room = end - top;
    if (room < 1) return;
    const int all = static_cast<int>(said.size());
    const int step = std::max(1, room - 1);
    const int pages = all <= room ? 1 : (all + step - 1) / step;
    const int from = pages == 1 ? 0 : (model_.turned % pages) * step;
    const int shown = pages == 1 ? all : std::min(step, all - from);
    for (int i = 0; i < shown; ++i) {
      const Piece& piece = said[static_cast<std::size_t>(from + i)];
      grid_.put(top + i, 1, piece.text, piece.tone);
    }
    if (pages > 1)
      grid_.put(top + shown, 1, fmt::format("{} of {}: arrow down for the rest", model_.turned % pages + 1, pages),
                Tone::dim, size_.columns - 2);
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
    grid_.put(size_.rows - 1, 1, link.empty() ? keys : link, link.empty() ? Tone::dim : Tone::reverse,
              size_.columns - 2);
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
