#include "server/display.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/thread_pool.hpp>
#include <boost/system/error_code.hpp>
#include <nlohmann/json.hpp>

#include "common/line/quiet.hpp"
#include "common/wire/screens.hpp"
#include "server/guarded.hpp"
#include "server/log.hpp"
#include "server/metrics.hpp"

namespace nappe::server {

namespace asio = boost::asio;
using SteadyClock = std::chrono::steady_clock;
using StatePtr = std::shared_ptr<const line::State>;

namespace {

double seconds_since(Steady begun) { return std::chrono::duration<double>(SteadyClock::now() - begun).count(); }

}  // namespace

struct Display::Impl {
  Impl(asio::io_context& io, DisplayParts with, DisplayLimits bounds)
      : context(io), parts(std::move(with)), limits(bounds), patience(io), timer(io) {}

  asio::io_context& context;
  DisplayParts parts;
  DisplayLimits limits;

  struct Reader {
    std::int64_t number;
    std::function<void()> shown;
  };

  StatePtr latest;   ///< The state to show.
  StatePtr planned;  ///< The state that `plan` was made for.
  plan::Plan plan;   ///< Read by the planner's thread while `planning`: replaced only when that has ended.
  bool planning = false;
  bool dirty = false;      ///< `latest` has not been shown.
  bool impatient = false;  ///< `patience` is running.
  bool stopped = false;
  std::int64_t latest_number = 0;     ///< Changes in `latest` ...
  std::int64_t shown_number = 0;      ///< ... and in what the screens show.
  std::vector<Reader> readers;        ///< Wait for what has not been shown.
  std::optional<Instant> changes_at;  ///< When time alone changes a screen.
  asio::steady_timer patience;
  asio::steady_timer timer;
  asio::thread_pool thinker{1};  ///< Last: joined before the rest goes.

