#include <fmt/format.h>

#include <algorithm>

#include "client/alert.hpp"
#include "client/bigtext.hpp"
#include "client/draw.hpp"
#include "client/station_page.hpp"
#include "client/words.hpp"

namespace nappe::client {
namespace {

constexpr Duration soon = seconds(10);        // the word takes the colour at a give under 10 s,
constexpr Duration later = seconds(60);       // and is grey while give is long.
constexpr Duration free_least = seconds(45);  // With more give than this there is time to leave the section.
using Page = StationPage;

constexpr Duration strip_length = minutes(5);

std::string people(const Page& page) {
  std::string out;
  for (const Person& person : page.screen.hands) {
    if (!out.empty()) out += ", ";
    out += person.present ? person.name : person.name + " away";
  }
  return out.empty() ? "nobody here" : out;
}

void draw_header(const Page& page) {
  const Duration offset = page.screen.service.utc_offset;
  const std::string clock = clock_text(page.now.kitchen, offset);
  const std::string link = link_sentence(page.model.link, offset);
  const int clock_at = page.columns - columns_of(clock) - 1;
  page.grid.put(0, clock_at, clock, Tone::strong);
  const int link_at = clock_at - columns_of(link) - 2;
  if (!link.empty() && !page.small) page.grid.put(0, link_at, link, Tone::strong);
  const int edge = (link.empty() || page.small ? clock_at : link_at) - 2;
  const int behind_name = page.grid.put(0, 1, upper(page.screen.name), Tone::strong, edge - 1);
  if (edge - behind_name > 6) page.grid.put(0, behind_name + 2, people(page), Tone::normal, edge - behind_name - 2);
}

std::string rest_words(const Page& page, const RestOf& rest) {
  if (page.now.kitchen < rest.min) return "rests: not before " + countdown(page.until(rest.min));
  if (page.now.kitchen <= rest.max) return "rested: good for another " + countdown(page.until(rest.max));
  return "rested " + countdown(page.until(rest.max)) + " too long";
}

struct Line {
  std::string text;
  Tone tone = Tone::normal;
};

void add_cue(std::vector<Line>& lines, const CueWords& cue) {
  if (cue.core_c) lines.push_back({fmt::format("core {:g} C", *cue.core_c)});
  if (!cue.look.empty()) lines.push_back({"look   " + cue.look});
  if (!cue.taste.empty()) lines.push_back({"taste  " + cue.taste});
  if (!cue.sound.empty()) lines.push_back({"sound  " + cue.sound});
  if (!cue.too_far.empty()) lines.push_back({"too far: " + cue.too_far, Tone::dim});
}

std::string round_words(const Item& item) {
  if (item.round == 0) return fmt::format("or one {} more", item.rounds->word);
  return fmt::format("{} of {} or so", ordinal(item.round), cardinal(item.rounds->usual));
}

// What stands beside the big word, most needed first: the screen shows as many lines as it has.
std::vector<Line> details(const Page& page, const Item& item) {
  std::vector<Line> lines;
  const std::string where = item.letter.empty() ? "" : fmt::format(", {} {}", item.vessel, item.letter);
  lines.push_back({item.what + where, Tone::strong});
  const char* table = item.tables.find(',') == std::string::npos ? "table" : "tables";
  const std::string tables = item.tables.empty() ? "" : fmt::format("   {} {}", table, item.tables);
  lines.push_back({counted(item.n, "plate") + tables});
  if (!item.change.empty()) lines.push_back({item.change, Tone::strong});
  if (item.rounds) lines.push_back({round_words(item)});
  if (item.guess) lines.push_back({"a guess: nobody has pressed", Tone::dim});
  if (item.rest) lines.push_back({rest_words(page, *item.rest)});
  if (!item.how.empty()) lines.push_back({item.how});
  if (item.cue) add_cue(lines, *item.cue);
  return lines;
}

// One bead a round: done, in hand, to come, and dots for those that may be needed beyond the usual number.
void put_beads(const Page& page, int row, int column, const Item& item) {
  for (int i = 1; i <= item.rounds->max && item.round > 0; ++i, ++column) {
    const char32_t bead = i < item.round            ? page.look.bead
                          : i == item.round         ? page.look.bead_now
                          : i <= item.rounds->usual ? page.look.bead_open
                                                    : page.look.dots;
    page.grid.set(row, column, {bead, i <= item.round ? Tone::strong : Tone::dim});
  }
}

Tone word_tone(const Page& page, const Item& item) {
  if (page.coloured("next") && item.key == page.screen.next) return Tone::colour;
  if (item.state == "doing" || page.until(item.at) <= soon) return Tone::strong;
  return page.until(item.at) > later ? Tone::dim : Tone::normal;
}

char32_t word_ink(const Page& page, const Item& item) {
  const Duration give = page.until(item.at);
  if (item.state == "doing" || give <= soon) return page.look.ink;
  return give > later ? page.look.ink_later : page.look.ink_soon;
}

// How long the move can be put off, or how far it is: a bar that shrinks, and the number.
void draw_give(const Page& page, int row, const Item& item, int width) {
  const bool doing = item.state == "doing" && item.started && item.usual;
  const Duration whole = doing ? std::max(*item.usual - *item.started, seconds(1)) : minutes(2);
  const Duration left = doing ? page.until(*item.usual) : page.until(item.at);
  const std::string label = doing ? "doing" : "give";
  std::string number = countdown(left);
  if (left < Duration::zero()) number += doing ? " over" : " late";
  if (!doing && page.now.kitchen < item.soonest) number += ", can begin in " + countdown(page.until(item.soonest));
  const int bar_at = 7;
  const int bar = std::max(4, width - bar_at - 6);
  const double share = std::clamp(in_seconds(left) / in_seconds(whole), 0.0, 1.0);
  const int full = static_cast<int>(share * bar + 0.5);
  page.grid.put(row, 1, label, Tone::dim);
  page.grid.fill(row, bar_at, full, page.look.utf8 ? page.look.heavy : U'=', word_tone(page, item));
  page.grid.fill(row, bar_at + full, bar - full, page.look.dots, Tone::dim);
  page.grid.put(row, bar_at + bar + 1, number, left <= soon ? Tone::strong : Tone::normal);
}

void draw_cue_keys(const Page& page, int row, int column, const Item& item) {
  if (!item.rounds || !item.rounds->can_end) {
    page.grid.put(row, column, item.state == "doing" ? "[space] DONE" : "[space] done", Tone::dim);
    return;
  }
  const int behind = page.grid.put(row, column, "[m] ONE MORE", Tone::strong);
  page.grid.put(row, behind + 3, "[t] IT'S THERE", Tone::strong);
}

// The word in the rows from `top` up to `end_row`: big where there are five of them, else one line.
void draw_word(const Page& page, int words_row, int top, int end_row, int zone, const Item& item) {
  const Tone tone = word_tone(page, item);
  if (end_row - top < big_rows) {
    if (top < end_row) page.grid.put(top, 2, upper(item.move), tone, zone - 3);
    return;
  }
  const BigWord word = big_word_that_fits(item.move, zone - 2);
  const int behind = put_big(page.grid, top, 2, word.big, word.letters, word_ink(page, item), tone);
  if (word.behind.empty()) return;
  // The words behind stand beside the foot of the big one, or above it when it leaves no room.
  const bool beside = behind + 2 + columns_of(word.behind) < zone;
  const bool above = !beside && item.words.empty();
  if (beside || above)
    page.grid.put(beside ? end_row - 1 : words_row, beside ? behind + 2 : 2, upper(word.behind), tone);
}

void draw_details(const Page& page, int top, int end_row, int column, const Item& item) {
  const std::vector<Line> lines = details(page, item);
  int spare = end_row - top - static_cast<int>(lines.size());  // rows that a line too long may go on in
  for (const Line& line : lines) {
    if (top >= end_row) return;
    const std::vector<std::string> rows = wrapped(line.text, page.columns - column - 1);
    if (const int more = static_cast<int>(rows.size()) - 1; more > 0 && more <= spare) {
      spare -= more;
      for (const std::string& row : rows) page.grid.put(top++, column, row, line.tone);
      continue;
    }
    const int behind = page.grid.put(top, column, line.text, line.tone, page.columns - column - 1);
    if (item.rounds && line.text == round_words(item)) put_beads(page, top, behind + 2, item);
    ++top;
  }
}

// The top from `row` on: words about an allergy first and never cut, the big word with its details, the give bar.
void draw_next(const Page& page, int row, const Item& item) {
  const int zone = page.small ? page.columns - 2 : page.large ? 64 : 46;
  const int end_row = row + 1 + big_rows;
  int top = row;
  for (const std::string& line : wrapped_clauses(item.words, page.columns - 3)) {
    if (top < end_row) page.grid.put(top++, 2, line, Tone::reverse);
  }
  top = std::max(top, row + 1);
  draw_word(page, row, top, end_row, zone, item);
  const bool ends = item.rounds && item.rounds->can_end;
  if (page.small) {
    const std::vector<Line> lines = details(page, item);
    const int column = page.grid.put(end_row + 1, 2, lines[0].text, Tone::strong);
    page.grid.put(end_row + 1, column + 2, lines[1].text);
    draw_give(page, end_row, item, ends ? 22 : page.columns);
    if (ends) page.grid.put_right(end_row, page.columns - 1, "[t] IT'S THERE", Tone::strong);
    return;
  }
  draw_details(page, top, end_row, zone, item);
  draw_give(page, end_row, item, zone - 6);
  draw_cue_keys(page, end_row, zone, item);
}

void draw_nothing(const Page& page, int row) {
  const Item* first = page.screen.list.empty() ? nullptr : &page.screen.list.front();
  std::string sentence = "nothing on the list";
  if (!page.screen.service.open) {
    sentence = service_words(page.screen.service);
  } else if (first != nullptr) {
    // The figure of the list below, not another one: that of the hand, not the soonest there can be.
    const Duration left = page.until(first->at);
    const std::string what = first->letter.empty() ? first->what : first->what + " " + first->letter;
    sentence =
        fmt::format("free; {} {} {}", first->move, what, left < Duration::zero() ? "next" : "in " + countdown(left));
  }
  page.grid.put(row + 3, 4, sentence, Tone::normal, page.columns - 5);
}

// A wait on the heat: the dot travels right, to where a hand is wanted.
void draw_strip(const Page& page, int row, const HeatItem& heat) {
  const Duration left = page.until(heat.next);
  const bool over = left < Duration::zero();
  page.grid.put(row, 1, heat.letter, Tone::strong, 2);
  page.grid.put(row, 4, heat.what, Tone::normal, 13);
  const int from = 18;
  const int then_width = page.columns >= 100 ? 24 : 14;
  const int to = page.columns - then_width - 8;
  page.grid.fill(row, from, to - from, page.look.dots, Tone::dim);
  page.grid.set(row, to, {page.look.edge, Tone::dim});
  const double share = std::clamp(in_seconds(left) / in_seconds(strip_length), 0.0, 1.0);
  const int dot = to - 1 - static_cast<int>(share * (to - 1 - from) + 0.5);
  page.grid.set(row, dot, {page.look.bead, Tone::strong});
  page.grid.put_right(row, to + 7, (over ? "+" : "") + countdown(left), over ? Tone::strong : Tone::normal);
  std::string then = heat.kind == "rest" ? "rest, " + heat.then : heat.then;
  if (heat.over == "most") then += ", too long";
  page.grid.put(row, to + 8, then, over ? Tone::strong : Tone::dim, then_width - 1);
}

std::string behind_words(const Page& page) {
  const StationScreen& screen = page.screen;
  if (screen.nobody) return "nobody here";
  if (screen.behind <= Duration::zero()) return "behind 0:00";
  std::string out = "behind " + countdown(screen.behind);
  if (screen.behind_from) out += " at " + hour_minute(*screen.behind_from, screen.service.utc_offset);
  if (!screen.behind_table.empty()) out += ", table " + screen.behind_table;
  return out;
}

std::string standing_words(const Page& page, const StandingPan& standing) {
  const std::string keep = !standing.until ? ""
                           : *standing.until < page.now.kitchen
                               ? ", " + countdown(page.until(*standing.until)) + " past its keep"
                               : ", " + countdown(page.until(*standing.until)) + " left";
  return fmt::format("{} for {} standing{}", standing.what, standing.tables, keep);
}

void draw_foot(const Page& page, int row) {
  const std::string behind = behind_words(page);
  const bool is_behind = page.screen.nobody || page.screen.behind > Duration::zero();
  page.grid.put_right(row, page.columns - 1, behind, is_behind ? Tone::strong : Tone::dim);
  std::string left;
  for (const std::string& sentence : page.screen.waits) {
    if (!page.large) left += (left.empty() ? "" : "; ") + sentence;
  }
  if (!page.large && !page.screen.standing.empty()) {
    left += (left.empty() ? "" : "; ") + standing_words(page, page.screen.standing.front());
  }
  page.grid.put(row, 1, left, Tone::normal, page.columns - columns_of(behind) - 4);
}

void draw_keys(const Page& page, int row) {
  const StationModel& model = page.model;
  if (!model.notice.text.empty()) {
    draw_notice(page.grid, row, model.notice);
    return;
  }
  if (model.last) {
    page.grid.put(row, 1, model.last->says + ": done. The same key again within 3 s: not done", Tone::normal,
                  page.columns - 2);
    return;
  }
  const std::string link = link_sentence(model.link, page.screen.service.utc_offset);
  if (page.small && !link.empty()) {
    page.grid.put(row, 1, link, Tone::strong, page.columns - 1);
    return;
  }
  page.grid.put(row, 1,
                page.small ? "space done  m more  t there  h help"
                           : "space done   m one more   t it's there   arrows choose   p people   h help",
                Tone::dim, page.columns - 2);
}

// Load to the end of what is known, one block a slot.
void draw_load(const Page& page, int row, int left, int right) {
  constexpr std::u32string_view steps = U" \u2581\u2582\u2583\u2584\u2585\u2586\u2587\u2588";
  double most = 0;
  Instant when{};
  int column = left;
  for (const auto& [slot, share] : page.screen.load) {
    if (share > most) {
      most = share;
      when = slot;
    }
    if (column >= right) continue;
    const auto level = static_cast<std::size_t>(std::clamp(share, 0.0, 1.0) * 8 + 0.5);
    const char32_t block = page.look.utf8 ? steps[level] : static_cast<char32_t>(U'0' + level);
    page.grid.set(row, column++, {block, Tone::normal});
  }
  if (most <= 0) return;
  const std::string at = hour_minute(when, page.screen.service.utc_offset);
  page.grid.put(row + 1, left, fmt::format("most {:.0f} % at {}", most * 100, at),
                most >= 0.85 ? Tone::strong : Tone::dim);
}

// The right third of a large screen: who waits, what stands, the load.
void draw_third(const Page& page, int row, int end_row, int left) {
  for (int r = row; r < end_row; ++r) page.grid.set(r, left - 2, {page.look.wall, Tone::dim});
  const int width = page.columns - left - 1;
  const auto title = [&](const char* text) {
    if (row < end_row) page.grid.put(row++, left, text, Tone::dim);
  };
  const auto say = [&](const std::string& text, Tone tone = Tone::normal) {
    for (const std::string& line : wrapped(text, width)) {
      if (row < end_row) page.grid.put(row++, left, line, tone);
    }
  };
  title("who waits for whom");
  if (page.screen.waits.empty()) say("nobody", Tone::dim);
  for (const std::string& sentence : page.screen.waits) say(sentence);
  ++row;
  title("standing here");
  if (page.screen.standing.empty()) say("nothing", Tone::dim);
  for (const StandingPan& standing : page.screen.standing) say(standing_words(page, standing));
  ++row;
  if (!page.screen.load.empty() && row + 2 < end_row) {
    title("load, five minutes a block");
    draw_load(page, row, left, page.columns - 1);
  }
}

void draw_over(const Page& page) {
  if (page.model.over == Over::help)
    draw_box(page.grid, page.look, "keys", help_lines(station_keys()), page.model.page);
  if (page.model.over != Over::hands) return;
  std::vector<std::string> lines;
  for (std::size_t i = 0; i < page.screen.hands.size(); ++i) {
    const Person& person = page.screen.hands[i];
    lines.push_back(fmt::format("{}  {:<12} {}", i + 1, person.name, person.present ? "here" : "away"));
  }
  lines.push_back("a number turns a person on or off");
  draw_box(page.grid, page.look, "who is here", lines);
}

void draw_page(const Page& page, Size size) {
  draw_header(page);
  const int alert =
      draw_alert(page.grid, 1, page.small ? 1 : 2, page.screen.alerts, page.screen.colour, page.now.kitchen);
  if (alert == 0 && page.screen.quiet_since && !page.small)
    page.grid.put(1, 1,
                  fmt::format("nobody has pressed since {}: this list follows the plan, a guess",
                              hour_minute(*page.screen.quiet_since, page.screen.service.utc_offset)),
                  Tone::dim, page.columns - 2);
  const Item* item = in_hand(page.model);
  int row = page.small ? 1 + alert : 1 + std::max(1, alert);
  if (page.small && alert > 0 && item != nullptr && item->words.empty()) row = 1;
  const int behind_next = row + 1 + big_rows + (page.small ? 2 : 1);
  if (item == nullptr) draw_nothing(page, row);
  if (item != nullptr) draw_next(page, row, *item);
  row = behind_next;
  const int foot = size.rows - (page.small ? 1 : 2);
  if (page.small) {
    draw_list(page, row, foot, 0, page.columns - 1);
    draw_keys(page, foot);
    return;
  }
  draw_rule(page.grid, page.look, row++);
  const int room = foot - row;
  const int strips = std::min(static_cast<int>(page.screen.heat.size()), std::max(1, room / 3));
  const int list_end = strips == 0 ? foot - 1 : foot - 2 - strips;
  const int left_end = page.large ? page.columns - std::max(34, page.columns / 4) : page.columns;
  draw_list(page, row, list_end, 0, left_end - 1);
  if (page.large) draw_third(page, row, list_end, left_end + 2);
  if (strips > 0) {
    draw_rule(page.grid, page.look, list_end, "on the heat", "hand wanted, then");
    for (int i = 0; i < strips; ++i) draw_strip(page, list_end + 1 + i, page.screen.heat[static_cast<std::size_t>(i)]);
  }
  draw_rule(page.grid, page.look, foot - 1);
  draw_foot(page, foot);
  draw_keys(page, foot + 1);
}

}  // namespace

Grid draw_station(const StationModel& model, Times now, Size size, const Look& look) {
  Grid grid(size);
  if (!model.screen) {
    grid.put(0, 1, upper(model.station), Tone::strong);
    const std::string why = !model.link.trouble.empty() ? model.link.trouble
                            : model.link.up             ? "no service is open: waiting for the hand list"
                                                        : link_sentence(model.link, Duration::zero());
    int row = 2;
    for (const std::string& line : wrapped(why, size.columns - 3)) grid.put(row++, 2, line);
    if (model.over == Over::help) draw_box(grid, look, "keys", help_lines(station_keys()), model.page);
    return grid;
  }
  const Page page{model,
                  *model.screen,
                  now,
                  look,
                  grid,
                  size.columns,
                  size.columns < 72 || size.rows < 20,
                  size.columns >= 110 && size.rows >= 24};
  draw_page(page, size);
  draw_over(page);
  if (!look.utf8) grid.make_ascii();
  return grid;
}

}  // namespace nappe::client
