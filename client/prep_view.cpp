#include "client/prep_view.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "client/draw.hpp"

namespace nappe::client {
namespace {

constexpr int header_rows = 2;
constexpr int footer_rows = 5;  // a rule, three rows about the chosen line, the keys

// Stations in the order in which the list names them first.
std::vector<std::string> stations_of(const PrepModel& model) {
  std::vector<std::string> out;
  for (const mise::Part& part : model.parts)
    for (const mise::Line& line : part.lines)
      if (std::find(out.begin(), out.end(), line.station) == out.end()) out.push_back(line.station);
  return out;
}

void next_station(PrepModel& model) {
  const auto stations = stations_of(model);
  const auto here = std::find(stations.begin(), stations.end(), model.only);
  if (model.only.empty()) {
    model.only = stations.empty() ? "" : stations.front();
  } else {
    model.only = here == stations.end() || here + 1 == stations.end() ? "" : *(here + 1);
  }
  // Where this station's work goes on.
  const auto lines = shown_lines(model);
  const auto open = std::find_if(lines.begin(), lines.end(),
                                 [&](const ShownLine& one) { return !model.crossings.crossed(one.line->id); });
  model.chosen = open == lines.end() ? 0 : static_cast<std::size_t>(open - lines.begin());
}

// Crosses the chosen line out and goes on to the next one that is not.
bool cross(PrepModel& model) {
  const auto lines = shown_lines(model);
  if (model.chosen >= lines.size()) return false;
  const std::string& id = lines[model.chosen].line->id;
  model.crossings.toggle(id);
  if (!model.crossings.crossed(id)) return true;
  for (std::size_t i = model.chosen + 1; i < lines.size(); ++i) {
    if (model.crossings.crossed(lines[i].line->id)) continue;
    model.chosen = i;
    break;
  }
  return true;
}

bool take_back(PrepModel& model) {
  const std::string id = model.crossings.undo();
  if (id.empty()) {
    model.notice = "nothing was crossed out";
    return false;
  }
  model.notice = "taken back: " + id;
  auto lines = shown_lines(model);
  const auto find = [&] {
    return std::find_if(lines.begin(), lines.end(), [&](const ShownLine& one) { return one.line->id == id; });
  };
  if (find() == lines.end() && !model.only.empty()) {
    model.only.clear();  // the line is another station's: show it
    lines = shown_lines(model);
  }
  if (const auto found = find(); found != lines.end()) {
    model.chosen = static_cast<std::size_t>(found - lines.begin());
    model.notice = "taken back: " + found->line->text;
  }
  return true;
}

// What is drawn in the middle: headings and lines, and where the chosen one stands among them.
struct Row {
  const mise::Part* heading = nullptr;
  const mise::Line* line = nullptr;
};

std::vector<Row> rows_of(const PrepModel& model, std::size_t& chosen_row) {
  std::vector<Row> out;
  const mise::Part* part = nullptr;
  const auto lines = shown_lines(model);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (lines[i].part != part) {
      part = lines[i].part;
      out.push_back({part, nullptr});
    }
    if (i == model.chosen) chosen_row = out.size();
    out.push_back({nullptr, lines[i].line});
  }
  return out;
}

void draw_header(Grid& grid, const PrepModel& model) {
  const auto lines = shown_lines(model);
  const auto done = std::count_if(lines.begin(), lines.end(),
                                  [&](const ShownLine& one) { return model.crossings.crossed(one.line->id); });
  const std::string count = fmt::format("{} of {} done", done, lines.size());
  grid.put(0, 1, model.title, Tone::strong, grid.size().columns - columns_of(count) - 4);
  grid.put_right(0, grid.size().columns - 1, count, Tone::normal);
  std::string below = model.only.empty() ? "all stations" : "only " + model.only;
  if (model.chosen < lines.size()) below = lines[model.chosen].part->heading + "; " + below;
  if (!model.remarks.empty())
    below += fmt::format("; {} {}: r", model.remarks.size(), model.remarks.size() == 1 ? "remark" : "remarks");
  grid.put(1, 1, below, Tone::dim, grid.size().columns - 2);
}

void draw_line(Grid& grid, const PrepModel& model, const Look& look, int row, const mise::Line& line, bool chosen) {
  const bool crossed = model.crossings.crossed(line.id);
  const Tone tone = crossed ? Tone::dim : chosen ? Tone::strong : Tone::normal;
  if (chosen) grid.set(row, 0, {look.pointer, Tone::strong});
  int column = grid.put(row, 1, crossed ? "[x] " : "[ ] ", tone);
  grid.put(row, column, line.when, tone);
  if (!line.when.empty()) column += 6;
  if (model.only.empty()) {
    grid.put(row, column, line.station, Tone::dim, 8);
    column += 9;
  }
  grid.put(row, column, line.text, tone, grid.size().columns - column - 1);
}

void draw_footer(Grid& grid, const PrepModel& model, const Look& look) {
  const Size size = grid.size();
  const int top = size.rows - footer_rows;
  draw_rule(grid, look, top);
  const auto lines = shown_lines(model);
  std::string about = model.notice;
  if (about.empty() && model.chosen < lines.size()) {
    const mise::Line& line = *lines[model.chosen].line;
    about = line.small.empty() ? line.text : line.text + ": " + line.small;
  }
  const auto rows = wrapped(about, size.columns - 2);
  for (int i = 0; i < 3 && i < static_cast<int>(rows.size()); ++i)
    grid.put(top + 1 + i, 1, rows[static_cast<std::size_t>(i)], model.notice.empty() ? Tone::normal : Tone::strong);
  grid.put(size.rows - 1, 1, "space cross out   u take back   s one station   h help   q quit", Tone::dim,
           size.columns - 2);
}

}  // namespace

