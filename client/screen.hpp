#pragma once
// The terminal. screen.cpp is the only file that knows curses.

#include <memory>
#include <vector>

#include "client/grid.hpp"
#include "client/keys.hpp"
#include "common/result.hpp"

namespace nappe::client {

/// How wide the terminal is that this program prints to; 80 when that is none.
int terminal_columns();

/// The terminal in full-screen use; given back as it was on destruction.
class Screen {
 public:
  /// `unavailable` with one sentence when this terminal cannot show a screen. Sets the locale of the environment.
  static Result<std::unique_ptr<Screen>> open(bool colour);
  ~Screen();
  Screen(const Screen&) = delete;
  Screen& operator=(const Screen&) = delete;

  /// The locale is UTF-8: block characters may be used.
  [[nodiscard]] bool utf8() const { return utf8_; }
  [[nodiscard]] Size size() const;
  /// Takes over the terminal's present size (call after SIGWINCH).
  void resized();
  /// Writes the cells that changed and nothing else, in one update.
  void show(const Grid& grid);
  /// The keys pressed since the last call; never waits.
  std::vector<Key> keys();

 private:
  Screen() = default;
  bool utf8_ = false;
  bool colour_ = false;
  void* terminal_ = nullptr;
  Grid shown_{Size{0, 0}};
};

}  // namespace nappe::client
