#include "server/engine.hpp"

#include <fmt/format.h>

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/thread_pool.hpp>
#include <deque>
#include <map>

#include "common/line/line.hpp"
#include "common/wire/codec.hpp"
#include "server/guarded.hpp"
#include "server/journal.hpp"
#include "server/log.hpp"
#include "server/metrics.hpp"
#include "server/replay.hpp"

namespace nappe::server {

namespace asio = boost::asio;
using SteadyClock = std::chrono::steady_clock;

namespace {

double seconds_since(Steady begun) { return std::chrono::duration<double>(SteadyClock::now() - begun).count(); }

/// What a command that is remembered is told when it comes again.
Answer answer_of(const JournalCommand& known, const std::string& digest) {
  Answer answer;
  if (known.digest != digest) {
    answer.reused = true;
    answer.error = {Errc::invalid,
                    fmt::format("the id \"{}\" belongs to another command; give each its own", known.id)};
  } else if (auto stored = read_answer(known.answer); stored) {
    answer = std::move(stored).value();
  } else {
    answer.error = stored.error();
  }
  answer.repeated = true;
  return answer;
}

struct Waiting {
  line::Command command;
  std::string digest;
  Engine::Reply reply;
  Engine::Permit permit;
};

struct Owed {
  Engine::Reply reply;
  Answer answer;
};

}  // namespace

struct Engine::Impl {
  Impl(asio::io_context& io, EngineParts with, KitchenClock face, EngineLimits bounds)
      : context(io), parts(std::move(with)), clock(face), limits(bounds), timer(io) {}

  // Constant after construction.
  asio::io_context& context;
  EngineParts parts;
  // The kitchen.
  KitchenClock clock;
  EngineLimits limits;
  line::State state;
  std::int64_t last = 0;          ///< Number of the last event applied to `state`.
  std::int64_t changes = 0;       ///< Of state and clock, since the start.
  std::int64_t acknowledged = 0;  ///< Those of them that are durable.
  // What is asked and owed.
  std::deque<Waiting> waiting;
  std::vector<Owed> owed;                       ///< Answers of the group in flight.
  std::map<std::string, std::size_t> in_group;  ///< Command id -> its place in `group.commands`.
  JournalGroup group;
  std::deque<std::function<void(bool)>> readers;
  // How it stands.
  bool in_flight = false;
  bool stopping = false;
  bool dirty = false;  ///< The state has changed since the screens were shown.
  std::optional<Error> failed;
  std::function<void()> stopped;
  Steady committing{};
  Steady show_again{};  ///< While commands wait, not before this.
  asio::steady_timer timer;
  asio::thread_pool disk{1};  ///< The one thread that waits for the disk. Last: joined before the rest goes.

  [[nodiscard]] Instant kitchen_now() const { return std::max(clock.at(SteadyClock::now()), state.now); }

