#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "client/alert.hpp"
#include "client/draw.hpp"
#include "client/words.hpp"
#include "common/words.hpp"

namespace nappe::client {
namespace {

constexpr Duration axis_length = minutes(20);
constexpr Duration seen_drift = seconds(5);
// Near the pass a minute is wider than far from it, so that seconds can be told apart where they count.
constexpr double axis_power = 0.7;

// The run-in: every column is a time left until the pass, which is the right edge. A thread enters at its whole length,
// runs right as it is cooked, and a course's threads should come to the same column, its knot. What has not begun
// stands at the knot, and the dots to where it must enter are the time it can still wait.
struct Page {
  const PassModel& model;
  const PassScreen& screen;
  Times now;
  const Look& look;
  Grid& grid;
  int from;  ///< First column of the axis.
  int edge;  ///< The column of the pass.
  bool small;
  [[nodiscard]] Duration until(Instant at) const { return at - now.kitchen; }
  [[nodiscard]] int column(Duration left) const {
    const double share = std::clamp(in_seconds(left) / in_seconds(axis_length), 0.0, 1.0);
    return edge - 1 - static_cast<int>(std::lround(std::pow(share, axis_power) * (edge - 1 - from)));
  }
  [[nodiscard]] int column(Instant at) const { return column(until(at)); }
  [[nodiscard]] bool narrow() const { return grid.size().columns < 72; }
  [[nodiscard]] Duration offset() const { return screen.service.utc_offset; }
};

void draw_header(const Page& page) {
  const std::string clock = clock_text(page.now.kitchen, page.offset());
  const int clock_at = page.grid.size().columns - columns_of(clock) - 1;
  page.grid.put(0, clock_at, clock, Tone::strong);
  int at = page.grid.put(0, 1, "THE PASS", Tone::strong);
  const std::string link = link_sentence(page.model.link, page.offset());
  const std::string service = service_words(page.screen.service);
  const int link_at = clock_at - columns_of(link) - 2;
  if (!link.empty() && !page.small) page.grid.put(0, link_at, link, Tone::strong);
  page.grid.put(0, at + 2, service, Tone::normal, (link.empty() ? clock_at : link_at) - at - 4);
}

void draw_axis(const Page& page, int row) {
  int free_from = 0;
  page.grid.put_right(row, page.from - 1, "minutes", Tone::dim);
  for (const int left : {20, 16, 12, 8, 4, 2, 1}) {
    const std::string text = std::to_string(left);
    const int at = left == 20 ? page.from : page.column(minutes(left)) - columns_of(text) + 1;
    if (at < free_from || at + columns_of(text) > page.edge) continue;
    free_from = page.grid.put(row, at, text, Tone::dim) + 1;
  }
  page.grid.set(row, page.edge, {page.look.edge, Tone::normal});
}

// A text on the axis, with a blank on both sides so that lines do not run into it. Cut at the pass.
int put_on_axis(const Page& page, int row, int column, const std::string& text, Tone tone) {
  const int width = std::min(columns_of(text), page.edge - column);
  if (width <= 0) return column;
  if (column > page.from) page.grid.set(row, column - 1, {U' ', Tone::normal});
  const int end = page.grid.put(row, column, text, tone, width);
  if (end < page.edge) page.grid.set(row, end, {U' ', Tone::normal});
  return end;
}

void draw_line(const Page& page, int row, int from, int to, char32_t letter, Tone tone) {
  for (int column = std::max(from, page.from); column <= std::min(to, page.edge - 1); ++column) {
    page.grid.set(row, column, {letter, tone});
  }
}

void draw_thread(const Page& page, int row, const CourseLine& course, const Thread& thread, bool alone) {
  const bool pull = thread.key == course.pull;
  const Tone tone = pull ? Tone::strong : Tone::normal;
  const int enters = page.column(thread.to - thread.from);
  const int stands = page.column(thread.to);
  if (thread.state == "waiting") {
    draw_line(page, row, stands, enters, page.look.dots, pull ? Tone::normal : Tone::dim);
    page.grid.set(row, stands, {page.look.waiting, thread.can_wait ? Tone::dim : tone});
    return;
  }
  const bool ready = thread.state == "ready";
  const int head = ready ? page.edge - 1 : stands;
  if (!ready) draw_line(page, row, std::min(enters, head), head, pull ? page.look.heavy : page.look.thin, tone);
  page.grid.set(row, head, {ready ? page.look.bead : page.look.head, tone});
  if (!alone) return;
  std::string says;
  if (ready && thread.until) {
    const Duration left = page.until(*thread.until);
    says = countdown(left) + (left < Duration::zero() ? " past" : "");
  }
  if (thread.state == "resting") says = "rest";
  if (thread.cue_open) says = "~cue~";
  if (thread.over == "most") says = "too long";
  if (says.empty()) return;
  const int width = columns_of(says);
  const bool right = head + 1 + width < page.edge;
  const Tone loud = thread.over == "most" ? Tone::strong : Tone::normal;
  put_on_axis(page, row, right ? head + 2 : std::max(page.from, head - width - 1), says, loud);
}

std::string allergies_of(const CourseLine& course, bool brief) {
  std::string out;
  for (const auto& [position, words] : course.allergies) {
    out += fmt::format("{}{}{} {}", out.empty() ? "" : ", ", brief ? "" : "position ", position, words);
  }
  return out;
}

void draw_gone(const Page& page, int row, const CourseLine& course) {
  const Instant gone = course.gone.value_or(Instant{});
  const std::string when = clock_text(gone, page.offset());
  put_on_axis(page, row, page.from, fmt::format("gone {}, spread {}", when, countdown(course.spread)), Tone::dim);
}

// A narrow screen has no room for both an axis and words: the time stands at the pass.
void draw_time(const Page& page, int row, const CourseLine& course, std::optional<Instant> at) {
  const bool waiting = course.state == "waiting";
  if (course.state == "gone")
    return page.grid.put_right(row, page.edge, "gone " + hour_minute(course.gone.value_or(Instant{}), page.offset()),
                               Tone::dim);
  if (!at) return;
  const bool drifts = !waiting && course.drift >= seen_drift && course.meet;
  std::string says = (waiting ? "could " : "") + hour_minute(*at, page.offset());
  if (drifts) says += fmt::format(" +{}", countdown(course.drift));
  page.grid.put_right(row, page.edge, says, waiting ? Tone::dim : Tone::strong);
}

// The knot with its time beside it, on the side where there is room; of a course drawn in one row also who is allergic.
void draw_knot(const Page& page, int row, const CourseLine& course, bool open) {
  const bool waiting = course.state == "waiting";
  const std::optional<Instant> at = waiting ? course.could : course.expected ? course.expected : course.meet;
  if (page.narrow()) return draw_time(page, row, course, at);
  if (course.state == "gone") return draw_gone(page, row, course);
  const std::string allergies = open ? "" : allergies_of(course, true);
  if (!at) {
    put_on_axis(page, row, page.from, allergies, Tone::strong);
    return;
  }
  const int knot = page.column(*at);
  const bool drifts = !waiting && course.drift >= seen_drift && course.meet;
  std::string says = waiting ? "could meet " + hour_minute(*at, page.offset()) : clock_text(*at, page.offset());
  if (drifts) says += fmt::format(" +{}", countdown(course.drift));
  const int all = columns_of(says) + (allergies.empty() ? 0 : columns_of(allergies) + 2);
  const int room = page.edge - knot - 4;
  if (waiting && all > room) says = hour_minute(*at, page.offset());
  const int width = columns_of(says);
  const Tone tone = waiting ? Tone::dim : drifts ? Tone::strong : Tone::normal;
  // A course drawn open has its threads below and the left side free; one in a single row has its line there.
  const bool left = open ? knot - width - 1 >= page.from : width > room;
  const int says_at = left ? knot - width - 1 : knot + 2;
  int end = put_on_axis(page, row, says_at, says, tone);
  if (!allergies.empty()) {
    const int before = (left ? says_at : knot) - columns_of(allergies) - 2;
    const bool right = !left && (end + 2 + columns_of(allergies) <= page.edge || before < page.from);
    const int behind = put_on_axis(page, row, right ? end + 2 : std::max(page.from, before), allergies, Tone::strong);
    if (right) end = behind;
  }
  // The promise is worth a sign where it does not stand in the words.
  const int promised = drifts ? page.column(*course.meet) : knot;
  if (left || promised > end) page.grid.set(row, promised, {page.look.promised, Tone::dim});
  page.grid.set(row, knot, {waiting ? page.look.waiting : page.look.knot, waiting ? Tone::dim : Tone::strong});
}

// In at most so many columns, with what it is as long as that has room.
std::string word_of(const Page& page, const CourseLine& course, int columns) {
  const bool cooking = course.state == "fired" || course.state == "held";
  if (cooking && !course.pause.empty()) return course.pause;
  if (course.state == "held") return "held";
  if (!course.word || course.state != "fired") return "";
  const auto left =
      std::max<std::int64_t>(0, std::chrono::ceil<std::chrono::minutes>(page.until(*course.word)).count());
  const std::string whole = fmt::format("word {} min", left);
  return columns_of(whole) <= columns ? whole : fmt::format("word {}", left);
}

void draw_course_label(const Page& page, int row, const CourseLine& course) {
  const bool chosen = course.key == page.model.chosen;
  const bool quiet = course.state == "waiting" || course.state == "gone";
  const Tone tone = course.key == page.screen.colour ? Tone::colour : quiet ? Tone::dim : Tone::strong;
  page.grid.set(row, 0, {chosen ? page.look.pointer : U' ', Tone::strong});
  page.grid.put(row, 1, course.table, tone, 3);
  const Tone name_tone = quiet ? Tone::dim : Tone::normal;
  const int end = page.grid.put(row, 4, fmt::format("{} {}", course.name, course.covers), name_tone, 12);
  page.grid.put_right(row, page.from - 1, word_of(page, course, page.from - 2 - end), Tone::normal);
  if (chosen && !page.model.staying.empty()) {
    std::string stay = " but";
    for (const int position : page.model.staying) stay += fmt::format(" {}", position);
    page.grid.put(row, end, stay, Tone::strong, page.from - end - 1);
  }
}

void draw_thread_label(const Page& page, int row, const CourseLine& course, const Thread& thread) {
  const bool pull = thread.key == course.pull;
  std::string text = thread.what + (thread.letter.empty() ? "" : " " + thread.letter);
  // The pull names its station; where both do not fit, that says more than the letter.
  if (pull && columns_of(text) + 2 + columns_of(thread.station) > page.from - 8) text = thread.what;
  if (pull) text += ", " + thread.station;
  page.grid.put_right(row, 6, std::to_string(thread.n), Tone::dim);
  page.grid.put(row, 7, text, pull ? Tone::strong : Tone::dim, page.from - 8);
}

// Who must not have what, whole, in rows of its own: open courses have it, and on a narrow screen every course.
std::vector<std::string> allergy_rows(const Page& page, const CourseLine& course, bool open) {
  if (course.allergies.empty() || course.state == "gone" || (!open && !page.narrow())) return {};
  return wrapped_clauses(allergies_of(course, !open), page.edge - 8);
}

int rows_closed(const Page& page, const CourseLine& course) {
  return 1 + static_cast<int>(allergy_rows(page, course, false).size());
}

int rows_open(const Page& page, const CourseLine& course) {
  const int threads = course.state == "waiting" ? 0 : static_cast<int>(course.threads.size());
  return 1 + threads + static_cast<int>(allergy_rows(page, course, true).size());
}

// Which courses show their threads one by one: the chosen one, then as many as fit, soonest first.
std::vector<bool> opened(const Page& page, const std::vector<const CourseLine*>& courses, int rows) {
  std::vector<bool> out(courses.size(), false);
  int left = rows;
  for (const CourseLine* course : courses) left -= rows_closed(page, *course);
  const auto try_open = [&](std::size_t i) {
    const bool plain = courses[i]->state == "waiting" && courses[i]->key != page.model.chosen;
    if (out[i] || courses[i]->state == "gone" || plain) return;
    const int more = rows_open(page, *courses[i]) - rows_closed(page, *courses[i]);
    if (more > left) return;
    out[i] = true;
    left -= more;
  };
  for (std::size_t i = 0; i < courses.size(); ++i) {
    if (courses[i]->key == page.model.chosen) try_open(i);
  }
  for (std::size_t i = 0; i < courses.size(); ++i) try_open(i);
  return out;
}

int draw_course(const Page& page, int row, int end_row, const CourseLine& course, bool open) {
  draw_course_label(page, row, course);
  page.grid.set(row, page.edge, {page.look.edge, Tone::normal});
  if (!open && !page.narrow()) {
    const bool drawn = course.state == "fired" || course.state == "held";
    for (const Thread& thread : course.threads) {
      if (drawn && thread.key == course.pull) draw_thread(page, row, course, thread, false);
    }
  }
  draw_knot(page, row, course, open);
  ++row;
  for (const std::string& line : allergy_rows(page, course, open)) {
    if (row >= end_row) return row;
    page.grid.set(row, page.edge, {page.look.edge, Tone::normal});
    page.grid.put(row++, 7, line, Tone::strong, page.edge - 7);
  }
  if (!open) return row;
  for (const Thread& thread : course.threads) {
    if (row >= end_row || course.state == "waiting") break;
    page.grid.set(row, page.edge, {page.look.edge, Tone::normal});
    draw_thread_label(page, row, course, thread);
    draw_thread(page, row, course, thread, true);
    ++row;
  }
  return row;
}

void draw_courses(const Page& page, int row, int end_row) {
  const auto courses = in_order(page.model, page.now.kitchen);
  // Where not all fit, a row is kept to say so.
  int wanted = 0;
  for (const CourseLine* course : courses) wanted += rows_closed(page, *course);
  const int sign = wanted > end_row - row ? end_row - 1 : -1;
  if (sign >= 0) end_row = sign;
  const auto open = opened(page, courses, end_row - row);
  std::size_t first = 0;  // With more courses than rows, the chosen one must be seen.
  for (std::size_t i = 0; i < courses.size(); ++i) {
    const int below = static_cast<int>(i) - (end_row - row);
    if (courses[i]->key == page.model.chosen && below >= 0) first = static_cast<std::size_t>(below) + 1;
  }
  std::size_t next = first;
  for (; next < courses.size() && row < end_row; ++next) {
    row = draw_course(page, row, end_row, *courses[next], open[next]);
  }
  for (; row < end_row; ++row) page.grid.set(row, page.edge, {page.look.edge, Tone::normal});
  if (sign < 0) return;
  std::string text;
  if (next < courses.size()) text = fmt::format("{} below", counted(static_cast<int>(courses.size() - next), "course"));
  if (first > 0)
    text += fmt::format("{}{} above", text.empty() ? "" : ", ", counted(static_cast<int>(first), "course"));
  page.grid.put(sign, 1, text + ": arrows", Tone::dim, page.edge - 1);
  page.grid.set(sign, page.edge, {page.look.edge, Tone::normal});
}

// The right column: the only place where seconds are printed for their own sake.
class Side {
 public:
  Side(const Page& page, int row, int end_row, int left)
      : page_(page), row_(row), end_row_(end_row), left_(left), width_(page.grid.size().columns - left - 1) {}

