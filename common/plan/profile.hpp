#pragma once
// How much of one resource is taken at each tick, and where a given number of units no longer fits.
//
// The use count of a tick is kept in unary, one plane of bits for each unit: bit t of plane j says "at least j are
// taken at tick t". So "k more do not fit" is the plane capacity - k + 1 itself, finding a conflict is a scan over
// words of 64 ticks, and placing or removing a block shifts planes, 64 ticks at a time. Placing and removing are
// inverse to the bit.

#include <cstdint>
#include <vector>

namespace nappe::plan {

/// One renewable resource over the ticks [begin, end). Ticks outside are free and not recorded: callers place inside.
class Profile {
 public:
  /// Empty, with this capacity. Keeps its memory.
  void reset(int capacity, std::int32_t begin, std::int32_t end);

  /// Takes `units` in [from, to). May exceed the capacity: what has begun is a fact.
  void place(std::int32_t from, std::int32_t to, int units);
  /// Gives back what `place` with the same arguments took.
  void remove(std::int32_t from, std::int32_t to, int units);

  /// The first tick of [from, to) at which `units` more do not fit; `to` when they fit throughout.
  [[nodiscard]] std::int32_t first_full(std::int32_t from, std::int32_t to, int units) const;
  /// The last tick of [from, to) at which `units` more do not fit; `from` - 1 when they fit throughout.
  [[nodiscard]] std::int32_t last_full(std::int32_t from, std::int32_t to, int units) const;

  /// More is taken than there is at some tick of [from, to).
  [[nodiscard]] bool overdrawn(std::int32_t from, std::int32_t to) const;

  /// Bit i of `bits` is set when `units` more do not fit at tick from + i, for all ticks of [from, to).
  void full_bits(std::int32_t from, std::int32_t to, int units, std::vector<std::uint64_t>& bits) const;

  /// Units taken at a tick.
  [[nodiscard]] int used(std::int32_t tick) const;
  [[nodiscard]] int capacity() const { return capacity_; }

  /// The same capacity, ticks and counts.
  bool operator==(const Profile& other) const;

 private:
  /// The plane that says where `units` more do not fit; units in [1, capacity].
  const std::uint64_t* full_plane(int units) const { return plane(capacity_ - units + 1); }
  const std::uint64_t* plane(int j) const { return bits_.data() + static_cast<std::size_t>(j - 1) * words_; }
  std::uint64_t* plane(int j) { return bits_.data() + static_cast<std::size_t>(j - 1) * words_; }
  void deepen(int planes);
  static std::uint64_t mask_of(std::size_t word, std::size_t first, std::size_t last);

  int capacity_ = 0;
  int planes_ = 0;  // at least capacity_; more only where facts overdraw
  std::int32_t begin_ = 0;
  std::int32_t end_ = 0;
  std::size_t words_ = 0;            // per plane
  std::vector<std::uint64_t> bits_;  // plane by plane
};

}  // namespace nappe::plan
