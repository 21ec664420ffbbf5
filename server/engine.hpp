#pragma once
// The one owner of the line: takes commands, decides, makes durable, answers, hands on to be shown. All on the thread
// of its io_context; only the commit itself runs beside it, and posts back.
//
// A group is what one commit carries: what time alone brought until now, then the commands that waited. Each is decided
// on the state after the one before it and applied at once, so that State runs ahead of the disk while a commit is in
// flight; nobody sees that state: answers, screens and reads all wait for the commit. If it fails, that state can never
// be shown, so the engine refuses everything from then on and the process must be started anew.

#include <boost/asio/io_context.hpp>
#include <chrono>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "common/line/command.hpp"
#include "common/line/state.hpp"
#include "server/answer.hpp"
#include "server/clock.hpp"
#include "server/record_house.hpp"

namespace nappe::server {

class Board;
class JournalReader;
class JournalWriter;
class Metrics;

struct EngineLimits {
  std::size_t waiting_max = 4096;            ///< Commands that may wait for a commit; more are refused.
  std::size_t group_max = 256;               ///< Commands in one commit.
  std::chrono::milliseconds show_every{20};  ///< While commands keep coming, screens are shown no more often.
};

struct EngineParts {
  JournalWriter& writer;
  JournalReader& reader;
  Metrics& metrics;
  /// The house's present document, read anew from its folder: what OpenService without a document opens on.
  std::function<Result<std::string>()> kitchen_document;
  /// When a waiting course would meet if it were fired now: what firing it without a meet promises.
  std::function<std::optional<Instant>(const line::State& state, const line::CourseKey& course, Instant now)>
      meet_if_fired;
  /// Called whenever the state is durable and has changed: to plan and show it. `number` as in acknowledged().
  std::function<void(const line::State& state, std::int64_t number)> changed;
  /// What the house wants checked before a service opens, read anew from its folder. Empty: no house asks.
  std::function<Result<std::vector<std::string>>()> line_check = {};
  /// Fills what a command about the record leaves out from the house's files, and says which rules hold there.
  std::function<Status(line::Action& action, const line::State& state)> complete = {};
  std::function<Result<RuleTexts>(const kitchen::Kitchen& kitchen)> rules = {};
};

class Engine {
 public:
  using Reply = std::function<void(const Answer&)>;
  /// Asked when the command's turn has come, on the state it would be decided on; a refusal is not remembered.
  using Permit = std::function<Status(const line::Command& command, const line::State& state)>;

  Engine(boost::asio::io_context& context, EngineParts parts, KitchenClock clock, EngineLimits limits = {});
  ~Engine();
  Engine(const Engine&) = delete;
  Engine& operator=(const Engine&) = delete;

  /// Builds the state from the journal and shows the screens; before anything else. Fails on a record that does not
  /// fit itself.
  Status replay();

  /// `digest` stands for what was asked; the same id with another digest is refused as reused. `reply` is called once,
  /// perhaps before submit returns.
  void submit(line::Command command, std::string digest, Reply reply, Permit permit = {});

  /// The answer this command was given before, if it was asked before and is durable.
  std::optional<Answer> recall(const std::string& id, const std::string& digest);

  /// Calls `ready` when the state is what the journal holds (at once when no commit is in flight), before the next
  /// group. After a failure, with false: the state must not be read.
  void when_settled(std::function<void(bool readable)> ready);

  /// The state; only to be read inside a when_settled callback.
  [[nodiscard]] const line::State& state() const;

  [[nodiscard]] Instant now() const;
  [[nodiscard]] const KitchenClock& clock() const;
  /// Sets the kitchen's clock (demo only): durable before `reply`. `conflict` when it would go back before the last
  /// event.
  void set_clock(Instant kitchen, double rate, std::function<void(Status)> reply);

  /// Why commands are refused, or nothing.
  [[nodiscard]] const std::optional<Error>& failure() const;
  [[nodiscard]] std::int64_t last_event() const;
  /// Counts the changes of state and clock since the start that somebody may have been told of: what is shown with
  /// this number holds all of them.
  [[nodiscard]] std::int64_t acknowledged() const;

  /// Refuses new commands, lets the commit in flight end, answers all who wait, then calls `stopped`.
  void stop(std::function<void()> stopped);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace nappe::server
