#include "client/live.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/thread_pool.hpp>
#include <chrono>
#include <csignal>
#include <random>

#include "client/connection.hpp"
#include "client/draw.hpp"
#include "client/floor.hpp"
#include "client/http.hpp"
#include "client/kept_file.hpp"
#include "client/screen.hpp"
#include "client/session.hpp"
#include "common/kitchen/load.hpp"

namespace nappe::client {
namespace {

namespace asio = boost::asio;
using Failure = boost::system::error_code;

constexpr std::chrono::milliseconds draw_every{100};
// A line is asked about when nobody has typed for so long.
constexpr double draft_ms = 400;
// Eight exchanges quickly, so that the first second is already true; then now and then.
constexpr int quick_exchanges = 8;
constexpr double quick_ms = 200;
constexpr double slow_ms = 2000;

double steady_ms() {
  const auto since = std::chrono::steady_clock::now().time_since_epoch();
  return std::chrono::duration<double, std::milli>(since).count();
}

// What the two screens differ in.
class Shown {
 public:
  virtual ~Shown() = default;
  virtual std::string screen() const = 0;
  virtual std::string device() const = 0;
  virtual void document(const nlohmann::json& document) = 0;
  virtual std::vector<Ask> press(Key key, Times now) = 0;
  virtual void answered(const Ask& ask, const std::string& problem, bool may_insist, Times now) = 0;
  virtual void passed(Times now) = 0;
  virtual Link& link() = 0;
  virtual void say(const std::string& sentence, Times now) = 0;
  virtual bool quit() const = 0;
  virtual Grid draw(Times now, Size size, const Look& look) const = 0;
  /// A line about which the server should be asked what sending it would mean; empty: none.
  virtual std::string draft_wanted() const { return {}; }
  virtual void drafted(const std::string&, int, const std::string&) {}
};

template <class Model, class Document, Document (*read)(const nlohmann::json&),
          Grid (*paint)(const Model&, Times, Size, const Look&)>
class ShownAs : public Shown {
 public:
  ShownAs(Model model, std::string screen, std::string device)
      : model_(std::move(model)), screen_(std::move(screen)), device_(std::move(device)) {}
  std::string screen() const override { return screen_; }
  std::string device() const override { return device_; }
  void document(const nlohmann::json& document) override { received(model_, read(document)); }
  std::vector<Ask> press(Key key, Times now) override { return client::press(model_, key, now); }
  void answered(const Ask& ask, const std::string& problem, bool may_insist, Times now) override {
    client::answered(model_, ask, problem, may_insist, now);
  }
  void passed(Times now) override { client::passed(model_, now); }
  Link& link() override { return model_.link; }
  void say(const std::string& sentence, Times now) override { model_.notice = {sentence, now.steady_ms + 10000, true}; }
  bool quit() const override { return model_.quit; }
  Grid draw(Times now, Size size, const Look& look) const override { return paint(model_, now, size, look); }

 protected:
  Model model_;

 private:
  std::string screen_;
  std::string device_;
};

using ShownStation = ShownAs<StationModel, StationScreen, read_station, draw_station>;
using ShownPass = ShownAs<PassModel, PassScreen, read_pass, draw_pass>;

class ShownFloor : public ShownAs<FloorModel, FloorScreen, read_floor, draw_floor> {
 public:
  using ShownAs::ShownAs;
  std::string draft_wanted() const override {
    const bool known = model_.draft && model_.draft->line == model_.line;
    return known || !model_.link.up || !read_line(model_).whole ? std::string() : model_.line;
  }
  void drafted(const std::string& line, int status, const std::string& body) override {
    const Duration offset = model_.screen ? model_.screen->service.utc_offset : Duration::zero();
    model_.draft = read_draft(line, status, body, offset);
  }
};

class Live {
 public:
  Live(Shown& shown, Screen& screen, KeptFile file, const LiveOptions& options)
      : shown_(shown),
        screen_(screen),
        file_(std::move(file)),
        server_(options.server),
        by_(options.by.empty() ? shown.device() : options.by),
        look_(screen.utf8() ? blocks() : plain()),
        session_(shown.device(), {shown.screen()}, hears()),
        keys_(io_, ::dup(STDIN_FILENO)),
        signals_(io_, SIGWINCH, SIGINT, SIGTERM),
        timer_(io_),
        connection_(io_, options.server, connection_hears()) {
    signals_.add(SIGHUP);
    session_.restore(Outbox::load(file_.read()));
    std::random_device random;
    id_stem_ = fmt::format("{:08x}{:08x}", random(), random());
  }

