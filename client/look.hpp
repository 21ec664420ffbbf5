#pragma once
// The few signs the screens are drawn with, in UTF-8 block characters or plain ASCII.

namespace nappe::client {

/// Letters by what they mean. Two sets: `blocks` for UTF-8 terminals, `plain` for all others.
struct Look {
  bool utf8 = true;
  char32_t ink = U'\u2588';        ///< The body of the big letters and of full bars.
  char32_t ink_soon = U'\u2593';   ///< The same while there is a little time.
  char32_t ink_later = U'\u2592';  ///< The same while there is much time.
  char32_t rule = U'\u2500';       ///< Between the parts of a screen.
  char32_t wall = U'\u2502';
  char32_t dots = U'\u00B7';       ///< Nothing yet; can wait.
  char32_t heavy = U'\u2501';      ///< The pull.
  char32_t thin = U'\u2500';       ///< On its way.
  char32_t head = U'\u25B6';       ///< Where a thread has come to.
  char32_t waiting = U'\u25CB';    ///< A thread not begun.
  char32_t knot = U'\u25C6';       ///< Where a course meets.
  char32_t promised = U'\u25C7';   ///< Where it was promised, when that is another place.
  char32_t bead = U'\u25CF';       ///< A round done.
  char32_t bead_now = U'\u25C9';   ///< The round in hand.
  char32_t bead_open = U'\u25CB';  ///< A round to come.
  char32_t edge = U'\u2502';       ///< The pass; the end of a strip.
  char32_t pointer = U'\u25B8';    ///< The chosen row.
};

inline Look blocks() { return {}; }

inline Look plain() {
  Look look;
  look.utf8 = false;
  look.ink = look.ink_soon = look.ink_later = U'#';
  look.rule = look.thin = U'-';
  look.wall = look.edge = U'|';
  look.dots = U'.';
  look.heavy = U'=';
  look.head = look.pointer = U'>';
  look.waiting = look.bead_open = U'o';
  look.knot = U'*';
  look.promised = U'+';
  look.bead = U'*';
  look.bead_now = U'@';
  return look;
}

}  // namespace nappe::client
