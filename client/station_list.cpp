#include <fmt/format.h>

#include <algorithm>

#include "client/station_page.hpp"
#include "client/words.hpp"

namespace nappe::client {
namespace {

// With more give than this there is time to leave the section.
constexpr Duration free_least = seconds(45);

int hands_here(const StationPage& page) {
  return static_cast<int>(std::count_if(page.screen.hands.begin(), page.screen.hands.end(),
                                        [](const Person& person) { return person.present; }));
}

std::string time_of(const StationPage& page, const Item& item) {
  if (item.state == "doing") return "doing";
  const Duration left = page.until(item.at);
  return (left < Duration::zero() ? "+" : "") + countdown(left);
}

// How wide the columns of the list are: as its words need, within reason.
struct Columns {
  int move = 10;
  int what = 12;
};

Columns columns_for(const StationPage& page, const std::vector<const Item*>& items) {
  Columns out;
  for (const Item* item : items) {
    out.move = std::max(out.move, columns_of(item->move) + (item->guess ? 4 : 2));
    out.what = std::max(out.what, columns_of(item->what) + columns_of(item->letter) + 3);
  }
  out.move = std::min(out.move, page.small ? 10 : 14);
  out.what = std::min(out.what, 17);
  return out;
}

std::vector<std::string> words_of(const Item& item, int room) {
  const std::string words = item.round > 0 ? item.words + "   " + ordinal(item.round) : item.words;
  return wrapped_clauses(words, std::max(8, room));
}

// Where the words of a move begin, and how many columns they have.
int words_at(const StationPage& page, int left, const Columns& columns, const Item& item) {
  const int indent =
      page.large ? static_cast<int>(std::clamp<std::int64_t>(page.until(item.at) / minutes(1), 0, 10)) : 0;
  return left + indent + 9 + columns.move + columns.what + 5;
}

// How many rows a move takes at least.
int rows_of(const StationPage& page, int left, int right, const Columns& columns, const Item& item) {
  if (item.words.empty()) return 1;
  if (page.small) return 1 + static_cast<int>(words_of(item, right - left - 9).size());
  const int room = right - columns_of(item.tables) - 2 - words_at(page, left, columns, item);
  return static_cast<int>(words_of(item, room).size());
}

// One move of the list; its capitals take further rows rather than be cut, and its hint does so while there are `spare`
// rows. Returns the row behind.
int draw_item(const StationPage& page, int row, int left, int right, const Columns& columns, const Item& item,
              int& spare) {
  const bool pressed = page.model.pressed.count(item.key) != 0;
  const bool late = page.until(item.at) < Duration::zero() && item.state != "doing";
  const Tone tone = pressed || item.state == "coming" ? Tone::dim : Tone::normal;
  const int indent =
      page.large ? static_cast<int>(std::clamp<std::int64_t>(page.until(item.at) / minutes(1), 0, 10)) : 0;
  int at = left + indent;
  if (item.key == page.model.chosen) page.grid.set(row, at, {page.look.pointer, Tone::strong});
  page.grid.put_right(row, at + 7, time_of(page, item), late ? Tone::strong : tone);
  at += 9;
  const int move_width = columns.move;
  page.grid.put(row, at, item.move + (item.guess ? " ?" : ""), late ? Tone::strong : tone, move_width - 1);
  at += move_width;
  const int what_width = page.small ? std::max(4, right - at - 5) : columns.what;
  page.grid.put(row, at, item.what + (item.letter.empty() ? "" : " " + item.letter), tone, what_width - 1);
  at += what_width;
  page.grid.put_right(row, at + 2, fmt::format("{}", item.n), tone);
  at += 5;
  if (page.small) {
    ++row;
    for (const std::string& line : words_of(item, right - left - 9)) page.grid.put(row++, left + 9, line, Tone::strong);
    return row;
  }
  page.grid.put_right(row, right, item.tables, tone);
  const int room = right - columns_of(item.tables) - 2 - at;
  const std::string rounds = item.round > 0 ? ordinal(item.round) : "";
  std::string quiet = item.change;
  if (quiet.empty()) quiet = item.round > 0 ? rounds : item.how;
  if (pressed) quiet = page.model.link.up ? "pressed" : "pressed, kept";
  if (item.words.empty()) {
    const Tone quiet_tone = item.change.empty() ? Tone::dim : tone;
    const std::vector<std::string> rows = wrapped(quiet, room);
    const int more = static_cast<int>(rows.size()) - 1;
    if (room < 8 || more < 1 || more > spare) {
      page.grid.put(row, at, quiet, quiet_tone, room);
      return row + 1;
    }
    spare -= more;
    for (const std::string& one : rows) page.grid.put(row++, at, one, quiet_tone);
    return row;
  }
  for (const std::string& line : words_of(item, room)) page.grid.put(row++, at, line, Tone::strong);
  return row;
}

std::string free_words(const StationPage& page, const FreeTime& free) {
  const std::string who = free.of == 1            ? "free"
                          : free.hands == free.of ? (free.of == 2 ? "both free" : "all free")
                                                  : cardinal(free.hands) + " of you free";
  const std::string dot = page.look.utf8 ? "·" : ".";
  const std::string dots = fmt::format("{0}  {0}  {0}", dot);
  return fmt::format("{}  {} {} to {}  {}", dots, who, countdown(page.until(free.from)),
                     countdown(page.until(free.until)), dots);
}

}  // namespace

void draw_list(const StationPage& page, int row, int end_row, int left, int right) {
  std::vector<const Item*> rest;
  const Item* hand = in_hand(page.model);
  for (const Item& item : page.screen.list) {
    if (&item != hand || !page.model.chosen.empty()) rest.push_back(&item);
  }
  std::vector<const Item*> all;
  if (hand != nullptr && page.model.chosen.empty()) all.push_back(hand);
  all.insert(all.end(), rest.begin(), rest.end());
  const std::size_t shift = all.size() - rest.size();
  const Columns columns = columns_for(page, rest);
  const auto frees = free_times(all, hands_here(page), page.now.kitchen, free_least);
  // In a short list the chosen row must be seen: begin further down.
  std::size_t first = 0;
  for (std::size_t i = 0; i < rest.size(); ++i) {
    const int below = static_cast<int>(i) - (end_row - row);
    if (rest[i]->key == page.model.chosen && below >= 0) first = static_cast<std::size_t>(below) + 1;
  }
  int spare = end_row - row - (page.small ? 0 : static_cast<int>(frees.size()));
  for (const Item* item : rest) spare -= rows_of(page, left, right, columns, *item);
  for (std::size_t i = first; i < rest.size() && row < end_row; ++i) {
    for (const FreeTime& free : frees) {
      if (free.before != i + shift || row + 1 >= end_row || page.small) continue;
      page.grid.put(row++, left + 9, free_words(page, free), Tone::dim, right - left - 9);
    }
    if (row >= end_row) break;
    const int behind = draw_item(page, row, left, right, columns, *rest[i], spare);
    if (behind > end_row) {
      // Words about an allergy are shown whole or not at all.
      for (int r = row; r < behind; ++r) page.grid.fill(r, left, right - left, U' ');
      page.grid.put(row, left + 9, fmt::format("and {} more", rest.size() - i), Tone::dim);
      break;
    }
    row = behind;
  }
}

}  // namespace nappe::client