  /// Until the person quits (true) or the server does not let this device in.
  bool run() {
    wait_for_keys();
    wait_for_signals();
    connection_.start();
    tick();
    io_.run();
    return !turned_away_;
  }

 private:
  Times now() const {
    const double steady = steady_ms();
    return {session_.clock().now(steady).value_or(Instant{}), static_cast<std::int64_t>(steady)};
  }

  Session::Hears hears() {
    return {[this](const std::string& screen) {
              shown_.document(session_.screen(screen)->document);
              shown_.link().trouble.clear();
              dirty_ = true;
            },
            [this](const Kept& kept, const std::string& problem, const std::string& code) {
              shown_.answered(kept.ask, problem, code == "refused" || code == "conflict", now());
              dirty_ = true;
            },
            [this](const std::string& problem) {
              shown_.link().trouble = problem;
              dirty_ = true;
            },
            [this] { save(); }};
  }

  Connection::Hears connection_hears() {
    return {[this] {
              exchanges_ = 0;
              connection_.send(session_.opened(steady_ms()));
              link_changed();
            },
            [this](const std::string& frame) {
              connection_.send(session_.received(frame, steady_ms()));
              if (dirty_) draw();
            },
            [this](const std::string&) {
              session_.closed(steady_ms());
              link_changed();
            },
            [this](const std::string&) { link_changed(); },
            [this] {
              turned_away_ = true;
              stop();
            }};
  }

  void link_changed() {
    Link& link = shown_.link();
    link.up = session_.up();
    link.ever = session_.ever_up();
    link.alone_since = session_.alone_since();
    link.kept = session_.outbox().kept().size();
    dirty_ = true;
  }

  void save() {
    if (const Status saved = file_.write(session_.outbox().save()); !saved) shown_.say(saved.error().detail, now());
    link_changed();
  }

  // On a thread of its own, so that no key waits for the server.
  void ask_draft() {
    const std::string line = shown_.draft_wanted();
    if (line.empty() || drafting_ || steady_ms() - typed_ms_ < draft_ms) return;
    drafting_ = true;
    asio::post(asking_, [this, line, work = asio::make_work_guard(io_)] {
      const auto answer = http_ask(server_, "POST", "/draft", line, {{"Content-Type", "text/plain; charset=utf-8"}},
                                   std::chrono::seconds(3));
      asio::post(io_, [this, line, answer] {
        drafting_ = false;
        if (answer) shown_.drafted(line, answer->status, answer->body);
        dirty_ = true;
      });
    });
  }

  void press(Key key) {
    typed_ms_ = steady_ms();
    for (Ask& ask : shown_.press(key, now())) {
      const Instant at = ask.at.value_or(now().kitchen);
      Kept kept{fmt::format("{}-{}", id_stem_, ++ids_made_), by_, to_ms(at), std::move(ask), false};
      auto frames = session_.press(std::move(kept));
      if (!frames) {
        shown_.say(frames.error().detail, now());
        continue;
      }
      connection_.send(std::move(frames).value());
    }
    dirty_ = true;
    if (shown_.quit()) stop();
  }

  void stop() {
    stopped_ = true;
    io_.stop();
  }

