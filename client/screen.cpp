#include "client/screen.hpp"

#define NCURSES_WIDECHAR 1
#include <curses.h>
#include <langinfo.h>
#include <sys/ioctl.h>
#include <term.h>
#include <unistd.h>

#include <clocale>
#include <cstdlib>
#include <cstring>
#include <string>

#undef tone  // term.h names its capabilities with macros such as these.
#undef lines
#undef columns

namespace nappe::client {
namespace {

constexpr short warm_pair = 1;

std::string terminal_name() {
  const char* name = std::getenv("TERM");
  return name == nullptr ? "" : name;
}

Error cannot(const std::string& why) {
  return Error{Errc::unavailable, why + "; `nappe status` prints the tables as plain text"};
}

// Solid letters would vanish when reversed.
bool is_solid(char32_t c) { return (c >= 0x2500 && c <= 0x25FF); }

}  // namespace

int terminal_columns() {
  winsize size{};
  return ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0 ? size.ws_col : 80;
}

Result<std::unique_ptr<Screen>> Screen::open(bool colour) {
  std::setlocale(LC_ALL, "");
  if (isatty(STDIN_FILENO) == 0 || isatty(STDOUT_FILENO) == 0) {
    return cannot("this is not a terminal, so there is nothing to draw on");
  }
  if (terminal_name().empty()) return cannot("TERM is not set, so the kind of terminal is unknown");
  int problem = 0;
  if (setupterm(nullptr, STDOUT_FILENO, &problem) != OK) {
    return cannot("nothing is known about the terminal TERM=" + terminal_name());
  }
  const char* move_cursor = tigetstr("cup");
  // tigetstr answers (char*)-1 for something that is no string and null for something the terminal cannot do.
  if (move_cursor == nullptr || reinterpret_cast<std::intptr_t>(move_cursor) == -1) {
    return cannot("a terminal of the kind TERM=" + terminal_name() +
                  " cannot move its cursor, so no screen can be drawn");
  }
  std::unique_ptr<Screen> screen(new Screen);
  SCREEN* terminal = newterm(nullptr, stdout, stdin);
  if (terminal == nullptr) return cannot("the terminal TERM=" + terminal_name() + " cannot be opened");
  screen->terminal_ = terminal;
  screen->utf8_ = std::strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
  cbreak();
  noecho();
  nonl();
  keypad(stdscr, TRUE);
  nodelay(stdscr, TRUE);
  set_escdelay(25);
  curs_set(0);
  if (colour && has_colors()) {
    start_color();
    use_default_colors();
    init_pair(warm_pair, COLORS >= 256 ? short{208} : short{COLOR_YELLOW}, -1);
    screen->colour_ = true;
  }
  screen->resized();
  return screen;
}

Screen::~Screen() {
  if (terminal_ == nullptr) return;
  endwin();
  delscreen(static_cast<SCREEN*>(terminal_));
}

Size Screen::size() const {
  int rows = 0, columns = 0;
  getmaxyx(stdscr, rows, columns);
  return {rows, columns};
}

void Screen::resized() {
  winsize now{};
  if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &now) == 0 && now.ws_row > 0 && now.ws_col > 0) {
    resizeterm(now.ws_row, now.ws_col);
  }
  shown_ = Grid(Size{0, 0});
  clearok(curscr, TRUE);
}

void Screen::show(const Grid& grid) {
  if (grid == shown_) return;
  const bool all = !(grid.size() == shown_.size());
  if (all) erase();
  for (int row = 0; row < grid.size().rows; ++row) {
    for (int column = 0; column < grid.size().columns; ++column) {
      const Cell& cell = grid.at(row, column);
      if (cell.letter == 0 || (!all && cell == shown_.at(row, column))) continue;
      attr_t look = A_NORMAL;
      short pair = 0;
      switch (cell.tone) {
        case Tone::normal:
          break;
        case Tone::dim:
          look = A_DIM;
          break;
        case Tone::strong:
          look = A_BOLD;
          break;
        case Tone::reverse:
          look = A_REVERSE;
          break;
        case Tone::colour:
          look = A_BOLD;
          if (colour_) pair = warm_pair;
          if (!colour_ && !is_solid(cell.letter)) look |= A_REVERSE;
          break;
      }
      const wchar_t text[] = {static_cast<wchar_t>(utf8_ ? cell.letter : to_ascii(cell.letter)), L'\0'};
      cchar_t out{};
      setcchar(&out, text, look, pair, nullptr);
      mvadd_wch(row, column, &out);
    }
  }
  shown_ = grid;
  wnoutrefresh(stdscr);
  doupdate();
}

std::vector<Key> Screen::keys() {
  std::vector<Key> out;
  for (wint_t code = 0;;) {
    const int kind = get_wch(&code);
    if (kind == ERR) return out;
    if (kind == OK) {
      if (code == L'\r' || code == L'\n') {
        out.push_back(key(Special::enter));
      } else if (code == 27) {
        out.push_back(key(Special::escape));
      } else if (code == 3) {
        out.push_back(key(Special::interrupt));
      } else {
        out.push_back(key(static_cast<char32_t>(code)));
      }
      continue;
    }
    switch (code) {
      case KEY_UP:
        out.push_back(key(Special::up));
        break;
      case KEY_DOWN:
        out.push_back(key(Special::down));
        break;
      case KEY_LEFT:
        out.push_back(key(Special::left));
        break;
      case KEY_RIGHT:
        out.push_back(key(Special::right));
        break;
      case KEY_BACKSPACE:
        out.push_back(key(U'\b'));
        break;
      case KEY_ENTER:
        out.push_back(key(Special::enter));
        break;
      case KEY_F(1):
        out.push_back(key(Special::f1));
        break;
      case KEY_RESIZE:
        shown_ = Grid(Size{0, 0});
        break;
      default:
        break;
    }
  }
}

}  // namespace nappe::client
