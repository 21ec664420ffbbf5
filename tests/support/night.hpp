#pragma once
// A service driven by hand in virtual time: what tests and the rehearsal-like properties stand on.

#include <string>
#include <vector>

#include "common/line/line.hpp"
#include "tests/support/larkfold.hpp"

namespace nappe::tests {

/// Friday 20 November 2026 at this time of day (UTC), the evening the demo restaurant's figures are given for.
Instant friday(int hour, int minute, int second = 0);

/// One service and its journal.
class Night {
 public:
  /// Opens the service on the demo kitchen (or another) at this instant.
  explicit Night(Instant start, const kitchen::Kitchen& kitchen = larkfold());

  /// Decides and applies; also what time alone brings at this instant. The error when it is refused.
  Status ask(line::Action action, const std::string& by = "Ines");
  /// The same with the key pressed at an earlier instant.
  Status ask_dated(line::Action action, Instant pressed, const std::string& by = "Ines");
  /// Sends a ticket line; its id. A refusal fails the test with the sentence.
  line::TicketId send(const std::string& ticket_line);
  /// Adopts a shipped rule set (config/rules) and, if wanted, Larkfold's own stricter rules upon it.
  void adopt(const std::string& rule_set, bool larkfolds_own = false);
  /// Lets time pass to this instant, deadline by deadline.
  void until(Instant at);

  /// Presses done on the pan's next hand step, `after` from now on.
  Status done(line::PanId pan, Duration after = Duration::zero());

  [[nodiscard]] const line::State& state() const { return state_; }
  [[nodiscard]] Instant now() const { return now_; }
  [[nodiscard]] const std::vector<line::Event>& log() const { return log_; }
  /// The pan of this component for a ticket's course; the first if there are several. Throws when there is none.
  [[nodiscard]] const line::Pan& pan(line::TicketId ticket, const std::string& component) const;
  /// How many events of this kind the log holds.
  template <class Kind>
  [[nodiscard]] std::vector<Kind> all() const {
    std::vector<Kind> found;
    for (const line::Event& event : log_)
      if (const Kind* one = std::get_if<Kind>(&event.what)) found.push_back(*one);
    return found;
  }

 private:
  void take(const std::vector<line::Event>& events);
  void settle();

  line::State state_;
  Instant now_;
  std::vector<line::Event> log_;
};

/// The state that replaying these events from nothing gives.
line::State replay(const std::vector<line::Event>& log);

}  // namespace nappe::tests
