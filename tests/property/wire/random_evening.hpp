#pragma once
// An evening in the demo kitchen lived at random: tables order, cooks press (or do not), plates go and come back,
// allergies are told late. Everything goes through decide, elapse and apply, as it does in the server.

#include <functional>
#include <string>

#include "common/line/line.hpp"
#include "common/plan/plan.hpp"
#include "tests/support/random.hpp"

namespace nappe::tests {

/// The demo kitchen's document (config/larkfold).
std::string larkfold_document();

class RandomEvening {
 public:
  explicit RandomEvening(std::uint64_t seed);

  /// Some time passes, one thing happens (or is refused).
  void step();
  [[nodiscard]] const line::State& state() const { return state_; }
  [[nodiscard]] Instant now() const { return now_; }
  [[nodiscard]] int refused() const { return refused_; }
  [[nodiscard]] int done() const { return done_; }

 private:
  void pass_time(Duration length);
  bool ask(line::Action action);
  void floor();
  void pass();
  void borrow_where_one_can_lend();
  void station();
  void answer_alert();
  line::Order random_order();
  const line::Pan* random_pan(bool begun_rather);

  Random random_;
  line::State state_;
  Instant now_{};
  int commands_ = 0;
  int refused_ = 0;
  int done_ = 0;
};

}  // namespace nappe::tests
