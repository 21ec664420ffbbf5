#pragma once
// The hands and the equipment of one night, and who has them.

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "common/kitchen/kitchen.hpp"

namespace nappe::rehearse {

/// The people of each station, quickest first.
class Crew {
 public:
  explicit Crew(const kitchen::Kitchen& kitchen);

  /// The quickest free person of a station; -1: nobody.
  [[nodiscard]] int free_at(int station) const;
  /// How much of a pair of hands the person is.
  [[nodiscard]] double counts(int station, int person) const { return at(station)[person_index(person)].counts; }
  void set_busy(int station, int person, bool busy) { at(station)[person_index(person)].busy = busy; }
  /// The sum of what a station's people count.
  [[nodiscard]] double hands(int station) const;

 private:
  struct Somebody {
    double counts = 1;
    bool busy = false;
  };
  static std::size_t person_index(int person) { return static_cast<std::size_t>(person); }
  [[nodiscard]] const std::vector<Somebody>& at(int station) const {
    return people_[static_cast<std::size_t>(station)];
  }
  [[nodiscard]] std::vector<Somebody>& at(int station) { return people_[static_cast<std::size_t>(station)]; }

  std::vector<std::vector<Somebody>> people_;
};

/// Places of equipment that are taken. A place that no kitchen file knows is never short.
class Kit {
 public:
  /// Equipment and how many places of it; in order of equipment.
  using Places = std::vector<std::pair<int, int>>;

  explicit Kit(const kitchen::Kitchen& kitchen);

  /// What a step takes for n portions.
  [[nodiscard]] Places places(const kitchen::Step& step, int portions) const;
  /// Of both, the greater number of each.
  [[nodiscard]] static Places both(const Places& a, const Places& b);
  /// Whether somebody who has `held` may have `wanted` instead.
  [[nodiscard]] bool room_for(const Places& wanted, const Places& held) const;
  /// Gives back `held` and takes `wanted`.
  void change(Places& held, Places wanted);

 private:
  std::map<std::string, int> index_;
  std::vector<int> size_;
  std::vector<int> used_;
};

}  // namespace nappe::rehearse