const std::vector<Binding>& prep_keys() {
  static const std::vector<Binding> table{
      {key(U' '), Act::done, "space", "cross the line out, or rub its cross out"},
      {key(Special::enter), Act::done, "enter", "the same as space"},
      {key(Special::down), Act::choose_down, "down, up", "another line"},
      {key(Special::up), Act::choose_up, "", ""},
      {key(U'j'), Act::choose_down, "", ""},
      {key(U'k'), Act::choose_up, "", ""},
      {key(U'u'), Act::bring_back, "u", "take the last crossing back"},
      {key(U's'), Act::hands, "s", "one station's lines, the next one's, all"},
      {key(U'r'), Act::answer, "r", "what did not fit"},
      {key(Special::escape), Act::back, "esc", "back"},
      {key(U'h'), Act::help, "h", "this help"},
      {key(U'?'), Act::help, "", ""},
      {key(Special::f1), Act::help, "", ""},
      {key(U'q'), Act::quit, "q", "quit; what is crossed out is kept"},
      {key(Special::interrupt), Act::quit, "", ""},
  };
  return table;
}

std::vector<ShownLine> shown_lines(const PrepModel& model) {
  std::vector<ShownLine> out;
  for (const mise::Part& part : model.parts)
    for (const mise::Line& line : part.lines)
      if (model.only.empty() || line.station == model.only) out.push_back({&part, &line});
  return out;
}

bool press(PrepModel& model, Key pressed) {
  const Act act = act_of(prep_keys(), pressed);
  const bool box = model.help || model.show_remarks;
  model.notice.clear();
  const std::size_t count = shown_lines(model).size();
  switch (act) {
    case Act::quit:
      model.quit = true;
      return false;
    case Act::help:
      model.help = !model.help;
      model.show_remarks = false;
      return false;
    case Act::answer:
      model.show_remarks = !model.show_remarks;
      model.help = false;
      return false;
    case Act::back:
      model.help = model.show_remarks = false;
      return false;
    default:
      break;
  }
  if (box) return false;  // nothing is pressed that is not seen
  switch (act) {
    case Act::done:
      return cross(model);
    case Act::bring_back:
      return take_back(model);
    case Act::hands:
      next_station(model);
      return false;
    case Act::choose_down:
      if (model.chosen + 1 < count) ++model.chosen;
      return false;
    case Act::choose_up:
      if (model.chosen > 0) --model.chosen;
      return false;
    default:
      return false;
  }
}

Grid draw_prep(const PrepModel& model, Size size, const Look& look) {
  Grid grid(size);
  draw_header(grid, model);
  std::size_t chosen_row = 0;
  const auto rows = rows_of(model, chosen_row);
  const int room = std::max(1, size.rows - header_rows - footer_rows);
  // The chosen line a third down, so that what comes next is seen.
  const int last_first = std::max(0, static_cast<int>(rows.size()) - room);
  const int first = std::clamp(static_cast<int>(chosen_row) - room / 3, 0, last_first);
  for (int i = 0; i < room && first + i < static_cast<int>(rows.size()); ++i) {
    const Row& row = rows[static_cast<std::size_t>(first + i)];
    if (row.heading != nullptr) {
      draw_rule(grid, look, header_rows + i, row.heading->heading);
    } else {
      draw_line(grid, model, look, header_rows + i, *row.line, static_cast<std::size_t>(first + i) == chosen_row);
    }
  }
  draw_footer(grid, model, look);
  if (!look.utf8) grid.make_ascii();
  if (model.help) draw_box(grid, look, "keys", help_lines(prep_keys()));
  if (model.show_remarks) {
    std::vector<std::string> lines;
    for (const std::string& remark : model.remarks)
      for (const std::string& line : wrapped(remark, size.columns - 8)) lines.push_back(line);
    if (lines.empty()) lines.push_back("everything fits");
    draw_box(grid, look, "what did not fit", lines);
  }
  return grid;
}

}  // namespace nappe::client