  void wait_for_keys() {
    keys_.async_wait(asio::posix::stream_descriptor::wait_read, [this](Failure error) {
      if (error) return stop();  // The terminal is gone.
      const auto pressed = screen_.keys();
      // Readable without a key: the terminal hung up.
      if (pressed.empty() && ++empty_reads_ > 50) return stop();
      if (!pressed.empty()) empty_reads_ = 0;
      for (const Key& key : pressed) press(key);
      draw();
      if (!stopped_) wait_for_keys();
    });
  }

  void wait_for_signals() {
    signals_.async_wait([this](Failure error, int signal) {
      if (error || signal != SIGWINCH) return stop();
      screen_.resized();
      dirty_ = true;
      draw();
      wait_for_signals();
    });
  }

  // Ten times a second, and exactly when the kitchen's clock turns.
  void tick() {
    const double steady = steady_ms();
    if (session_.up() && steady >= next_exchange_ms_) {
      ++exchanges_;
      next_exchange_ms_ = steady + (exchanges_ < quick_exchanges ? quick_ms : slow_ms);
      connection_.send(session_.tick(steady));
    }
    ask_draft();
    draw();
    const auto turn =
        std::chrono::milliseconds(static_cast<std::int64_t>(session_.clock().until_next_second(steady)) + 1);
    timer_.expires_after(std::min(draw_every, turn));
    timer_.async_wait([this](Failure error) {
      if (!error && !stopped_) tick();
    });
  }

  void draw() {
    dirty_ = false;
    const Times at = now();
    shown_.passed(at);
    screen_.show(shown_.draw(at, screen_.size(), look_));
  }

  Shown& shown_;
  Screen& screen_;
  KeptFile file_;
  Address server_;
  std::string by_;
  Look look_;
  asio::io_context io_{1};
  Session session_;
  asio::posix::stream_descriptor keys_;
  asio::signal_set signals_;
  asio::steady_timer timer_;
  Connection connection_;
  std::string id_stem_;
  unsigned ids_made_ = 0;
  int exchanges_ = 0;
  int empty_reads_ = 0;
  double next_exchange_ms_ = 0;
  bool dirty_ = true;
  bool stopped_ = false;
  bool turned_away_ = false;
  bool drafting_ = false;
  double typed_ms_ = 0;
  asio::thread_pool asking_{1};  // Last: joined before the rest goes.
};

Status show(Shown& shown, const LiveOptions& options) {
  auto screen = Screen::open(options.colour);
  if (!screen) return screen.error();
  auto file = KeptFile::open(state_folder(), address_text(options.server) + "_" + shown.screen());
  if (!file) {
    screen.value().reset();  // Give the terminal back before the sentence is printed.
    return file.error();
  }
  Live live(shown, *screen.value(), std::move(file).value(), options);
  if (!live.run()) return Error{Errc::forbidden, "the server does not know this screen: pair it"};
  return Done{};
}

}  // namespace

Status show_station(const std::string& station, const LiveOptions& options) {
  StationModel model;
  model.station = station;
  model.by = options.by;
  ShownStation shown(std::move(model), "station:" + station, station + " screen");
  return show(shown, options);
}

Status show_pass(const LiveOptions& options) {
  PassModel model;
  model.by = options.by;
  ShownPass shown(std::move(model), "pass", "pass screen");
  return show(shown, options);
}

Status show_floor(const LiveOptions& options) {
  const auto answer = http_ask(options.server, "GET", "/kitchen");
  if (!answer) return answer.error();
  if (answer->status == 401) return Error{Errc::forbidden, problem_sentence(*answer)};
  if (answer->status != 200) return Error{Errc::unavailable, problem_sentence(*answer)};
  auto kitchen = kitchen::from_document(answer->body);
  if (!kitchen)
    return Error{Errc::unavailable, "the server's card cannot be read: is this nappe as new as the server?"};
  FloorModel model;
  model.kitchen = std::make_shared<const kitchen::Kitchen>(std::move(*kitchen.value));
  ShownFloor shown(std::move(model), "floor", "floor screen");
  return show(shown, options);
}

}  // namespace nappe::client