  void title(const std::string& text) {
    if (row_ > first_ && row_ < end_row_) ++row_;
    say(text, Tone::dim);
  }
  void say(const std::string& text, Tone tone = Tone::normal, const std::string& right = {}) {
    if (row_ >= end_row_) return;
    page_.grid.put(row_, left_, text, tone, width_ - (right.empty() ? 0 : columns_of(right) + 1));
    if (!right.empty()) page_.grid.put_right(row_, left_ + width_, right, tone);
    ++row_;
  }
  void begin() { first_ = row_; }

 private:
  const Page& page_;
  int row_, end_row_, left_, width_;
  int first_ = 0;
};

void draw_standing(const Page& page, Side& side) {
  if (page.screen.standing.empty()) return;
  side.title("standing");
  for (const StandingLine& line : page.screen.standing) {
    const bool whole = line.up >= line.of;
    std::string left;
    if (line.until) left = countdown(page.until(*line.until));
    if (line.until && *line.until < page.now.kitchen) left += " past";
    const Tone tone = page.screen.colour == line.key ? Tone::colour : Tone::strong;
    side.say(fmt::format("{} {}", line.table, whole ? "gone?" : fmt::format("{} of {}", line.up, line.of)), tone, left);
    const CourseLine* course = page.screen.find(line.key);
    if (course != nullptr) {
      for (const PlateLine& plate : course->plates) {
        if (plate.words.empty() || (plate.state != "standing" && plate.state != "blocked")) continue;
        const char* stop = plate.state == "blocked" ? ", STOP" : "";
        side.say(fmt::format("  {} {}{}", plate.position, plate.words, stop), Tone::strong);
      }
    }
    if (line.send_now) side.say(fmt::format("  send {} now", line.up), Tone::strong);
    if (whole && course != nullptr && course->hands > 0)
      side.say("  " + counted(course->hands, "pair of hands", "pairs of hands"), Tone::dim);
    if (!line.missing.empty()) side.say("  no " + line.missing, Tone::dim);
    if (line.walk > seconds(20)) side.say("  " + countdown(line.walk) + " walk", Tone::dim);
  }
}

void draw_side(const Page& page, int row, int end_row, int left) {
  Side side(page, row, end_row, left);
  side.begin();
  draw_standing(page, side);
  if (!page.screen.hands_short.empty()) {
    side.title("hands short");
    for (const ShortLine& line : page.screen.hands_short) {
      if (line.nobody) {
        side.say("nobody at " + line.name, Tone::strong);
        if (!line.table.empty()) side.say("  table " + line.table, Tone::dim);
        continue;
      }
      side.say(line.name, Tone::normal, countdown(line.behind));
      const std::string table = line.table.empty() ? "" : ", table " + line.table;
      if (line.from) side.say("  " + hour_minute(*line.from, page.offset()) + table, Tone::dim);
    }
  }
  if (!page.screen.wanted.empty()) {
    side.title("wanted again");
    for (const WantedLine& line : page.screen.wanted) {
      const Instant free = std::chrono::ceil<std::chrono::minutes>(line.free);
      side.say(fmt::format("{} {}", line.table, hour_minute(line.booked, page.offset())), Tone::strong,
               "free " + hour_minute(free, page.offset()));
    }
  }
  bool titled = false;
  for (const StationLine& station : page.screen.stations) {
    const auto slots = page.screen.load.find(station.id);
    if (slots == page.screen.load.end() || slots->second.empty()) continue;
    const auto most = std::max_element(slots->second.begin(), slots->second.end(),
                                       [](const auto& a, const auto& b) { return a.second < b.second; });
    if (most->second < 0.6) continue;
    if (!titled) side.title("load");
    titled = true;
    side.say(station.name, most->second >= 0.85 ? Tone::strong : Tone::normal,
             fmt::format("{:.0f} % {}", most->second * 100, hour_minute(most->first, page.offset())));
  }
  for (const bool off : {true, false}) {
    bool said = false;
    for (const OffLine& line : page.screen.off) {
      if ((line.left == 0) != off) continue;
      if (!said) side.title(off ? "off" : "nearly off");
      said = true;
      side.say(line.name, off ? Tone::strong : Tone::normal, off ? std::string() : std::to_string(line.left));
    }
  }
}

void draw_keys(const Page& page, int row) {
  const PassModel& model = page.model;
  const int width = page.grid.size().columns - 2;
  if (!model.notice.text.empty()) {
    draw_notice(page.grid, row, model.notice);
    return;
  }
  const std::string link = link_sentence(model.link, page.offset());
  if (page.small && !link.empty()) {
    page.grid.put(row, 1, link, Tone::strong, width + 1);
    return;
  }
  page.grid.put(row, 1,
                page.small ? "f fire  space hold  g gone  h help"
                           : "arrows choose  f fire  space hold  + - meet  g gone  b bring back  h help",
                Tone::dim, width);
}

}  // namespace

namespace {

std::vector<std::string> carry_lines(const CourseLine& course, Duration offset) {
  std::vector<std::string> lines;
  if (course.hands == 0) return {"nothing of it is here to carry"};
  lines.push_back(fmt::format("{}{}", counted(course.hands, "pair of hands", "pairs of hands"),
                              course.call ? ", called at " + clock_text(*course.call, offset) : std::string()));
  lines.insert(lines.end(), course.trips.begin(), course.trips.end());
  if (course.latest)
    lines.push_back(
        fmt::format("nothing is thrown till {} ({})", clock_text(*course.latest, offset), course.latest_what));
  return lines;
}

std::vector<std::string> again_lines(const Page& page) {
  std::vector<std::string> lines;
  for (std::size_t i = 0; i < reasons_again().size(); ++i)
    lines.push_back(fmt::format("{}  {}", i + 1, reasons_again()[i]));
  const Again& again = page.model.again;
  for (const PartChoice& part : parts_again(page.model)) {
    std::string letter;
    append_utf8(letter, part.letter);
    const bool only = again.parts.count(part.id) != 0;
    lines.push_back(fmt::format("{}  {}{}", letter, only ? "only the " : "", part.name));
  }
  for (const LendLine* lend : lenders(page.model, page.now.kitchen))
    lines.push_back(
        fmt::format("n  {} {} from table {}", again.fresh ? "new, not the" : "borrowed, the", lend->what, lend->table));
  return lines;
}

void draw_over(const Page& page) {
  const CourseLine* course = page.screen.find(page.model.chosen);
  const std::string name = course == nullptr ? std::string() : course->table + " " + course->name;
  std::vector<std::string> lines;
  switch (page.model.over) {
    case Over::help:
      return draw_box(page.grid, page.look, "keys", help_lines(pass_keys()), page.model.page);
    case Over::speech:
      for (std::size_t i = 0; i < speech_minutes().size(); ++i)
        lines.push_back(fmt::format("{}  about {} minutes", i + 1, speech_minutes()[i]));
      return draw_box(page.grid, page.look, name + ": a speech", lines);
    case Over::reasons:
      return draw_box(page.grid, page.look, name + ": again, because", again_lines(page));
    case Over::carry:
      if (course != nullptr) draw_box(page.grid, page.look, name, carry_lines(*course, page.offset()));
      return;
    case Over::nothing:
    case Over::hands:
      return;
  }
}

}  // namespace

Grid draw_pass(const PassModel& model, Times now, Size size, const Look& look) {
  Grid grid(size);
  if (!model.screen) {
    grid.put(0, 1, "THE PASS", Tone::strong);
    const std::string why = !model.link.trouble.empty() ? model.link.trouble
                            : model.link.up             ? "waiting for the tables"
                                                        : link_sentence(model.link, Duration::zero());
    int row = 2;
    for (const std::string& line : wrapped(why, size.columns - 3)) grid.put(row++, 2, line);
    return grid;
  }
  const bool small = size.columns < 72 || size.rows < 16;
  const bool wide = size.columns >= 110;
  const int side = small ? 0 : wide ? 30 : 20;
  const int from = small ? 24 : wide ? 30 : 28;
  const Page page{model, *model.screen, now, look, grid, from, small ? size.columns - 1 : size.columns - side - 2,
                  small};
  draw_header(page);
  const int alert = draw_alert(grid, 1, small ? 2 : 3, page.screen.alerts, page.screen.colour, now.kitchen);
  int row = small ? 1 + alert : 1 + std::max(1, alert);
  const int foot = size.rows - 1;
  if (!small) {
    draw_axis(page, row++);
    draw_side(page, row, foot - 1, page.edge + 2);
  }
  draw_courses(page, row, small ? foot : foot - 1);
  if (!small) draw_rule(grid, look, foot - 1);
  draw_keys(page, foot);
  draw_over(page);
  if (!look.utf8) grid.make_ascii();
  return grid;
}

}  // namespace nappe::client
