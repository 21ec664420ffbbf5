#pragma once
// From a durable state to what the screens show. The planner runs on a thread of its own and is waited for a moment
// only: a press must be on the other screens at once, also when a full kitchen takes long to plan. Until the new plan
// is there the old one is shown as far as it still holds (carry_over).

#include <boost/asio/io_context.hpp>
#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "common/line/state.hpp"
#include "common/plan/plan.hpp"
#include "common/result.hpp"
#include "server/clock.hpp"

namespace nappe::server {

class Metrics;

struct DisplayLimits {
  std::chrono::milliseconds plan_patience{25};    ///< How long a change waits for its plan before it is shown without.
  std::chrono::milliseconds refresh_every{5000};  ///< Forecasts age even when nothing happens. Kitchen time.
};

struct DisplayParts {
  Metrics& metrics;
  /// Called with every screen that is there, in order; tells the board and the subscribers. Whether it changed.
  std::function<Result<bool>(const std::string& screen, nlohmann::json document)> show;
  /// Called with the names of all screens there are now, before they are shown.
  std::function<void(const std::vector<std::string>& screens)> keep_only;
  /// The kitchen's clock.
  std::function<KitchenClock()> clock;
  /// Called on the planner's thread, one call at a time.
  std::function<plan::Plan(const line::State& state, Instant now, const plan::Plan* before)> make_plan;
};

class Display {
 public:
  Display(boost::asio::io_context& context, DisplayParts parts, DisplayLimits limits = {});
  ~Display();
  Display(const Display&) = delete;
  Display& operator=(const Display&) = delete;

  /// The state is durable and may be shown: keeps a copy of it. The first call plans and shows before it returns.
  /// `number` counts the changes that are in it.
  void changed(const line::State& state, std::int64_t number = 0);
  /// Calls `shown` when the screens show a state with at least so many changes in it: at once if they do, else once
  /// they have been shown. A read may wait for it; nothing here waits for the read.
  void when_shown(std::int64_t number, std::function<void()> shown);
  /// The plan that is shown; only on the thread of the io_context, and not to be kept.
  [[nodiscard]] const plan::Plan& plan() const;
  /// Shows nothing more.
  void stop();

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

/// The plan as far as it still says something about this state: of every pan the slots from where it stands now; pans
/// that have moved outside their plan are left out (screens then show them without waiting).
plan::Plan carry_over(plan::Plan plan, const line::State& state);

}  // namespace nappe::server
