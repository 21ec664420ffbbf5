#pragma once
// What the cooks of a rehearsal know of one pan: its next move, how long things will really take.

#include <map>
#include <optional>

#include "common/line/state.hpp"
#include "common/rehearse/crew.hpp"
#include "common/rehearse/draws.hpp"
#include "common/rehearse/manner.hpp"

namespace nappe::rehearse {

/// One pan in the cooks' hands.
struct PanWork {
  enum class State {
    before,         ///< Nobody has thought of it yet.
    ready,          ///< Its next move could be made.
    in_hand,        ///< Somebody makes it.
    waiting,        ///< It waits or rests by itself.
    held_for_call,  ///< Only the plate is missing, and the course has not been fired.
    done,
    lost  ///< The line refused its move.
  };

  line::PanId pan{};
  const kitchen::Component* component = nullptr;
  int index = 0;    ///< Of the component in its kitchen.
  int station = 0;  ///< Index in its kitchen.
  int portions = 1;
  int tables = 1;          ///< Courses it cooks for whose plates have not gone.
  std::uint64_t key = 0;   ///< What its luck belongs to.
  std::vector<int> needs;  ///< Rounds it will take, by group.

  Duration chain{};       ///< From nothing to plated at usual times.
  Duration after_rest{};  ///< Of that, what lies behind its last rest.
  Duration slack{};       ///< What its last rest forgives: maximum minus minimum.

  State state = State::before;
  line::Place next;  ///< The step that is made, runs or comes next.
  bool begun = false;
  bool queued = false;
  std::optional<Instant> fired;
  std::optional<Instant> early;  ///< When it is to be begun before its course is fired.
  Instant wanted{};              ///< Since when its next move could be made.
  Instant latest{};              ///< Its latest start by the plan.
  Instant due{};                 ///< When the list asks for it.
  Instant must_by{};             ///< Until then the food waits without loss.
  Instant started{};
  std::optional<Instant> rest_ends;  ///< The end of a good rest.
  bool rest_too_long = false;
  Instant finished{};
  Kit::Places held;
};

/// Makes pans' work and knows their luck.
class PanWorks {
 public:
  PanWorks(const kitchen::Kitchen& kitchen, const Manner& manner, const Draws& draws);

  /// `party`: the key of the booking.
  [[nodiscard]] PanWork make(const line::Pan& pan, std::uint64_t party) const;
  /// How long this step really takes somebody who counts so much. A rest takes its minimum.
  [[nodiscard]] Duration duration(const PanWork& work, line::Place place, double counts) const;
  /// The places of equipment that the step at `next` needs, with those of the waits behind it.
  [[nodiscard]] Kit::Places places(const PanWork& work, const Kit& kit) const;
  /// This step is the last of the last round that the pan needs.
  [[nodiscard]] bool ends_rounds(const PanWork& work, line::Place place) const;
  /// This step ends a round and another is needed: its first step.
  [[nodiscard]] std::optional<line::Place> again(const PanWork& work, line::Place place) const;
  /// What comes behind a wait.
  [[nodiscard]] std::optional<line::Place> behind(const PanWork& work, const line::Pan& pan, line::Place place) const;
  [[nodiscard]] bool by_hand(const PanWork& work, line::Place place) const;

 private:
  const kitchen::Kitchen& kitchen_;
  const Manner& manner_;
  const Draws& draws_;
  std::map<std::string, int> stations_;
  std::map<std::string, int> components_;
};

}  // namespace nappe::rehearse
