#include "client/prep_screen.hpp"

#include <unistd.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/signal_set.hpp>
#include <csignal>

#include "client/screen.hpp"

namespace nappe::client {
namespace {

namespace asio = boost::asio;
using Failure = boost::system::error_code;

class Shown {
 public:
  Shown(PrepModel& model, CrossingsFile& file, Screen& screen)
      : model_(model),
        file_(file),
        screen_(screen),
        look_(screen.utf8() ? blocks() : plain()),
        keys_(io_, ::dup(STDIN_FILENO)),
        signals_(io_, SIGWINCH, SIGINT, SIGTERM) {
    signals_.add(SIGHUP);
  }

  void run() {
    draw();
    wait_for_keys();
    wait_for_signals();
    io_.run();
  }

 private:
  void press(Key key) {
    if (!client::press(model_, key)) return;
    file_.crossings = model_.crossings;
    if (const Status kept = file_.save(); !kept) model_.notice = kept.error().detail;
  }

  void wait_for_keys() {
    keys_.async_wait(asio::posix::stream_descriptor::wait_read, [this](Failure error) {
      if (error) return io_.stop();  // The terminal is gone.
      const auto pressed = screen_.keys();
      // Readable without a key: the terminal hung up.
      if (pressed.empty() && ++empty_reads_ > 50) return io_.stop();
      if (!pressed.empty()) empty_reads_ = 0;
      for (const Key& key : pressed) press(key);
      if (model_.quit) return io_.stop();
      draw();
      wait_for_keys();
    });
  }

  void wait_for_signals() {
    signals_.async_wait([this](Failure error, int signal) {
      if (error || signal != SIGWINCH) return io_.stop();
      screen_.resized();
      draw();
      wait_for_signals();
    });
  }

  void draw() { screen_.show(draw_prep(model_, screen_.size(), look_)); }

  PrepModel& model_;
  CrossingsFile& file_;
  Screen& screen_;
  Look look_;
  asio::io_context io_{1};
  asio::posix::stream_descriptor keys_;
  asio::signal_set signals_;
  int empty_reads_ = 0;
};

}  // namespace

Status show_prep(PrepModel model, CrossingsFile& file, bool colour) {
  auto screen = Screen::open(colour);
  if (!screen) return screen.error();
  model.crossings = file.crossings;
  Shown shown(model, file, *screen.value());
  shown.run();
  return Done{};
}

}  // namespace nappe::client