  void run_group();
  void add_elapsed(Instant now);
  void take(Waiting asked, Instant now);
  Status prepare_record(line::Action& action, Instant now);
  bool answer_again(const Waiting& asked);
  void decide(Waiting asked, Instant now);
  bool apply_all(const std::vector<line::Event>& events, const std::string& command_id);
  void commit();
  void on_committed(const Status& written);
  void refuse(const Reply& reply, const Error& error);
  void fail(Error error);
  void show();
  void set_timer();
  void finish_stop();
};

// --- groups ---

void Engine::Impl::run_group() {
  if (in_flight || failed) return;
  const Instant now = kitchen_now();
  group = JournalGroup{last + 1, {}, {}};
  in_group.clear();
  owed.clear();
  if (!stopping) add_elapsed(now);
  for (std::size_t taken = 0; taken < limits.group_max && !waiting.empty() && !failed; ++taken) {
    Waiting asked = std::move(waiting.front());
    waiting.pop_front();
    take(std::move(asked), now);
  }
  if (failed) return;
  if (!group.events.empty() || !group.commands.empty()) return commit();
  for (const Owed& due : owed) due.reply(due.answer);
  owed.clear();
  if (dirty && !stopping) show();
  set_timer();
  finish_stop();
}

void Engine::Impl::add_elapsed(Instant now) {
  const auto due = line::next_deadline(state);
  if (!due || *due > now) return;
  const auto events = guarded("elapse", [&] { return line::elapse(state, now); });
  if (!events) return;
  if (events->empty()) log_warn(fmt::format("deadline without event at={}", to_rfc3339(*due)));
  apply_all(*events, {});
}

void Engine::Impl::take(Waiting asked, Instant now) {
  if (asked.permit) {
    if (const Status may = asked.permit(asked.command, state); !may) {
      Answer answer;
      answer.error = may.error();
      parts.metrics.command_answered("forbidden");
      return asked.reply(answer);
    }
  }
  if (answer_again(asked)) return;
  if (auto* open = std::get_if<line::OpenService>(&asked.command.action); open != nullptr && open->document.empty()) {
    auto document = guarded_result("house", parts.kitchen_document);
    if (!document) return refuse(asked.reply, document.error());  // not remembered: the files can be mended
    open->document = std::move(document).value();
  }
  if (auto* open = std::get_if<line::OpenService>(&asked.command.action); open != nullptr) {
    open->wanted.reset();  // what has to be checked the house says, not who asks
    if (parts.line_check && state.service != line::ServiceState::open) {
      auto wanted = guarded_result("line check", parts.line_check);
      if (!wanted) return refuse(asked.reply, wanted.error());
      if (!wanted->empty()) open->wanted = std::move(wanted).value();
    }
  }
  if (auto* fire = std::get_if<line::Fire>(&asked.command.action); fire != nullptr && !fire->meet_ms) {
    // What is promised counts those who are cooking already. A course that cannot be fired is refused by decide.
    const auto meet = guarded("meet", [&] {
      return parts.meet_if_fired(state, line::CourseKey{fire->ticket, fire->course}, now);
    });
    if (meet && *meet) fire->meet_ms = to_ms(**meet);
  }
  if (line::concerns_record(asked.command.action) && state.kitchen) {
    if (const Status ready = prepare_record(asked.command.action, now); !ready)
      return refuse(asked.reply, ready.error());
  }
  decide(std::move(asked), now);
}

/// The rules that hold are in the record before anything is judged by them. A refusal is not remembered: files can be
/// mended.
Status Engine::Impl::prepare_record(line::Action& action, Instant now) {
  if (parts.complete) {
    const Status filled = guarded_result("sheet of batches", [&] { return parts.complete(action, state); });
    if (!filled) return filled;
  }
  if (!parts.rules) return Done{};
  const auto texts = guarded_result("rules", [&] { return parts.rules(*state.kitchen); });
  if (!texts) return texts.error();
  const auto adopted = guarded_result(
      "rules", [&] { return line::adopt_rules(state, texts->rule_set, texts->house, texts->digest, now); });
  if (!adopted) return adopted.error();
  if (*adopted) return apply_all({**adopted}, {}) ? Status(Done{}) : Status(*failed);
  return Done{};
}

/// Whether this command was asked before; then its answer is owed again.
bool Engine::Impl::answer_again(const Waiting& asked) {
  std::optional<JournalCommand> known;
  if (const auto here = in_group.find(asked.command.id); here != in_group.end()) {
    known = group.commands[here->second];
  } else {
    auto stored = parts.reader.find_command(asked.command.id);
    if (!stored) {
      fail(stored.error());
      refuse(asked.reply, stored.error());
      return true;
    }
    known = std::move(stored).value();
  }
  if (!known) return false;
  Answer answer = answer_of(*known, asked.digest);
  parts.metrics.command_answered(answer.reused ? "reused" : "repeated");
  owed.push_back({asked.reply, std::move(answer)});
  return true;
}

void Engine::Impl::decide(Waiting asked, Instant now) {
  Answer answer;
  JournalCommand record{asked.command.id, asked.digest, asked.command.by, asked.command.at, 0, 0, {}};
  const auto ran = guarded("decide", [&] { return line::decide(state, asked.command, now); });
  if (!ran) return refuse(asked.reply, ran.error());
  const auto& decided = *ran;
  if (decided) {
    const std::int64_t before = last;
    if (!apply_all(*decided, asked.command.id)) return refuse(asked.reply, *failed);
    answer = answer_done(asked.command, *decided, state);
    answer.number = last;
    if (last > before) {
      record.first = before + 1;
      record.last = last;
    }
  } else {
    answer.error = decided.error();
  }
  record.answer = write_answer(answer);
  in_group.emplace(record.id, group.commands.size());
  group.commands.push_back(std::move(record));
  parts.metrics.command_answered(answer.done ? "done" : "refused");
  owed.push_back({std::move(asked.reply), std::move(answer)});
}

/// Applies events and puts them into the group. False when the line threw at its own event: the engine has failed then.
bool Engine::Impl::apply_all(const std::vector<line::Event>& events, const std::string& command_id) {
  for (const line::Event& event : events) {
    try {
      line::apply(state, event);
    } catch (const std::exception& cause) {
      fail({Errc::unavailable, fmt::format("the line could not take its own event: {}", cause.what())});
      return false;
    }
    group.events.push_back({command_id, event.at, wire::event_name(event), wire::event_body(event)});
    last += 1;
    changes += 1;
    dirty = true;
  }
  return true;
}

void Engine::Impl::commit() {
  in_flight = true;
  committing = SteadyClock::now();
  asio::post(disk, [this, work = asio::make_work_guard(context)] {
    // The group is not touched by the other thread until on_committed runs there.
    Status written = parts.writer.append(group);
    asio::post(context, [this, written = std::move(written)] { on_committed(written); });
  });
}

void Engine::Impl::on_committed(const Status& written) {
  in_flight = false;
  if (!written) {
    parts.metrics.commit_failed();
    fail(written.error());
    return;
  }
  parts.metrics.committed(seconds_since(committing), group.commands.size(), group.events.size());
  acknowledged = changes;
  const auto answers = std::move(owed);
  owed.clear();
  for (const Owed& due : answers) due.reply(due.answer);
  const auto reading = std::move(readers);
  readers.clear();
  for (const auto& ready : reading) ready(true);
  if (dirty && !stopping && (waiting.empty() || SteadyClock::now() >= show_again)) show();
  run_group();
}

// --- failing ---

void Engine::Impl::refuse(const Reply& reply, const Error& error) {
  Answer answer;
  answer.error = error;
  parts.metrics.command_answered("failed");
  reply(answer);
}

void Engine::Impl::fail(Error error) {
  if (failed) return;
  log_error(fmt::format("engine failed reason=\"{}\"", error.detail));
  error.code = Errc::unavailable;
  error.detail += "; nothing more is taken, look at the disk and start napped again";
  failed = std::move(error);
  const auto unpaid = std::move(owed);
  owed.clear();
  for (const Owed& due : unpaid) refuse(due.reply, *failed);
  const auto unheard = std::move(waiting);
  waiting.clear();
  for (const Waiting& asked : unheard) refuse(asked.reply, *failed);
  const auto reading = std::move(readers);
  readers.clear();
  for (const auto& ready : reading) ready(false);
  timer.cancel();
  finish_stop();
}

void Engine::Impl::finish_stop() {
  if (!stopping || in_flight || !(waiting.empty() || failed)) return;
  timer.cancel();
  if (auto done = std::exchange(stopped, nullptr)) done();
}

// --- showing ---

/// Only called when `state` is durable.
void Engine::Impl::show() {
  dirty = false;
  parts.changed(state, changes);
  show_again = SteadyClock::now() + limits.show_every;
}

/// Sleeps until the line has something to say.
void Engine::Impl::set_timer() {
  if (stopping || failed) return;
  const auto due = line::next_deadline(state);
  if (!due) {
    timer.cancel();
    return;
  }
  // Never at once again: a deadline that brings no event must not turn the timer into a busy loop.
  const Steady soonest = SteadyClock::now() + std::chrono::milliseconds(*due <= state.now ? 100 : 1);
  timer.expires_at(std::max(clock.when(*due), soonest));
  timer.async_wait([this](const boost::system::error_code& error) {
    if (!error) run_group();
  });
}

// --- the outside ---

Engine::Engine(asio::io_context& context, EngineParts parts, KitchenClock clock, EngineLimits limits)
    : impl_(std::make_unique<Impl>(context, std::move(parts), clock, limits)) {}

Engine::~Engine() { impl_->disk.join(); }

Status Engine::replay() {
  const auto last = fold_last_service(impl_->parts.reader, impl_->state);
  if (!last) return last.error();
  impl_->last = *last;
  // The clock may have been resumed from a wall that was set back: kitchen time goes on from the last event.
  const Steady steady = SteadyClock::now();
  impl_->clock = KitchenClock(std::max(impl_->clock.at(steady), impl_->state.now), steady, impl_->clock.rate());
  impl_->show();
  impl_->run_group();
  return Done{};
}

void Engine::submit(line::Command command, std::string digest, Reply reply, Permit permit) {
  if (impl_->failed) return impl_->refuse(reply, *impl_->failed);
  if (impl_->stopping) {
    return impl_->refuse(reply, Error{Errc::unavailable, "the server is closing; send it again when it is back"});
  }
  if (impl_->waiting.size() >= impl_->limits.waiting_max) {
    return impl_->refuse(reply, Error{Errc::too_many, "too many commands are waiting; send it again in a second"});
  }
  impl_->waiting.push_back({std::move(command), std::move(digest), std::move(reply), std::move(permit)});
  // Posted, so that everything that arrives in the same turn goes into one commit.
  if (!impl_->in_flight && impl_->waiting.size() == 1) {
    asio::post(impl_->context, [impl = impl_.get()] { impl->run_group(); });
  }
}

std::optional<Answer> Engine::recall(const std::string& id, const std::string& digest) {
  const auto stored = impl_->parts.reader.find_command(id);
  if (!stored || !*stored) return std::nullopt;
  return answer_of(**stored, digest);
}

void Engine::when_settled(std::function<void(bool readable)> ready) {
  if (impl_->failed) return ready(false);
  if (!impl_->in_flight) return ready(true);
  impl_->readers.push_back(std::move(ready));
}

const line::State& Engine::state() const { return impl_->state; }
Instant Engine::now() const { return impl_->kitchen_now(); }
const KitchenClock& Engine::clock() const { return impl_->clock; }
const std::optional<Error>& Engine::failure() const { return impl_->failed; }
std::int64_t Engine::last_event() const { return impl_->last; }
std::int64_t Engine::acknowledged() const { return impl_->acknowledged; }

void Engine::set_clock(Instant kitchen, double rate, std::function<void(Status)> reply) {
  when_settled([impl = impl_.get(), kitchen, rate, reply = std::move(reply)](bool readable) {
    if (!readable) return reply(*impl->failed);
    if (kitchen < impl->state.now) {
      return reply(Error{Errc::conflict, fmt::format("the kitchen is at {} already; its clock cannot go back",
                                                     to_rfc3339(impl->state.now))});
    }
    // Rare, and nothing may happen meanwhile: the one write that this thread waits for.
    const ClockAnchor anchor{kitchen, std::chrono::time_point_cast<Duration>(std::chrono::system_clock::now()), rate};
    const auto kept = impl->parts.writer.set_meta("clock", write_anchor(anchor));
    if (!kept) {
      impl->fail(kept.error());
      return reply(*impl->failed);
    }
    impl->clock = KitchenClock(kitchen, SteadyClock::now(), rate);
    impl->changes += 1;
    impl->acknowledged = impl->changes;
    impl->dirty = true;
    reply(Done{});
    asio::post(impl->context, [impl] { impl->run_group(); });
  });
}

void Engine::stop(std::function<void()> stopped) {
  impl_->stopping = true;
  impl_->stopped = std::move(stopped);
  if (!impl_->in_flight) impl_->run_group();
  impl_->finish_stop();
}

}  // namespace nappe::server