  [[nodiscard]] Instant now() const { return std::max(parts.clock().at(SteadyClock::now()), latest->now); }
  Result<plan::Plan> make(const StatePtr& state, Instant at, const plan::Plan* before);
  void think();
  void on_planned(const StatePtr& state, Result<plan::Plan> made);
  void be_patient();
  void show();
  void call_readers();
  void set_timer();
};

Result<plan::Plan> Display::Impl::make(const StatePtr& state, Instant at, const plan::Plan* before) {
  return guarded("plan", [&] {
    const line::Assumed assumed = line::assume(*state, at);
    return parts.make_plan(assumed.over(*state), at, before);
  });
}

void Display::Impl::think() {
  planning = true;
  asio::post(thinker, [this, state = latest, at = now(), work = asio::make_work_guard(context)] {
    const Steady begun = SteadyClock::now();
    auto made = make(state, at, &plan);
    const double seconds = seconds_since(begun);
    asio::post(context, [this, state, made = std::move(made), seconds]() mutable {
      parts.metrics.planned(seconds);
      on_planned(state, std::move(made));
    });
  });
}

void Display::Impl::on_planned(const StatePtr& state, Result<plan::Plan> made) {
  planning = false;
  if (stopped) return;
  if (made) {  // else the screens go on with the old one
    plan = std::move(made).value();
    planned = state;
  }
  show();
  if (state != latest) think();
}

/// Shows without the new plan if that takes longer than it may.
void Display::Impl::be_patient() {
  if (impatient) return;
  impatient = true;
  patience.expires_after(limits.plan_patience);
  patience.async_wait([this](const boost::system::error_code& error) {
    impatient = false;
    if (!error && !stopped && dirty) show();
  });
}

void Display::Impl::show() {
  dirty = false;
  patience.cancel();
  const Steady begun = SteadyClock::now();
  auto screens = guarded("screens", [&] {
    const Instant at = now();
    const line::Assumed assumed = line::assume(*latest, at);
    const line::State& state = assumed.over(*latest);
    const bool fits = planned == latest && !assumed.state;
    wire::Screens built = wire::build_screens(state, fits ? plan : carry_over(plan, state), at);
    for (const auto& [station, since] : assumed.quiet)
      if (const auto found = built.documents.find("station:" + station); found != built.documents.end())
        found->second["quiet_since_ms"] = to_ms(since);
    if (assumed.changes_at)
      built.changes_at = std::min(built.changes_at.value_or(*assumed.changes_at), *assumed.changes_at);
    return built;
  });
  if (screens) {
    std::vector<std::string> names;
    for (const auto& [screen, document] : screens->documents) names.push_back(screen);
    parts.keep_only(names);
    std::size_t changed = 0;
    for (auto& [screen, document] : screens->documents) {
      const auto done = parts.show(screen, std::move(document));
      if (!done) log_error(fmt::format("screen not shown screen={} reason=\"{}\"", screen, done.error().detail));
      if (done && *done) changed += 1;
    }
    changes_at = screens->changes_at;
    parts.metrics.screens_built(seconds_since(begun), changed);
  }
  shown_number = latest_number;  // also when they could not be built: no read would get more by waiting
  call_readers();
  set_timer();
}

void Display::Impl::call_readers() {
  const auto ready = std::stable_partition(readers.begin(), readers.end(),
                                           [this](const Reader& reader) { return reader.number > shown_number; });
  std::vector<Reader> called(std::make_move_iterator(ready), std::make_move_iterator(readers.end()));
  readers.erase(ready, readers.end());
  for (const Reader& reader : called) reader.shown();
}

/// Sleeps until a screen changes by time alone, or the forecasts have aged.
void Display::Impl::set_timer() {
  const KitchenClock clock = parts.clock();
  const Steady begun = SteadyClock::now();
  // In a fast demo forecasts age fast, but never more than four times a second.
  const auto aged = std::chrono::milliseconds(
      static_cast<std::int64_t>(static_cast<double>(limits.refresh_every.count()) / std::max(1.0, clock.rate())));
  Steady wake = begun + std::max(aged, std::chrono::milliseconds(250));
  // Never at once again: an instant that changes nothing must not turn the timer into a busy loop.
  if (changes_at) wake = std::min(wake, std::max(clock.when(*changes_at), begun + std::chrono::milliseconds(20)));
  timer.expires_at(wake);
  timer.async_wait([this](const boost::system::error_code& error) {
    if (error || stopped) return;
    dirty = true;
    if (!planning) think();
    be_patient();
  });
}

Display::Display(asio::io_context& context, DisplayParts parts, DisplayLimits limits)
    : impl_(std::make_unique<Impl>(context, std::move(parts), limits)) {}

Display::~Display() { impl_->thinker.join(); }

void Display::changed(const line::State& state, std::int64_t number) {
  const bool first = impl_->latest == nullptr;
  impl_->latest_number = number;
  impl_->latest = std::make_shared<const line::State>(state);
  impl_->dirty = true;
  if (first) {
    auto made = impl_->make(impl_->latest, impl_->now(), nullptr);
    return impl_->on_planned(impl_->latest, std::move(made));
  }
  if (!impl_->planning) impl_->think();
  impl_->be_patient();
}

void Display::when_shown(std::int64_t number, std::function<void()> shown) {
  if (impl_->stopped || number <= impl_->shown_number) return shown();
  impl_->readers.push_back({number, std::move(shown)});
}

const plan::Plan& Display::plan() const { return impl_->plan; }

void Display::stop() {
  impl_->stopped = true;
  impl_->patience.cancel();
  impl_->timer.cancel();
  for (const Impl::Reader& reader : std::exchange(impl_->readers, {})) reader.shown();
}

plan::Plan carry_over(plan::Plan plan, const line::State& state) {
  for (auto at = plan.pans.begin(); at != plan.pans.end();) {
    const line::Pan* pan = state.find_pan(at->first);
    auto& slots = at->second.slots;
    if (pan != nullptr) {
      const auto here = std::find_if(slots.begin(), slots.end(), [&](const plan::Slot& slot) {
        return slot.step == pan->place.step && slot.round == pan->place.round;
      });
      slots.erase(slots.begin(), pan->finished ? slots.end() : here);
    }
    if (pan == nullptr || slots.empty()) {
      at = plan.pans.erase(at);
      continue;
    }
    slots.front().running = pan->running() != nullptr;
    ++at;
  }
  return plan;
}

}  // namespace nappe::server
