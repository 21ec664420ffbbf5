#pragma once
// What a press at a station proves about one pan. Internal to the line.

#include <string>
#include <vector>

#include "common/line/chain.hpp"
#include "common/line/event.hpp"
#include "common/line/state.hpp"
#include "common/result.hpp"

namespace nappe::line {

/// Who presses, when, and whether they say it again after a refusal.
struct Hand {
  std::string by;
  Instant at{};
  bool sure = false;
  /// The instants are not a cook's: something later proves them (plates that have gone).
  bool proof = false;
};

/// Brings a copy of a pan forward, writing down each event. The pan of the state is not touched.
class PanScript {
 public:
  PanScript(const State& state, const Pan& pan);

  /// Ends the step, and with it everything before it that must have happened. Refuses when a rest would be cut short,
  /// or when a hand's step in between was never pressed, unless the hand is sure; names what happened when it is over.
  Status finish(Place target, const Hand& hand);
  /// Begins a step that has not begun; ends the wait or rest before it.
  Status start(Place target, const Hand& hand);
  /// Another round: its first hand step is done.
  Status one_more(const Hand& hand);
  /// The cue has come.
  Status its_there(const Hand& hand);
  /// The portion for this plate is on the plate.
  Status plate(const PlateKey& plate, const Hand& hand);
  /// Proves that all of it is done and plated (the plates have gone).
  Status finish_all(const Hand& hand);

  /// Writes down where the pan stands, so that what follows can be taken back. Call before any of the above.
  void remember_press();

  [[nodiscard]] const Pan& pan() const { return pan_; }
  [[nodiscard]] std::vector<Happening> take() { return std::move(events_); }
  [[nodiscard]] const kitchen::Component& component() const { return component_; }
  /// "emmer A", for a sentence.
  [[nodiscard]] std::string name() const;

 private:
  /// A place on the way with the instants that the press proves or suggests.
  struct Timed {
    Place place;
    Instant start{};
    Instant end{};
  };
  using Way = std::vector<Timed>;

  [[nodiscard]] const kitchen::Step& step(Place place) const;
  [[nodiscard]] std::string step_name(Place place) const;
  /// The group whose rounds are under way or just behind without a cue; -1: none.
  [[nodiscard]] int open_group() const;
  /// Rounds of this group that have at least begun.
  [[nodiscard]] int rounds_begun(int group) const;
  [[nodiscard]] Instant earliest() const;
  /// Every place from where the pan stands to the target, both included; empty when the target lies behind.
  [[nodiscard]] Way way_to(Place target) const;
  void lay_out(Way& way, Instant last_end, Duration last_takes) const;
  Status check(const Way& way, const Hand& hand, bool ends_last) const;
  [[nodiscard]] Error is_over(Place target) const;
  /// Makes the way true up to the start of its last place.
  void walk(const Way& way, const Hand& hand, bool last_inferred);
  /// Nobody pressed IT'S THERE, but what is pressed now lies behind the rounds: so it was.
  void close_rounds_before(Place target, const Hand& hand);
  void begin(Place place, Instant at, bool inferred);
  void end(Instant at, bool inferred);
  /// After an end: what follows by itself (a wait, a rest) begins.
  void go_on(Instant at, bool inferred);
  void write(Happening happening);

  State scratch_;  // Holds only this pan and its kitchen, so that apply() can bring it forward.
  Pan& pan_;
  const kitchen::Component& component_;
  std::vector<Happening> events_;
};

}  // namespace nappe::line
